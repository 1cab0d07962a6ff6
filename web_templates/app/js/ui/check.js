// One check as a card: what to look at, what to beware of, and its places to mark, one or a row of spots.

import { placesOf } from "../fleet.js";
import { h, unseen } from "./dom.js";
import { beforeSaid } from "./found.js";
import { mark } from "./marks.js";
import { unitChoice } from "./measure.js";
import { oddLine } from "./odd.js";
import { counted } from "./phrases.js";
import { Slot } from "./slot.js";
import { stencil } from "./stencil.js";
import { marksAt } from "./tally.js";
import { say } from "../words/index.js";

/** @import {WalkEnv} from "./env.js" */
/** @import {CheckView} from "../types.js" */
/** @typedef {{check: CheckView, node: HTMLElement, update: () => void}} CheckCard */

/**
 * Says what holds only once `update` was called.
 * @param {WalkEnv} env
 * @param {CheckView} check
 * @returns {CheckCard}
 */
export function checkCard(env, check) {
  const saved = h("p", { class: "saved", "aria-live": "polite" });
  const odd = oddLine(env, check);
  const body = check.spots.length === 0 ? single(env, check) : check.reading || !counted(check) ? listed(env, check) : ranked(env, check);
  const node = h("article", { class: "sheet check", id: anchor(check.id), tabindex: "-1" }, body.nodes, odd.node, saved);
  const update = () => {
    for (const slot of body.slots) slot.update();
    odd.update();
    saved.replaceChildren(savedWords(env, check));
    node.classList.toggle(
      "check-done",
      body.slots.every((slot) => marksAt(env.walk, slot.place).length > 0),
    );
  };
  return { check, node, update };
}

/** @param {string} id of a check */
export function anchor(id) {
  return `check-${id.replace("/", "-")}`;
}

/**
 * @param {WalkEnv} env
 * @param {CheckView} check
 */
function savedWords(env, check) {
  const places = placesOf(check);
  const marked = places.filter((place) => marksAt(env.walk, place).length > 0).length;
  if (marked === 0) return "";
  return places.length === 1 ? say("check.saved") : say("check.saved-of", { done: marked, of: places.length });
}

/** @param {CheckView} check */
function lead(check) {
  return [
    check.condition && h("p", { class: "soft" }, check.condition),
    check.caution && h("p", { class: "caution" }, mark("caution"), h("span", null, unseen(`${say("caution.name")}: `), check.caution)),
    check.how &&
      h("details", { class: "how" }, h("summary", null, mark("how"), unseen(`${say("check.how")}: ${check.ask}`)), h("p", null, check.how)),
  ];
}

/**
 * @param {WalkEnv} env
 * @param {CheckView} check
 */
function single(env, check) {
  const [place] = placesOf(check);
  if (!place) throw new RangeError(`check ${check.id} has no place`);
  const unit = check.reading
    ? unitChoice(env.app, check.reading, marksAt(env.walk, place).find((found) => found.reading)?.reading?.unit)
    : null;
  const slot = new Slot(env, check, place, { kind: "targets", hideName: false, unit, lead: [lead(check), beforeSaid(env, check, place)] });
  return { slots: [slot], nodes: [slot.node, slot.below] };
}

/**
 * Spots that are counted, as one row: a column for each, nose first.
 * @param {WalkEnv} env
 * @param {CheckView} check
 */
function ranked(env, check) {
  const slots = placesOf(check).map(
    (place) =>
      new Slot(env, check, place, {
        kind: "column",
        hideName: true,
        unit: null,
        knownApart: true,
        lead: h("span", { class: "column-number", "aria-hidden": "true" }, stencil(place.spot ?? "")),
      }),
  );
  const key = h(
    "p",
    { class: "key", "aria-hidden": "true" },
    /** @type {const} */ (["sound", "defect", "unchecked"]).map((result) => h("span", null, mark(result), say(`result.${result}`))),
  );
  return {
    slots,
    nodes: [
      group(check, [
        lead(check),
        before(env, check),
        countedFrom(env, check),
        slots.flatMap((slot) => slot.known.map((card) => card.node)),
        key,
        h(
          "div",
          { class: "columns" },
          slots.map((slot) => slot.node),
        ),
        slots.map((slot) => slot.below),
      ]),
    ],
  };
}

/**
 * Spots with names, or with a reading each: one under the other.
 * @param {WalkEnv} env
 * @param {CheckView} check
 */
function listed(env, check) {
  const taken = placesOf(check)
    .flatMap((place) => marksAt(env.walk, place))
    .find((found) => found.reading)?.reading?.unit;
  const unit = check.reading ? unitChoice(env.app, check.reading, taken) : null;
  const onward = (/** @type {HTMLInputElement} */ from) => {
    const fields = slots.flatMap((slot) => (slot.field ? [slot.field.input] : []));
    fields[fields.indexOf(from) + 1]?.focus();
  };
  const slots = placesOf(check).map(
    (place) => new Slot(env, check, place, { kind: "targets", hideName: true, unit, onward, lead: spotName(check, place.spot ?? "") }),
  );
  const range = check.reading && unit && h("div", { class: "row spread" }, slots[0]?.field?.range, unit.node);
  return {
    slots,
    nodes: [
      group(check, [
        lead(check),
        before(env, check),
        counted(check) && countedFrom(env, check),
        range,
        slots.map((slot) => h("div", { class: "spot" }, slot.node, slot.below)),
      ]),
    ],
  };
}

/**
 * Wheels of a side are counted from the nose; cells or cylinders may have an order of their own.
 * @param {WalkEnv} env
 * @param {CheckView} check
 */
function countedFrom(env, check) {
  const ofOneSide = env.vehicle.stations.some((station) => station.id === check.station && station.mirror);
  return h("p", { class: "soft" }, say(ofOneSide ? "spots.from-nose" : "spots.from-nose-or"));
}

/**
 * @param {CheckView} check
 * @param {string} spot
 */
function spotName(check, spot) {
  return h("span", { class: "spot-name", "aria-hidden": "true" }, counted(check) ? stencil(spot) : spot);
}

/**
 * @param {WalkEnv} env
 * @param {CheckView} check
 */
function before(env, check) {
  return placesOf(check).map((place) => beforeSaid(env, check, place));
}

/**
 * @param {CheckView} check
 * @param {import("./dom.js").Child[]} children
 */
function group(check, children) {
  return h("fieldset", null, h("legend", { class: "named" }, check.ask), children);
}
