// What a walk looks like at a glance: each station's tally, and what holds at one place. Pure.

import { draftKey } from "../drafts.js";
import { placeKey, placesOf } from "../fleet.js";

/** @import {CheckView, FindingEntry, KnownDefect, Place, Result, StationView, WalkView} from "../types.js" */

/**
 * @typedef {object} Tally
 * @property {number} answered places with any mark, "Not checked" with its reason included
 * @property {number} of
 * @property {number} defects
 */

/**
 * @param {WalkView} walk
 * @param {StationView} station with only the round's checks
 * @returns {Tally}
 */
export function tallyOf(walk, station) {
  const places = station.checks.flatMap(placesOf);
  const marks = places.map((place) => marksAt(walk, place));
  const extras = walk.extras.filter((extra) => extra.station === station.id).length;
  return {
    answered: marks.filter((found) => found.length > 0).length,
    of: places.length,
    defects: marks.flat().filter((mark) => mark.result === "defect").length + extras,
  };
}

/**
 * @param {WalkView} walk
 * @param {Place} place
 * @returns {FindingEntry[]}
 */
export function marksAt(walk, place) {
  return walk.marks.get(placeKey(place)) ?? [];
}

/**
 * The one result a place shows: a defect outweighs the rest. A known defect that is gone says nothing of other faults.
 * @param {FindingEntry[]} marks
 * @returns {Result | null}
 */
export function resultOf(marks) {
  const own = marks.filter((mark) => !mark.verdict);
  if (own.some((mark) => mark.result === "defect")) return "defect";
  return own.at(-1)?.result ?? null;
}

/**
 * Places of a station that nobody has marked, and that "the rest is sound" may speak of: nothing to measure, no known
 * defect waiting for its answer, no form half filled in.
 * @param {WalkView} walk
 * @param {StationView} station
 * @param {Map<string, KnownDefect[]>} known by placeKey()
 * @param {Set<string>} drafts keys of forms half filled in
 * @returns {Place[]}
 */
export function restOf(walk, station, known, drafts) {
  return station.checks
    .filter((check) => !check.reading)
    .flatMap(placesOf)
    .filter(
      (place) => marksAt(walk, place).length === 0 && !known.has(placeKey(place)) && !drafts.has(draftKey("finding", walk.walk, place)),
    );
}

/**
 * @param {CheckView} check
 * @param {string | undefined} fault
 * @returns {string | null} the fault's name
 */
export function faultName(check, fault) {
  return check.faults.find((candidate) => candidate.id === fault)?.name ?? null;
}
