// The end of a walk: what was found, what was not looked at and why not, and "finished".

import { askedOn } from "../carry.js";
import { placesOf, vehicleView } from "../fleet.js";
import { coverage } from "../walks.js";
import { h } from "../ui/dom.js";
import { choice } from "../ui/choice.js";
import { REASONS } from "../ui/found.js";
import { findingLine, placeName, roundWord, severityMark, whyWord } from "../ui/phrases.js";
import { tray } from "../ui/tray.js";
import { say, shortDay } from "../words/index.js";
import { unknownVehicle, unknownWalk } from "./missing.js";

/** @import {App} from "../ui/app.js" */
/** @import {Screen} from "../ui/frame.js" */
/** @import {CheckView, Coverage, NotLookedAt, StationView, VehicleView, WalkView} from "../types.js" */

/** So many places are listed at once; more wait for a tap. */
const FEW = 8;

/**
 * @param {App} app
 * @param {string} id
 * @returns {Promise<Screen>}
 */
export async function finishScreen(app, id) {
  const walk = await app.log.walk(id);
  if (!walk) return unknownWalk();
  const vehicle = vehicleView(app.edition, walk.vehicle);
  if (!vehicle) return unknownVehicle(app, walk.vehicle);
  const { defects } = await app.carries.of(vehicle.id);
  const stations = askedOn(vehicle, walk.round, defects);
  const cover = coverage(walk, stations);
  const open = cover.unchecked.filter((place) => !place.why);
  /** @type {string | null} */
  let why = null;
  const reasons = choice({
    name: say("finish.why", { n: open.length }),
    options: REASONS.map((reason) => ({ value: reason, word: whyWord(reason) })),
    chosen: (value) => (why = value),
  });

  async function finish() {
    if (!walk) return;
    if (open.length > 0 && !why) {
      app.frame.say(say("finish.needs-why"));
      reasons.node.scrollIntoView({ block: "center" });
      reasons.node.querySelector("input")?.focus();
      return;
    }
    const unchecked = cover.unchecked.map((place) => ({ ...place, why: place.why ?? why ?? "" }));
    const done = await app.attempt(() => app.log.finishWalk(walk, { covered: cover.done, of: cover.of, unchecked }));
    if (done) app.go(`#/walk/${walk.walk}/done`);
  }

  return {
    title: say("walk.title", { name: vehicle.name, round: roundWord(walk.round) }),
    back: `#/walk/${walk.walk}`,
    body: [
      h(
        "section",
        { class: "sheet" },
        h("h2", null, say("finish.title")),
        tray(cover.done, cover.of, "tray-wide"),
        h("p", { class: "lead" }, say("finish.covered", { done: cover.done, of: cover.of })),
        h("p", { class: "soft" }, say("finish.for-day", { day: shortDay(walk.day) })),
      ),
      open.length > 0 && h("section", { class: "sheet" }, reasons.node),
      found(walk, vehicle),
      notLooked(walk, stations, cover),
    ],
    foot: [h("button", { type: "button", class: "act act-wide", on: { click: () => void finish() } }, say("finish.go"))],
  };
}

/**
 * @param {WalkView} walk
 * @param {VehicleView} vehicle
 */
function found(walk, vehicle) {
  const checks = new Map(vehicle.stations.flatMap((station) => station.checks).map((check) => [check.id, check]));
  const defects = [...walk.marks.values(), walk.extras].flat().filter((mark) => mark.result === "defect");
  if (defects.length === 0) return h("section", { class: "sheet" }, h("h2", null, say("finish.found-none")));
  return h(
    "section",
    { class: "sheet" },
    h("h2", null, say("finish.found", { n: defects.length })),
    h(
      "ul",
      { class: "known-list" },
      defects.map((mark) => {
        const check = checks.get(mark.check ?? "") ?? null;
        return h(
          "li",
          null,
          mark.severity && severityMark(mark.severity),
          h("p", null, h("strong", null, findingLine(mark, check)), " – ", check ? placeName(check, mark.spot) : say("else.title")),
          mark.verdict && h("p", { class: "soft" }, say(`known.${mark.verdict}`)),
        );
      }),
    ),
  );
}

/**
 * @param {WalkView} walk
 * @param {StationView[]} stations
 * @param {Coverage} cover
 */
function notLooked(walk, stations, cover) {
  if (cover.unchecked.length === 0) return null;
  return h(
    "details",
    { class: "sheet", open: cover.unchecked.length <= FEW },
    h("summary", null, say("finish.not-looked", { n: cover.unchecked.length })),
    h(
      "div",
      { class: "stack" },
      stations.map((station) => stationLeft(walk, station, cover.unchecked)),
    ),
  );
}

/**
 * @param {WalkView} walk
 * @param {StationView} station
 * @param {NotLookedAt[]} unchecked
 */
function stationLeft(walk, station, unchecked) {
  const here = station.checks.filter((check) => unchecked.some((place) => place.check === check.id));
  if (here.length === 0) return null;
  return h(
    "div",
    { class: "stack" },
    h("h3", null, h("a", { href: `#/walk/${walk.walk}/${station.id}` }, station.name)),
    h(
      "ul",
      { class: "plain-list" },
      here.map((check) =>
        h(
          "li",
          null,
          leftWords(
            check,
            unchecked.filter((place) => place.check === check.id),
          ),
        ),
      ),
    ),
  );
}

/**
 * @param {CheckView} check
 * @param {NotLookedAt[]} places
 */
function leftWords(check, places) {
  const spots = places.length < placesOf(check).length ? `: ${places.map((place) => place.spot).join(", ")}` : "";
  const reasons = [...new Set(places.flatMap((place) => (place.why ? [whyWord(place.why)] : [])))].join(", ");
  return `${check.ask}${spots}${reasons ? ` – ${reasons}` : ""}`;
}

/**
 * After "finished": what comes next.
 * @param {App} app
 * @param {string} id
 * @returns {Promise<Screen>}
 */
export async function doneScreen(app, id) {
  const walk = await app.log.walk(id);
  if (!walk) return unknownWalk();
  const vehicle = vehicleView(app.edition, walk.vehicle);
  if (!vehicle) return unknownVehicle(app, walk.vehicle);
  const { entries } = await app.log.pending();
  return {
    title: vehicle.name,
    back: "#/",
    body: [
      h(
        "section",
        { class: "sheet" },
        h("h2", { tabindex: "-1", "data-focus": true }, say("done.title", { round: roundWord(walk.round) })),
        tray(walk.finished?.covered ?? 0, walk.finished?.of ?? 0, "tray-wide"),
        h("p", null, say("finish.covered", { done: walk.finished?.covered ?? 0, of: walk.finished?.of ?? 0 })),
        h("p", null, entries > 0 ? say("done.pending", { n: entries }) : say("status.none")),
      ),
      h(
        "ul",
        { class: "ways" },
        /** @type {const} */ (["driver", "run", "top-up"]).map((way) =>
          h("li", null, h("a", { class: "act act-plain", href: `#/v/${vehicle.id}/${way}` }, say(`${way}.way`))),
        ),
      ),
    ],
    foot: [
      h(
        "div",
        { class: "foot-row" },
        h("a", { class: "act act-plain", href: "#/hand-in" }, say("nav.hand-in")),
        h("a", { class: "act", href: "#/" }, say("done.next")),
      ),
    ],
  };
}
