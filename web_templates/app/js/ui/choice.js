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
 * @typedef {object} Wish
 * @property {import("./dom.js").Child} name the group's name
 * @property {boolean} [hideName] for screen readers only
 * @property {string} [kind] class of the list: "targets", "chips", "rows", "column"
 * @property {Option[]} options
 * @property {string | null} [value]
 * @property {import("./dom.js").Child} [lead] between the name and the plates
 * @property {(value: string, again: boolean) => void} chosen `again`: a tap on what was chosen already
 */

/** @param {Wish} wish */
export function choice(wish) {
  return new Choice(wish);
}

export class Choice {
  /** @type {string | null} */
  #current = null;

  /** @param {Wish} wish */
  constructor({ name, hideName = false, kind = "chips", options, value = null, lead, chosen }) {
    this.chosen = chosen;
    const group = fresh("choice");
    this.inputs = options.map((option) => this.#input(group, option));
    const list = h(
      "div",
      { class: kind },
      options.map((option, index) => target(option, /** @type {HTMLInputElement} */ (this.inputs[index]))),
    );
    const on = {
      keydown: (/** @type {KeyboardEvent} */ event) => this.#pressed(event),
      keyup: (/** @type {KeyboardEvent} */ event) => this.#released(event),
    };
    this.node = h("fieldset", { on }, h("legend", { class: hideName ? "unseen" : "named" }, name), lead, list);
    this.set(value);
  }

  value() {
    return this.#current;
  }

  /** @param {string | null} to */
  set(to) {
    this.#current = to;
    for (const radio of this.inputs) radio.checked = radio.value === to;
  }

  /** @param {"" | "saving"} to */
  state(to) {
    for (const radio of this.inputs) {
      const label = /** @type {HTMLElement} */ (radio.parentElement);
      if (to && radio.checked) label.dataset.state = to;
      else delete label.dataset.state;
    }
  }

  /** @param {string} group @param {Option} option */
  #input(group, option) {
    return h("input", {
      type: "radio",
      name: group,
      value: option.value,
      disabled: option.barred,
      on: { click: () => this.#pick(option.value) },
    });
  }

  /** @param {string} picked */
  #pick(picked) {
    const again = this.#current === picked;
    this.set(picked);
    this.chosen(picked, again);
  }

  /**
   * Arrows would choose, and a choice here writes to the log or opens a form; Space would not take a choice back.
   * @param {KeyboardEvent} event
   */
  #pressed(event) {
    const from = this.inputs.indexOf(/** @type {any} */ (event.target));
    const here = this.inputs[from];
    const step = { ArrowRight: 1, ArrowDown: 1, ArrowLeft: -1, ArrowUp: -1 }[event.key];
    if (!here || (!step && event.key !== " ")) return;
    event.preventDefault();
    if (step) this.inputs[(from + step + this.inputs.length) % this.inputs.length]?.focus();
    else if (!event.repeat) this.#pick(here.value);
  }

  /** Firefox would click at the key's release. @param {KeyboardEvent} event */
  #released(event) {
    if (event.key === " " && this.inputs.some((radio) => radio === event.target)) event.preventDefault();
  }
}

/**
 * @param {Option} option
 * @param {HTMLInputElement} input
 */
function target(option, input) {
  const [name, more] = [fresh("word"), fresh("more")];
  const words = h(
    "span",
    null,
    h("span", { id: name }, option.word),
    option.note && h("span", { class: "option-note" }, option.note),
    option.small && h("small", { id: more }, option.small),
  );
  // The word alone is the name; what stands under it is its description.
  input.setAttribute("aria-labelledby", name);
  if (option.small) input.setAttribute("aria-describedby", more);
  return h(
    "label",
    { class: `target ${option.kind ?? ""}` },
    input,
    h("span", { class: "face" }, option.sign && mark(option.sign), words, option.end),
  );
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
  return h(
    "label",
    { class: "target target-tick" },
    box,
    h("span", { class: "face" }, h("span", { class: "tickbox" }, mark("shut")), h("span", null, word)),
  );
}

/** The three results, in the order they are offered. */
export const RESULTS = /** @type {const} */ (["sound", "defect", "unchecked"]);
