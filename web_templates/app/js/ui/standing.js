// A vehicle's standing, in words with its chocks, and what is barred.

import { h } from "./dom.js";
import { chocks } from "./marks.js";
import { say, sayIfKnown } from "../words/index.js";

/** @import {CarriedStanding, Severity} from "../types.js" */

/** @type {Record<CarriedStanding["standing"], Severity>} */
const HELD = { fit: "advisory", limited: "major", stopped: "dangerous" };

/** @param {CarriedStanding | null} standing null: nothing has come from the workshop */
export function standingLine(standing) {
  if (!standing) return h("span", { class: "soft" }, say("standing.unknown"));
  return h(
    "span",
    { class: `graded standing-${standing.standing}` },
    chocks(HELD[standing.standing]),
    h("span", null, say(`standing.${standing.standing}`)),
  );
}

/** @param {CarriedStanding | null} standing */
export function barredWords(standing) {
  if (!standing?.barred.length) return "";
  const barred = standing.barred.map((what) => sayIfKnown(`barred.${what}`, what)).join(", ");
  return say("standing.barred", { barred });
}
