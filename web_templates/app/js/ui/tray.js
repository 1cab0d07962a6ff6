// A drip tray that fills as the walk goes on: how much is done, drawn; the words stand beside it.

import { s } from "./dom.js";

/**
 * @param {number} done
 * @param {number} of
 * @param {string} [kind] class of the drawing
 */
export function tray(done, of, kind = "") {
  const share = of > 0 ? Math.min(1, done / of) : 0;
  // The tray's walls lean outwards: 8 units of depth, 6 of slope at each end.
  const depth = 9 * share;
  const lean = (depth * 6) / 9;
  const level = `M9 13H91L${91 + lean} ${13 - depth}H${9 - lean}Z`;
  return s(
    "svg",
    { class: `tray ${kind}`, viewBox: "0 0 100 16", preserveAspectRatio: "none", "aria-hidden": "true", focusable: "false" },
    share > 0 && s("path", { class: "tray-level", d: level }),
    s("path", { class: "tray-wall", d: "M1 3H3L9 14H91L97 3H99", "vector-effect": "non-scaling-stroke" }),
  );
}
