// Under the plates: what was found at a place, why it was not looked at, and a form half filled in.

import { small } from "./buttons.js";
import { fresh, h, unseen } from "./dom.js";
import { choice } from "./choice.js";
import { findingLine, placeName, quantity, severityMark, whyWord } from "./phrases.js";
import { marksAt, resultOf } from "./tally.js";
import { say } from "../words/index.js";

/** @import {WalkEnv} from "./env.js" */
/** @import {CheckView, FindingEntry, Place} from "../types.js" */

export const REASONS = /** @type {const} */ (["mud", "dark", "hot", "locked", "time"]);

/**
 * Why it was not looked at: a tap, or own words.
 * @param {CheckView} check
 * @param {Place} place
 * @param {(why: string) => void} because
 */
export function reasons(check, place, because) {
  const other = h("input", { id: fresh("why"), type: "text", maxlength: 200, autocomplete: "off" });
  const keep = () => {
    if (other.value.trim()) because(other.value.trim());
  };
  const chips = choice({
    name: [place.spot && `${place.spot}: `, say("why.name"), unseen(` ${placeName(check, place.spot)}`)],
    options: REASONS.map((why) => ({ value: why, word: whyWord(why) })),
    chosen: because,
  });
  const own = h(
    "div",
    { class: "field" },
    h("label", { for: other.id }, say("why.other")),
    h(
      "div",
      { class: "row" },
      h("div", { class: "grow" }, other),
      h("button", { type: "button", class: "act act-plain", on: { click: keep } }, say("why.keep")),
    ),
  );
  return h("div", { class: "reasons" }, chips.node, h("details", null, h("summary", null, say("why.other-open")), own));
}

/**
 * @param {WalkEnv} env
 * @param {CheckView} check
 * @param {Place} place
 * @param {FindingEntry} mark
 */
export function foundLine(env, check, place, mark) {
  const line = findingLine(mark, check);
  const takeBack = async () => {
    await env.app.attempt(() => env.app.log.unmark(env.walk, place, mark.id));
    await env.changed();
  };
  return h(
    "div",
    { class: "found" },
    mark.severity && severityMark(mark.severity),
    h("p", null, place.spot && `${place.spot}: `, h("strong", null, line), mark.note && !line.startsWith(mark.note) && ` – ${mark.note}`),
    h(
      "div",
      { class: "row" },
      small(say("slot.change"), line, () => env.openForm({ check, place, corrects: mark })),
      small(say("slot.another"), placeName(check, place.spot), () => env.openForm({ check, place, also: true })),
      small(say("slot.remove"), line, () => void takeBack()),
    ),
  );
}

/**
 * @param {WalkEnv} env
 * @param {CheckView} check
 * @param {Place} place
 * @param {string} key of the draft
 */
export function draftLine(env, check, place, key) {
  const drop = async () => {
    await env.app.attempt(() => env.app.drafts.drop(key));
    env.drafts.delete(key);
    await env.changed();
  };
  return h(
    "div",
    { class: "notice" },
    h("p", null, say("slot.draft")),
    h(
      "div",
      { class: "row" },
      small(say("slot.draft-open"), placeName(check, place.spot), () => env.openForm({ check, place }), "plain"),
      small(say("slot.draft-drop"), placeName(check, place.spot), () => void drop()),
    ),
  );
}

/**
 * What the before-round said at this place.
 * @param {WalkEnv} env
 * @param {CheckView} check
 * @param {Place} place
 */
export function beforeSaid(env, check, place) {
  const marks = env.before ? marksAt(env.before, place) : [];
  const result = resultOf(marks);
  if (!result) return null;
  const found = marks
    .filter((mark) => mark.result === "defect")
    .map((mark) => findingLine(mark, check))
    .join("; ");
  const measured = marks.find((mark) => mark.reading)?.reading;
  const words = found || [say(`result.${result}`), measured && quantity(measured.value, measured.unit)].filter(Boolean).join(", ");
  return h("p", { class: "soft" }, place.spot && `${place.spot}: `, say("check.before", { words }));
}
