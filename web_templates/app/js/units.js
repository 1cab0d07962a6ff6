/** Readings from one unit to another, by the factors that the edition carries. */

/** @import {Conversions} from "./types.js" */

/** Units offered first where the fleet measures in them. */
const IMPERIAL = new Set(["in", "ft", "mi", "psi", "lbf ft", "°F", "Δ°F", "gal UK", "mph"]);

/**
 * @param {number} value
 * @param {string} unit
 * @param {string} quantity
 * @param {Conversions} conversions
 * @returns {number} in the quantity's base unit
 */
export function toBase(value, unit, quantity, conversions) {
  const [factor, offset] = pair(unit, quantity, conversions);
  return value * factor + offset;
}

/**
 * @param {number} base in the quantity's base unit
 * @param {string} unit
 * @param {string} quantity
 * @param {Conversions} conversions
 */
export function fromBase(base, unit, quantity, conversions) {
  const [factor, offset] = pair(unit, quantity, conversions);
  return (base - offset) / factor;
}

/**
 * @param {number} value
 * @param {string} from
 * @param {string} to
 * @param {string} quantity
 * @param {Conversions} conversions
 */
export function convert(value, from, to, quantity, conversions) {
  if (from === to && conversions[quantity]?.[from]) return value; // unchanged to the last digit
  return fromBase(toBase(value, from, quantity, conversions), to, quantity, conversions);
}

/**
 * The units a quantity may be taken in: the limits' own first, or the fleet's system's.
 * @param {string} quantity
 * @param {string} own the unit the limits are written in
 * @param {"metric" | "imperial"} system
 * @param {Conversions} conversions
 * @returns {string[]}
 */
export function unitsFor(quantity, own, system, conversions) {
  const all = Object.keys(conversions[quantity] ?? {});
  const first = IMPERIAL.has(own) === (system === "imperial") ? own : all.find((unit) => IMPERIAL.has(unit) === (system === "imperial"));
  return [...new Set([first ?? own, own, ...all])];
}

/**
 * A value as a person reads it: at most three decimals, no trailing noughts.
 * @param {number} value
 */
export function shown(value) {
  return String(Number(value.toFixed(Math.abs(value) >= 100 ? 1 : 3)));
}

/**
 * A limit in the unit in hand. Converted, it has three figures, rounded to the safe side: who reads it and stays
 * within it is within the true one.
 * @param {number} limit in the limits' own unit
 * @param {"low" | "high"} side
 * @param {{quantity: string, unit: string}} limits
 * @param {string} unit in hand
 * @param {Conversions} conversions
 */
export function limitIn(limit, side, limits, unit, conversions) {
  if (unit === limits.unit) return limit;
  const here = convert(limit, limits.unit, unit, limits.quantity, conversions);
  const step = 10 ** (Math.floor(Math.log10(Math.abs(here) || 1)) - 2);
  // What stands on a step already stays there, whatever the last binary digit says.
  const steps = Number((here / step).toPrecision(12));
  return Number(((side === "low" ? Math.ceil(steps) : Math.floor(steps)) * step).toPrecision(3));
}

/**
 * @param {string} unit
 * @param {string} quantity
 * @param {Conversions} conversions
 */
function pair(unit, quantity, conversions) {
  const found = conversions[quantity]?.[unit];
  if (!found) throw new RangeError(`"${unit}" is no unit of ${quantity}`);
  return found;
}
