// Radio buttons worn as plates: native in name, role and state; arrows move the focus, and only Space or a tap chooses.

import { fresh, h } from "./dom.js";
import { mark } from "./marks.js";

/**
 * @typedef {object} Option
 * @property {string} value
 * @property {string} word
 * @property {string} [sign] name of a mark
 * @property {string} [kind] further class
 * @property {string} [note] beside the word
 * @property {string} [small] a line under the word
 * @property {import("./dom.js").Child} [end] at the end of a row
 * @property {boolean} [barred] shown, not to be chosen
 */

/**
 * @typedef {object} Choice
 * @property {HTMLFieldSetElement} node
 * @property {(value: string | null) => void} set
 * @property {(state: "" | "saving") => void} state
 * @property {() => string | null} value
 */

/**
 * @param {object} choice
 * @param {import("./dom.js").Child} choice.name the group's name
 * @param {boolean} [choice.hideName] for screen readers only
 * @param {string} [choice.kind] class of the list: "targets", "chips", "rows"
 * @param {Option[]} choice.options
 * @param {string | null} [choice.value]
 * @param {import("./dom.js").Child} [choice.lead] between the name and the plates
 * @param {(value: string, again: boolean) => void} choice.chosen `again`: a tap on what was chosen already
 * @returns {Choice}
 */
export function choice({ name, hideName = false, kind = "chips", options, value = null, lead, chosen }) {
  const group = fresh("choice");
  /** @type {string | null} */
  let current = value;
  const inputs = options.map((option) => input(option));
  const list = h("div", { class: kind }, options.map((option, index) => target(option, /** @type {HTMLInputElement} */ (inputs[index]))));
  const node = h("fieldset", { on: { keydown: walk, keyup: still } }, h("legend", { class: hideName ? "unseen" : "named" }, name), lead, list);
  set(value);

  /** @param {Option} option */
  function input(option) {
    return h("input", {
      type: "radio", name: group, value: option.value, disabled: option.barred,
      on: {
        click: () => pick(option.value),
      },
    });
  }

  /** @param {string} picked */
  function pick(picked) {
    const again = current === picked;
    set(picked);
    chosen(picked, again);
  }

  /**
   * Arrows would choose, and a choice here writes to the log or opens a form; Space would not take a choice back.
   * @param {KeyboardEvent} event
   */
  function walk(event) {
    const here = inputs.find((radio) => radio === event.target);
    if (event.key === " " && here) {
      event.preventDefault();
      if (!event.repeat) pick(here.value);
      return;
    }
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    const from = inputs.indexOf(/** @type {any} */ (event.target));
    if (!step || from < 0) return;
    event.preventDefault();
    inputs[(from + step + inputs.length) % inputs.length]?.focus();
  }

  /** Firefox would click at the key's release. @param {KeyboardEvent} event */
  function still(event) {
    if (event.key === " " && inputs.some((radio) => radio === event.target)) event.preventDefault();
  }

  /** @param {string | null} to */
  function set(to) {
    current = to;
    for (const radio of inputs) radio.checked = radio.value === to;
  }

  /** @param {string} to */
  function state(to) {
    for (const radio of inputs) {
      const label = /** @type {HTMLElement} */ (radio.parentElement);
      if (to && radio.checked) label.dataset.state = to;
      else delete label.dataset.state;
    }
  }

  return { node, set, state, value: () => current };
}

/**
 * @param {Option} option
 * @param {HTMLInputElement} input
 */
function target(option, input) {
  const [name, more] = [fresh("word"), fresh("more")];
  const words = h("span", null, h("span", { id: name }, option.word), option.note && h("span", { class: "option-note" }, option.note), option.small && h("small", { id: more }, option.small));
  // The word alone is the name; what stands under it is its description.
  input.setAttribute("aria-labelledby", name);
  if (option.small) input.setAttribute("aria-describedby", more);
  return h("label", { class: `target ${option.kind ?? ""}` }, input, h("span", { class: "face" }, option.sign && mark(option.sign), words, option.end));
}

/**
 * One tick box worn as a plate.
 * @param {string} word
 * @param {boolean} on
 * @param {(on: boolean) => void} changed
 */
export function tick(word, on, changed) {
  const box = h("input", { type: "checkbox", on: { change: () => changed(box.checked) } });
  box.checked = on;
  return h("label", { class: "target target-tick" }, box, h("span", { class: "face" }, h("span", { class: "tickbox" }, mark("shut")), h("span", null, word)));
}

/** The three results, in the order they are offered. */
export const RESULTS = /** @type {const} */ (["sound", "defect", "unchecked"]);
