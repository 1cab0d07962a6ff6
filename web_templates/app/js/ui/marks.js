// Our own marks, always beside a word: results, severities (a wheel and its chocks), and the few signs on buttons.

import { h, s } from "./dom.js";

/** @typedef {"sound" | "defect" | "unchecked"} Result */
/** @typedef {"dangerous" | "major" | "minor" | "advisory"} Severity */

const LINE = { fill: "none", stroke: "currentColor", "stroke-width": 2.4, "stroke-linecap": "butt", "stroke-linejoin": "round" };
const BODY = { fill: "currentColor" };

/** @type {Record<string, () => SVGElement[]>} */
const DRAWN = {
  // A hammer's ring: struck, and it sounded true.
  sound: () => [
    s("circle", { ...BODY, cx: 12, cy: 12, r: 3.4 }),
    s("path", { ...LINE, d: "M5.6 18.4A9 9 0 0 1 5.6 5.6M18.4 5.6A9 9 0 0 1 18.4 18.4" }),
  ],
  defect: () => [s("path", { ...BODY, d: "M12 2.2C15.6 7.4 18.6 11 18.6 15.1A6.6 6.6 0 0 1 5.4 15.1C5.4 11 8.4 7.4 12 2.2Z" })],
  unchecked: () => [s("circle", { ...LINE, cx: 12, cy: 12, r: 8.6, "stroke-dasharray": "4.4 4.6" })],
  next: () => [s("path", { ...LINE, d: "M4 12H19M13 5.5 19.5 12 13 18.5" })],
  back: () => [s("path", { ...LINE, d: "M20 12H5M11 5.5 4.5 12 11 18.5" })],
  find: () => [s("circle", { ...LINE, cx: 10.5, cy: 10.5, r: 6.2 }), s("path", { ...LINE, d: "M15.2 15.2 21 21" })],
  photo: () => [s("path", { ...LINE, d: "M3 7.5H8L9.6 4.8H14.4L16 7.5H21V19.2H3Z" }), s("circle", { ...LINE, cx: 12, cy: 13, r: 3.6 })],
  more: () => [s("path", { ...LINE, d: "M12 4V20M4 12H20" })],
  shut: () => [s("path", { ...LINE, d: "M5 5 19 19M19 5 5 19" })],
  send: () => [s("path", { ...LINE, d: "M3.5 13V20H20.5V13M12 16V3.5M6.8 8.7 12 3.5 17.2 8.7" })],
  take: () => [s("path", { ...LINE, d: "M3.5 13V20H20.5V13M12 3V15.5M6.8 10.3 12 15.5 17.2 10.3" })],
  caution: () => [s("path", { ...LINE, d: "M12 3.2 22 20.4H2Z" }), s("path", { ...LINE, d: "M12 9V14.4M12 16.2V18.4" })],
  phone: () => [s("path", { ...LINE, d: "M6.5 2.6H17.5V21.4H6.5ZM10 18H14" })],
  tools: () => [s("path", { ...LINE, d: "M4 20 13 11M11.4 5.2A5 5 0 0 1 18.8 12.6L16 9.8 14.2 8Z" })],
  person: () => [s("circle", { ...LINE, cx: 12, cy: 7.6, r: 4.2 }), s("path", { ...LINE, d: "M3.8 21C3.8 12.4 20.2 12.4 20.2 21" })],
  how: () => [
    s("circle", { ...LINE, cx: 12, cy: 12, r: 9.6 }),
    s("path", { ...LINE, d: "M8.8 9.6C8.8 5.4 15.2 5.4 15.2 9.4C15.2 11.8 12 11.8 12 14.4M12 16V18.2" }),
  ],
  laps: () => [s("path", { ...LINE, d: "M9 6H15A6 6 0 0 1 15 18H9A6 6 0 0 1 6 6.8M12.4 2.6 15.8 6 12.4 9.4" })],
  voice: () => [s("path", { ...LINE, d: "M3.4 4.6H20.6V16H11L6 20.6V16H3.4Z" })],
  wheel: () => [s("circle", { ...LINE, cx: 12, cy: 12, r: 8.8 }), s("circle", { ...BODY, cx: 12, cy: 12, r: 2.6 })],
  can: () => [s("path", { ...LINE, d: "M5 9H15V21H5ZM7 9V5.6H13V9M15 13 20.6 8.6V5" })],
  code: () => [s("path", { ...LINE, d: "M4 4H10V10H4ZM14 4H20V10H14ZM4 14H10V20H4ZM14 14H16.5V16.5M20 14V20H14" })],
};

// A wheel on the ground; what holds it says how grave it is.
/** @type {Record<Severity, () => SVGElement[]>} */
const CHOCKED = {
  advisory: () => [s("circle", { ...LINE, cx: 18, cy: 9.4, r: 6.6 })],
  minor: () => [s("circle", { ...LINE, cx: 18, cy: 9.4, r: 6.6 }), s("circle", { ...BODY, cx: 18, cy: 9.4, r: 2.8 })],
  major: () => [
    s("circle", { ...LINE, cx: 18, cy: 9.4, r: 6.6 }),
    s("circle", { ...BODY, cx: 18, cy: 9.4, r: 2.8 }),
    s("path", { ...BODY, d: "M3 16.4 12.4 16.4 12.4 9Z" }),
  ],
  dangerous: () => [
    s("circle", { ...BODY, cx: 18, cy: 9.4, r: 7.8 }),
    s("path", { ...BODY, d: "M1 16.4 9.6 16.4 9.6 8ZM35 16.4 26.4 16.4 26.4 8Z" }),
  ],
};

/**
 * A drawn sign, hidden from screen readers: its word stands beside it.
 * @param {string} name
 */
export function mark(name) {
  return s(
    "svg",
    { class: `mark mark-${name}`, viewBox: "0 0 24 24", "aria-hidden": "true", focusable: "false" },
    (DRAWN[name] ?? (() => []))(),
  );
}

/**
 * The mark of a severity alone.
 * @param {Severity} severity
 */
export function chocks(severity) {
  return s(
    "svg",
    { class: `chocks chocks-${severity}`, viewBox: "0 0 36 20", "aria-hidden": "true", focusable: "false" },
    CHOCKED[severity](),
    s("path", { ...LINE, d: "M1 18.2H35" }),
  );
}

/**
 * A severity as mark and word.
 * @param {Severity} severity
 * @param {string} word
 */
export function graded(severity, word) {
  return h("span", { class: `graded graded-${severity}` }, chocks(severity), h("span", null, word));
}
