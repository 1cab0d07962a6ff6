// Like spots side by side: which one stands out among its fellows, said while one still stands there.

import { oddOnes } from "../spots.js";
import { convert } from "../units.js";
import { h } from "./dom.js";
import { quantity } from "./phrases.js";
import { marksAt } from "./tally.js";
import { placesOf } from "../fleet.js";
import { say } from "../words/index.js";

/** @import {WalkEnv} from "./env.js" */
/** @import {CheckView} from "../types.js" */

/** How far hubs may lie apart anyway, in °C, as the workshop judges them (common practice, no source). */
const HUBS_APART = 20;

/**
 * @param {WalkEnv} env
 * @param {CheckView} check
 * @returns {{node: HTMLElement, update: () => void}}
 */
export function oddLine(env, check) {
  const node = h("p", { class: "verdict verdict-out", "aria-live": "polite" });
  const update = () => {
    node.textContent = words(env, check);
  };
  return { node, update };
}

/**
 * @param {WalkEnv} env
 * @param {CheckView} check
 */
function words(env, check) {
  const limits = check.reading;
  if (!limits || check.reckon !== "odd one out") return "";
  const { conversions } = env.app.edition;
  const unit = limits.quantity === "temperature" ? "°C" : limits.unit;
  const apart = limits.quantity === "temperature" ? HUBS_APART : 2 * (limits.tolerance ?? 0);
  /** @type {Record<string, number>} */
  const values = {};
  for (const place of placesOf(check)) {
    const reading = marksAt(env.walk, place).findLast((mark) => mark.reading)?.reading;
    if (reading) values[place.spot ?? ""] = convert(reading.value, reading.unit, unit, limits.quantity, conversions);
  }
  const { odd, differ } = oddOnes(values, apart);
  if (odd.length > 0)
    return odd
      .map(({ spot, apart: by }) => say(by > 0 ? "reading.odd-above" : "reading.odd-below", { spot, by: quantity(Math.abs(by), unit) }))
      .join(" ");
  return differ ? say("reading.differ") : "";
}
