// The vehicle from above, standing in its drip tray: where one stands, what is done, where something was found.

import { h, s } from "./dom.js";
import { stencil } from "./stencil.js";
import { say } from "../words/index.js";

/**
 * @typedef {object} Spot one station on the plan
 * @property {number} number in walking order, from 1
 * @property {string} name
 * @property {[number, number]} at nose at x = 0, left side at y = 0
 * @property {boolean} done
 * @property {number} defects
 */
/** @import {VehicleView} from "../types.js" */
/** @typedef {{x: number, y: number}} Point */

const WIDTH = 360;
const HEIGHT = 136;
const APART = 29;
/** Nearer to the nose than this, a station of one side stands at a front wheel. */
const FRONT = 0.3;
/** Where the running gear of the left and of the right side begins. */
const SIDES = [20, 102];

/**
 * Places on the drawing, pushed apart until no two marks touch.
 * @param {[number, number][]} places
 * @returns {Point[]}
 */
export function spread(places) {
  const points = places.map(([x, y]) => ({ x: 30 + x * 300, y: 24 + y * 88 }));
  for (let turn = 0; turn < 80; turn += 1) {
    let moved = false;
    points.forEach((point, index) => {
      for (const other of points.slice(index + 1)) moved = push(point, other) || moved;
    });
    if (!moved) break;
  }
  return points;
}

/**
 * @param {Point} one
 * @param {Point} two
 */
function push(one, two) {
  // Two at the very same place part sideways, along the vehicle.
  const dx = two.x - one.x || 0.5;
  const dy = two.y - one.y;
  const apart = Math.hypot(dx, dy);
  if (apart >= APART) return false;
  const step = (APART - apart) / 2 / apart;
  one.x = clamp(one.x - dx * step, 20, WIDTH - 20);
  one.y = clamp(one.y - dy * step, 20, HEIGHT - 20);
  two.x = clamp(two.x + dx * step, 20, WIDTH - 20);
  two.y = clamp(two.y + dy * step, 20, HEIGHT - 20);
  return true;
}

/**
 * @param {number} value
 * @param {number} least
 * @param {number} most
 */
function clamp(value, least, most) {
  return Math.min(most, Math.max(least, value));
}

/**
 * Tracks, wheels, or wheels in front and tracks behind them: tracks by the vehicle's facts, front wheels where it has
 * stations of a side that near the nose.
 * @param {Pick<VehicleView, "facts" | "stations">} vehicle
 */
function runningGear({ facts, stations }) {
  if (!("track_pitch_mm" in facts)) return wheels(Number(facts.axles ?? 2) > 2 ? [84, 226, 268] : [84, 256]);
  const front = stations.find((station) => station.mirror && station.at[0] < FRONT);
  return front ? [wheels([30 + front.at[0] * 300 - 17]), tracks(144)] : tracks(50);
}

/** @param {number[]} places where they begin, from the nose */
function wheels(places) {
  return places.flatMap((x) => SIDES.map((y) => s("rect", { class: "plan-wheel", x, y, width: 34, height: 14, rx: 5 })));
}

/** @param {number} x where they begin, from the nose */
function tracks(x) {
  return SIDES.map((y) => s("rect", { class: "plan-track", x, y, width: 314 - x, height: 14, rx: 7 }));
}

/**
 * @param {Spot} spot
 * @param {Point} point
 * @param {boolean} here
 */
function place(spot, point, here) {
  if (here) {
    const sign = stencil(spot.number);
    const wide = spot.number > 9;
    sign.setAttribute("x", String(-(wide ? 11 : 5.5)));
    sign.setAttribute("y", "-8");
    sign.setAttribute("width", wide ? "22" : "11");
    sign.setAttribute("height", "16");
    return s(
      "g",
      { class: "plan-here", transform: `translate(${point.x} ${point.y})` },
      s("rect", { x: -17, y: -15, width: 34, height: 30, rx: 6 }),
      s("rect", { class: "plan-rim", x: -14.5, y: -12.5, width: 29, height: 25, rx: 4 }),
      sign,
    );
  }
  const shape = spot.defects
    ? s("path", { d: "M0-12C5-5 8.4-1.4 8.4 3.4A8.4 8.4 0 0 1-8.4 3.4C-8.4-1.4-5-5 0-12Z" })
    : s("circle", { r: spot.done ? 7 : 6.5 });
  return s(
    "g",
    {
      class: `plan-spot ${spot.done ? "plan-done" : ""} ${spot.defects ? "plan-drop" : ""}`,
      transform: `translate(${point.x} ${point.y})`,
    },
    shape,
  );
}

/**
 * @param {Spot[]} spots in walking order
 * @param {number} here number of the station one stands at, 0 for none
 * @param {Pick<VehicleView, "facts" | "stations">} vehicle
 */
export function plan(spots, here, vehicle) {
  const points = spread(spots.map((spot) => spot.at));
  const way = points.map((point) => `${point.x.toFixed(1)} ${point.y.toFixed(1)}`).join("L");
  const at = spots.find((spot) => spot.number === here);
  const left = spots.filter((spot) => !spot.done).length;
  const words = at
    ? say("plan.here", { number: here, of: spots.length, name: at.name, left })
    : say("plan.all", { of: spots.length, left });
  const order = spots.map((_, index) => index).sort((a, b) => Number(spots[a]?.number === here) - Number(spots[b]?.number === here));
  const drawing = s(
    "svg",
    { viewBox: `0 0 ${WIDTH} ${HEIGHT}`, role: "img", "aria-label": words },
    s("g", null, runningGear(vehicle)),
    s("path", { class: "plan-body", d: "M64 34H302Q318 34 318 50V86Q318 102 302 102H64L40 84V52Z" }),
    s("path", { class: "plan-nose", d: "M64 34V102M50 68H58" }),
    spots.length > 1 && s("path", { class: "plan-way", d: `M${way}` }),
    order.map((index) => {
      const spot = /** @type {Spot} */ (spots[index]);
      return place(spot, /** @type {Point} */ (points[index]), spot.number === here);
    }),
  );
  return h(
    "figure",
    { class: "plan" },
    h("p", { class: "plan-words", "aria-hidden": "true" }, h("span", null, say("plan.nose")), h("span", null, say("plan.left"))),
    drawing,
  );
}
