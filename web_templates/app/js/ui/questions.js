// The questions a place asks before one tap undoes or overrules something.

import { ask } from "./dialog.js";
import { h } from "./dom.js";
import { findingLine, judgedWords } from "./phrases.js";
import { say } from "../words/index.js";

/** @import {CheckView, FindingEntry, KnownDefect, Result} from "../types.js" */
/** @import {Measure} from "./measure.js" */

/**
 * A defect that was written down is not lost to one tap.
 * @param {FindingEntry[]} defects
 * @param {CheckView} check
 * @param {Result} result
 */
export async function askTakeBack(defects, check, result) {
  const answer = await ask({
    title: say("slot.take-back", { what: defects.map((mark) => findingLine(mark, check)).join("; ") }),
    text: say("slot.take-back-text", { result: say(`result.${result}`) }),
    answers: [
      { value: "keep", word: say("slot.keep") },
      { value: "yes", word: say("slot.take-back-yes"), plain: true },
    ],
  });
  return answer === "yes";
}

/**
 * Sound, though the reading lies outside its limits?
 * @param {Measure} field
 * @returns {Promise<"sound" | "defect" | null>}
 */
export async function askSoundAnyway(field) {
  const [call, reading] = [field.judged(), field.reading()];
  if (!call || !reading || (call.position !== "below" && call.position !== "above")) return "sound";
  const answer = await ask({
    title: judgedWords(call, reading, field.limits, field.edition.conversions),
    text: say("slot.sound-anyway-text"),
    answers: [
      { value: "defect", word: say("slot.rather-defect") },
      { value: "sound", word: say("slot.sound-anyway"), plain: true },
    ],
  });
  return /** @type {"sound" | "defect" | null} */ (answer);
}

/** @param {KnownDefect[]} there known defects not yet called gone */
export async function askKnownGone(there) {
  const answer = await ask({
    title: say("slot.known-gone", { what: there.map((defect) => defect.fault_name).join(", ") }),
    text: say("slot.known-gone-text"),
    answers: [
      { value: "no", word: say("slot.known-no") },
      { value: "gone", word: say("slot.known-yes"), plain: true },
    ],
  });
  return answer === "gone";
}

/**
 * The deliberate second step of "the rest is sound".
 * @param {string[]} asks the checks it would speak of
 * @param {number} n
 */
export async function askRestSound(asks, n) {
  const answer = await ask({
    title: say("rest.title", { n }),
    text: [
      h("p", null, say("rest.text")),
      h(
        "ul",
        { class: "plain-list" },
        asks.map((name) => h("li", null, name)),
      ),
    ],
    answers: [
      { value: "sound", word: say("rest.yes", { n }) },
      { value: "no", word: say("rest.no"), plain: true },
    ],
  });
  return answer === "sound";
}
