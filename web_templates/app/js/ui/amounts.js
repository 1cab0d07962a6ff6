// Plain fields of a short form: numbers and lines, and what was written before.

import { parseValue } from "../judge.js";
import { fresh, h } from "./dom.js";

/**
 * A number's field.
 * @typedef {object} Amount
 * @property {HTMLInputElement} input
 * @property {HTMLElement} node
 * @property {() => boolean} wrong something stands there that is no number, or below nought
 * @property {() => number | null} value
 */

/** @param {string} label @returns {Amount} */
export function amount(label) {
  const input = h("input", { id: fresh("amount"), type: "text", inputmode: "decimal", autocomplete: "off" });
  return {
    input,
    node: h("div", { class: "field" }, h("label", { for: input.id }, label), input),
    wrong: () => input.value.trim() !== "" && (parseValue(input.value) ?? -1) < 0,
    value: () => parseValue(input.value),
  };
}

/**
 * @param {string} label
 * @param {string} [value]
 */
export function line(label, value = "") {
  const input = h("input", { id: fresh("line"), type: "text", autocomplete: "off", maxlength: 200, value });
  return { node: h("div", { class: "field" }, h("label", { for: input.id }, label), input), value: () => input.value.trim() };
}

/**
 * The latest of what was written before, newest first.
 * @param {string} title
 * @param {string[]} lines oldest first
 */
export function latest(title, lines) {
  if (lines.length === 0) return null;
  const items = lines.slice(-6).reverse();
  return h(
    "section",
    { class: "sheet" },
    h("h2", null, title),
    h(
      "ul",
      { class: "plain-list" },
      items.map((words) => h("li", null, words)),
    ),
  );
}
