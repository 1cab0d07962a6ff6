// Sentences put together from data: spots, readings, severities, findings.

import { daysBetween } from "../clock.js";
import { limitIn, shown } from "../units.js";
import { graded } from "./marks.js";
import { faultName } from "./tally.js";
import { number, say, sayIfKnown } from "../words/index.js";

/** @import {CheckView, Conversions, FindingFields, KnownDefect, Limits, Reading, Round, Severity} from "../types.js" */
/** @import {Judgement} from "../judge.js" */

/** @param {Severity} severity */
export function severityWord(severity) {
  return say(`severity.${severity}`);
}

/** @param {Severity} severity */
export function severityMark(severity) {
  return graded(severity, severityWord(severity));
}

/** "hot round", as it stands in a sentence. @param {Round} round */
export function roundWord(round) {
  return say(`round.${round}-name`);
}

/** @param {string} words at the start of a line */
export function capital(words) {
  return words.charAt(0).toLocaleUpperCase() + words.slice(1);
}

/**
 * A check's name with its spot, as the group is called.
 * @param {CheckView} check
 * @param {string} [spot]
 */
export function placeName(check, spot) {
  return spot ? `${check.ask}, ${spot}` : check.ask;
}

/** @param {CheckView} check whether its spots are counted */
export function counted(check) {
  return check.spots.length > 0 && check.spots.every((spot) => /^\d+$/.test(spot));
}

/**
 * @param {number} value
 * @param {string} unit
 */
export function quantity(value, unit) {
  return `${number(Number(shown(value)))} ${unit}`;
}

/**
 * What is fine, in the unit in hand: "20 to 40 mm".
 * @param {Limits} limits
 * @param {string} unit
 * @param {Conversions} conversions
 */
export function rangeWords(limits, unit, conversions) {
  /** @param {number | null | undefined} limit @param {"low" | "high"} side */
  const here = (limit, side) => (limit === null || limit === undefined ? null : limitIn(limit, side, limits, unit, conversions));
  const low = here(limits.low, "low");
  const high = here(limits.high, "high");
  if (low !== null && high !== null) return say("reading.between", { low, high, unit });
  if (low !== null) return say("reading.least", { low, unit });
  if (high !== null) return say("reading.most", { high, unit });
  return "";
}

/**
 * A reading's judgement in plain words.
 * @param {Judgement} judged
 * @param {Reading} reading
 * @param {Limits} limits
 * @param {Conversions} conversions
 */
export function judgedWords({ position }, { value, unit }, limits, conversions) {
  const side = position === "below" ? "low" : "high";
  const limit = limitIn(limits[side] ?? 0, side, limits, unit, conversions);
  const values = { value: quantity(value, unit), by: quantity(Math.abs(value - limit), unit), limit: quantity(limit, unit) };
  if (position === "within") return say("reading.fine", values);
  return say(position === "no limits" ? "reading.noted" : `reading.${position}`, values);
}

/** @param {string} why */
export function whyWord(why) {
  return sayIfKnown(`why.${why}`, why);
}

/**
 * A finding in one line, without its severity: "Slack, 61 mm".
 * @param {FindingFields} finding
 * @param {CheckView | null} check
 */
export function findingLine(finding, check) {
  const fault = check && faultName(check, finding.fault);
  const parts = [
    fault ?? finding.fault ?? (finding.note ? firstLine(finding.note) : say("finding.unnamed")),
    finding.reading && quantity(finding.reading.value, finding.reading.unit),
    finding.put_right && say("finding.put-right"),
    finding.photos.length > 0 && say("photos.count", { n: finding.photos.length }),
  ];
  return parts.filter(Boolean).join(", ");
}

/** @param {string} note */
function firstLine(note) {
  const line = note.split("\n", 1)[0] ?? "";
  return line.length > 80 ? `${line.slice(0, 79)}…` : line;
}

/**
 * How long a defect has been known; empty where the workshop has no first day of it (nobody saw it on a walk).
 * @param {KnownDefect} defect
 * @param {string} today ISO date
 */
export function ageWords(defect, today) {
  return defect.first_day ? say("known.age", { n: daysBetween(defect.first_day, today) }) : "";
}

/** @param {number} seconds */
export function minutesWords(seconds) {
  return say("minutes", { n: Math.max(1, Math.round(seconds / 60)) });
}
