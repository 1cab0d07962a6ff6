/** A reading against its limits: low and high alike, and whether it can be true at all. Pure; the workshop's twin. */

import { convert, toBase } from "./units.js";

/** @import {Edition, Limits, Reading} from "./types.js" */
/** @typedef {Pick<Edition, "conversions" | "plausible">} Table what of the edition is needed */

/** Conversion must not push a reading that stands on its limit over it. */
const EPSILON = 1e-9;

/**
 * Only "within" is green. `outside` is in the limits' unit; `low`, `high` and `by` (how far outside) in the reading's.
 * `marginal`: outside, but by no more than two people's readings may differ.
 * @typedef {object} Judgement
 * @property {"within" | "below" | "above" | "risen" | "implausible" | "no limits"} position
 * @property {number} outside
 * @property {boolean} marginal
 * @property {number | null} low
 * @property {number | null} high
 * @property {number} by
 */

/**
 * Limits are included. An implausible reading is judged no further; a level that rose since `earlier` is never "within".
 * Throws RangeError for a unit of another quantity.
 * @param {Reading} reading
 * @param {Limits} limits
 * @param {Table} table the edition
 * @param {Reading | null} [earlier] where a rise by itself is a fault
 * @returns {Judgement}
 */
export function judge(reading, limits, table, earlier = null) {
  const { quantity, unit } = limits;
  const value = convert(reading.value, reading.unit, unit, quantity, table.conversions);
  /** @param {number | null | undefined} limit */
  const here = (limit) => (isGiven(limit) ? convert(limit, unit, reading.unit, quantity, table.conversions) : null);
  const [low, high] = [here(limits.low), here(limits.high)];
  /** @param {Judgement["position"]} position @param {number} [outside] @param {number | null} [limit] */
  const said = (position, outside = 0, limit = null) => ({
    position,
    outside,
    marginal: outside > 0 && outside <= (limits.tolerance ?? 0) * (1 + EPSILON),
    low,
    high,
    by: limit === null ? 0 : Math.abs(reading.value - limit),
  });
  if (!isPlausible(reading, limits, table)) return said("implausible");
  if (!notUnder(value, limits.low)) return said("below", Number(limits.low) - value, low);
  if (!notOver(value, limits.high)) return said("above", value - Number(limits.high), high);
  if (earlier && value > convert(earlier.value, earlier.unit, unit, quantity, table.conversions)) return said("risen");
  return said(low === null && high === null ? "no limits" : "within");
}

/**
 * Whether a reading can be at all: by its quantity, and by the check's `least` and `most`.
 * @param {Reading} reading
 * @param {Limits} limits
 * @param {Table} table
 */
export function isPlausible(reading, limits, { conversions, plausible }) {
  const { quantity, unit, least, most } = limits;
  const base = toBase(reading.value, reading.unit, quantity, conversions);
  const value = convert(reading.value, reading.unit, unit, quantity, conversions);
  const [lowest, highest] = plausible[quantity] ?? [null, null];
  const possible = Number.isFinite(base) && notUnder(base, lowest) && notOver(base, highest);
  return possible && notUnder(value, least) && notOver(value, most);
}

/** @param {number | null | undefined} limit @returns {limit is number} */
function isGiven(limit) {
  return limit !== null && limit !== undefined;
}

/** @param {number} value @param {number | null | undefined} least */
function notUnder(value, least) {
  return !isGiven(least) || value >= least - EPSILON * Math.max(1, Math.abs(least));
}

/** @param {number} value @param {number | null | undefined} most */
function notOver(value, most) {
  return !isGiven(most) || value <= most + EPSILON * Math.max(1, Math.abs(most));
}

/**
 * A number as people type it: "61", "61,5", "2 3/8", "-4". Null where it is none.
 * @param {string} text
 * @returns {number | null}
 */
export function parseValue(text) {
  const match = /^\s*([-+−]?)\s*(?:(\d+)\s+)?(?:(\d+)\/(\d+)|(\d+(?:[.,]\d*)?|[.,]\d+))\s*$/.exec(text);
  if (!match) return null;
  const [, sign, whole, over, under, plain] = match;
  if (plain !== undefined && whole !== undefined) return null;
  const part = plain !== undefined ? Number(plain.replace(",", ".")) : Number(over) / Number(under);
  const value = (sign === "-" || sign === "−" ? -1 : 1) * (Number(whole ?? 0) + part);
  return Number.isFinite(value) ? value : null;
}
