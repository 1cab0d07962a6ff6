/** A reading against its limits: low and high alike, and whether it can be true at all. Pure. */

import { fromBase, toBase } from "./units.js";

/** @import {Conversions, Limits, Reading} from "./types.js" */

/**
 * @typedef {object} Judgement
 * @property {"fine" | "below" | "above" | "implausible" | "no limits"} verdict
 * @property {number | null} low in the reading's unit
 * @property {number | null} high in the reading's unit
 * @property {number} by how far outside, in the reading's unit; 0 when fine
 */

/**
 * @param {Reading} reading
 * @param {Limits} limits
 * @param {Conversions} conversions
 * @returns {Judgement}
 */
export function judge(reading, limits, conversions) {
  const { quantity, unit } = limits;
  /** @param {number | null | undefined} limit */
  const here = (limit) => (limit === null || limit === undefined ? null : fromBase(toBase(limit, unit, quantity, conversions), reading.unit, quantity, conversions));
  const [low, high, least, most] = [here(limits.low), here(limits.high), here(limits.least), here(limits.most)];
  const { value } = reading;
  const impossible = (least !== null && value < least) || (most !== null && value > most);
  if (impossible || !Number.isFinite(value)) return { verdict: "implausible", low, high, by: 0 };
  if (low !== null && value < low) return { verdict: "below", low, high, by: low - value };
  if (high !== null && value > high) return { verdict: "above", low, high, by: value - high };
  return { verdict: low === null && high === null ? "no limits" : "fine", low, high, by: 0 };
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
