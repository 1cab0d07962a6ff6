/** A walk as its entries tell it: what holds at each place, what is left. Pure. */

import { placeKey, placesOf } from "./fleet.js";

/** @import {Coverage, Entry, FindingEntry, FindingFields, NotLookedAt, StationView, WalkEntry, WalkView} from "./types.js" */

/**
 * The entries that hold: those no later entry of the same device takes back.
 * @template {Entry} T
 * @param {T[]} entries in order of seq
 * @returns {T[]}
 */
export function holding(entries) {
  const gone = new Set(entries.map((entry) => entry.corrects));
  return entries.filter((entry) => !gone.has(entry.id));
}

/**
 * @param {Entry[]} entries of one walk, in order of seq
 * @returns {WalkView | null} null where the walk's start is not among them
 */
export function viewWalk(entries) {
  const kept = holding(entries);
  const heads = /** @type {WalkEntry[]} */ (kept.filter((entry) => entry.kind === "walk"));
  const started = heads.find((entry) => entry.state === "started");
  if (!started) return null;
  const findings = /** @type {FindingEntry[]} */ (kept.filter((entry) => entry.kind === "finding"));
  const { walk, vehicle, round, day, by, knows } = started;
  return {
    walk,
    vehicle,
    round,
    day,
    by,
    knows,
    started,
    finished: heads.findLast((entry) => entry.state === "finished") ?? null,
    marks: byPlace(findings.filter((finding) => finding.check && !isBlank(finding))),
    extras: findings.filter((finding) => !finding.check && !isBlank(finding)),
  };
}

/**
 * A mark that was taken back: `unchecked` without a reason.
 * @param {FindingFields} finding
 */
export function isBlank(finding) {
  return finding.result === "unchecked" && !finding.why;
}

/**
 * What is done and what is left, by place (a spot counts for one).
 * @param {WalkView} walk
 * @param {StationView[]} stations with only the checks to count
 * @returns {Coverage}
 */
export function coverage(walk, stations) {
  const counts = { done: 0, of: 0, unchecked: /** @type {NotLookedAt[]} */ ([]), seconds: 0 };
  for (const check of stations.flatMap((station) => station.checks)) {
    const places = placesOf(check);
    let left = 0;
    for (const place of places) {
      const marks = walk.marks.get(placeKey(place)) ?? [];
      const why = marks.find((mark) => mark.why)?.why;
      counts.of += 1;
      if (marks.some((mark) => mark.result !== "unchecked")) counts.done += 1;
      else counts.unchecked.push({ check: check.id, ...(place.spot && { spot: place.spot }), ...(why && { why }) });
      if (marks.length === 0) left += 1;
    }
    counts.seconds += Math.ceil((check.seconds * left) / places.length);
  }
  return counts;
}

/** @param {FindingEntry[]} findings */
function byPlace(findings) {
  /** @type {Map<string, FindingEntry[]>} */
  const marks = new Map();
  for (const finding of findings) {
    const key = placeKey(finding);
    marks.set(key, [...(marks.get(key) ?? []), finding]);
  }
  return marks;
}
