// Numerals as a stencil leaves them, drawn by us: strokes with bridges between them.

import { s } from "./dom.js";

// Each digit stands in a box 10 wide and 16 high; gaps in the strokes are the stencil's bridges.
/** @type {Record<string, string>} */
const STROKES = {
  0: "M4.2 1.7A2.5 2.5 0 0 0 1.7 4.2V11.8A2.5 2.5 0 0 0 4.2 14.3M5.8 1.7A2.5 2.5 0 0 1 8.3 4.2V11.8A2.5 2.5 0 0 1 5.8 14.3",
  1: "M1.6 5.2 6 1.6V7.2M6 8.8V15.6",
  2: "M1.7 5V4.2A2.5 2.5 0 0 1 4.2 1.7H5.8A2.5 2.5 0 0 1 8.3 4.2V5.4M7.7 7.2 2.6 11.7M.5 14.3H9.5",
  3: "M1.7 4.4A2.5 2.5 0 0 1 4.2 1.7H5.8A2.5 2.5 0 0 1 8.3 4.2V4.9A2.4 2.4 0 0 1 7.3 6.9M3.4 8H6M7.3 9.1A2.4 2.4 0 0 1 8.3 11.1V11.8A2.5 2.5 0 0 1 5.8 14.3H4.2A2.5 2.5 0 0 1 1.7 11.6",
  4: "M7 .4V9.2M7 12.8V15.6M.4 11H9.8M5 1 1.8 8.6",
  5: "M4 1.7H9M1.9 .4V7.4M3.9 6.9H5.8A2.5 2.5 0 0 1 8.3 9.4V11.8A2.5 2.5 0 0 1 5.8 14.3H4.2A2.5 2.5 0 0 1 1.7 11.8",
  6: "M8.2 3.4A2.5 2.5 0 0 0 5.8 1.7H4.2A2.5 2.5 0 0 0 1.7 4.2V11.8A2.5 2.5 0 0 0 4.2 14.3M5.8 14.3A2.5 2.5 0 0 0 8.3 11.8V9.7A2.5 2.5 0 0 0 5.8 7.2H3.8",
  7: "M.5 1.7H9.3M7.9 4 4.4 15.6",
  8: "M4.2 1.7A2.6 2.6 0 0 0 4.2 7M5.8 1.7A2.6 2.6 0 0 1 5.8 7M4.2 9A2.65 2.65 0 0 0 4.2 14.3M5.8 9A2.65 2.65 0 0 1 5.8 14.3",
  9: "M1.8 12.6A2.5 2.5 0 0 0 4.2 14.3H5.8A2.5 2.5 0 0 0 8.3 11.8V4.2A2.5 2.5 0 0 0 5.8 1.7M4.2 1.7A2.5 2.5 0 0 0 1.7 4.2V6.3A2.5 2.5 0 0 0 4.2 8.8H6.2",
  "/": "M8.6 1 1.4 15",
};

/**
 * A number in stencil numerals; hidden from screen readers, which get it in words beside it.
 * @param {number | string} number digits and "/" only
 * @param {string} [size] class of the drawing: "small", "large"
 */
export function stencil(number, size = "") {
  const digits = [...String(number)].filter((digit) => digit in STROKES);
  const width = digits.length * 11.6 - 1.6;
  const svg = s("svg", { class: `stencil ${size}`, viewBox: `0 0 ${Math.max(width, 1)} 16`, "aria-hidden": "true", focusable: "false" });
  digits.forEach((digit, place) => {
    svg.append(s("path", { d: STROKES[digit], transform: `translate(${place * 11.6} 0)` }));
  });
  return svg;
}
