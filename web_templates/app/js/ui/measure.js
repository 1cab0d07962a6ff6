// A reading's field: a number as it is typed, judged at once in plain words in the unit in hand.

import { judge, parseValue } from "../judge.js";
import { fresh, h } from "./dom.js";
import { ask } from "./dialog.js";
import { judgedWords, quantity, rangeWords } from "./phrases.js";
import { say } from "../words/index.js";
import { shown, unitsFor } from "../units.js";

/** @import {App} from "./app.js" */
/** @import {Limits, Reading} from "../types.js" */
/** @import {Judgement} from "../judge.js" */

/**
 * The unit of one check's readings, shared by its spots.
 * @typedef {object} Unit
 * @property {() => string} value
 * @property {HTMLElement} node the choice, or the unit alone where there is only one
 * @property {Set<() => void>} followers told when it changes
 */

/**
 * @param {App} app
 * @param {Limits} limits
 * @param {string} [taken] unit of a reading that stands already
 * @returns {Unit}
 */
export function unitChoice(app, limits, taken) {
  const { quantity: what, unit } = limits;
  const units = unitsFor(what, unit, app.edition.units, app.edition.conversions);
  const first = taken ?? app.unitInHand.get(what) ?? units[0] ?? unit;
  /** @type {Set<() => void>} */
  const followers = new Set();
  if (units.length === 1) return { value: () => first, node: h("span", { class: "unit-alone" }, first), followers };
  const select = h(
    "select",
    { "aria-label": say("reading.unit"), value: first },
    units.map((each) => h("option", { value: each }, each)),
  );
  select.addEventListener("change", () => {
    app.unitInHand.set(what, select.value);
    for (const follower of followers) follower();
  });
  return { value: () => select.value, node: select, followers };
}

/**
 * @typedef {object} Ways
 * @property {string} name accessible name of the field
 * @property {(text: string) => void} typed at every change
 * @property {() => void} [entered] at Enter
 * @property {Reading | null} [earlier] where a rise by itself is a fault
 */

export class Measure {
  /** What was asked about and is meant so. @type {string | null} */
  #believed = null;

  /**
   * @param {App} app
   * @param {Limits} limits
   * @param {Unit} unit
   * @param {Ways} ways
   */
  constructor(app, limits, unit, { name, typed, entered, earlier = null }) {
    this.edition = app.edition;
    this.limits = limits;
    this.unit = unit;
    this.earlier = earlier;
    /** What the reading says. */
    this.words = h("p", { class: "verdict", id: fresh("says"), "aria-live": "polite" });
    /** What is fine. */
    this.range = h("span", { class: "hint" });
    this.input = h("input", {
      type: "text",
      inputmode: "decimal",
      autocomplete: "off",
      enterkeyhint: "next",
      "aria-label": name,
      "aria-describedby": this.words.id,
    });
    this.input.addEventListener("input", () => {
      this.#show();
      typed(this.input.value);
    });
    this.input.addEventListener("keydown", (event) => {
      if (event.key !== "Enter" || !entered) return;
      event.preventDefault();
      entered();
    });
    unit.followers.add(() => this.#show());
    this.#show();
  }

  /** @returns {Reading | null} */
  reading() {
    const value = parseValue(this.input.value);
    return value === null ? null : { value, unit: this.unit.value() };
  }

  /** @returns {Judgement | null} */
  judged() {
    const said = this.reading();
    return said && judge(said, this.limits, this.edition, this.earlier);
  }

  /** @param {Reading | null} to */
  set(to) {
    this.type(to ? shown(to.value) : "");
  }

  /** @param {string} text as if it had been typed, and nobody told */
  type(text) {
    this.input.value = text;
    this.#show();
  }

  /** Asks again where the reading can hardly be. @returns {Promise<boolean>} false: it is to be read again */
  async believe() {
    const said = this.reading();
    if (!said || this.judged()?.position !== "implausible" || this.#believed === this.input.value) return true;
    const answer = await ask({
      title: say("reading.really", { value: quantity(said.value, said.unit) }),
      text: say("reading.really-text"),
      answers: [
        { value: "again", word: say("reading.again") },
        { value: "keep", word: say("reading.keep"), plain: true },
      ],
    });
    if (answer === "keep") this.#believed = this.input.value;
    else this.input.select();
    if (answer !== "keep") this.input.focus();
    return answer === "keep";
  }

  #show() {
    const [said, call, typed] = [this.reading(), this.judged(), this.input.value.trim() !== ""];
    this.range.textContent = rangeWords(this.limits, this.unit.value(), this.edition.conversions);
    if (said && call) this.words.textContent = judgedWords(call, said, this.limits, this.edition.conversions);
    else this.words.textContent = typed ? say("reading.no-number") : "";
    this.words.classList.toggle("verdict-out", Boolean(call && call.position !== "within" && call.position !== "no limits"));
    this.input.setAttribute("aria-invalid", String(call?.position === "implausible" || (typed && !said)));
  }
}
