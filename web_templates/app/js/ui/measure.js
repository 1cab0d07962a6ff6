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
  const select = h("select", { "aria-label": say("reading.unit"), value: first }, units.map((each) => h("option", { value: each }, each)));
  select.addEventListener("change", () => {
    app.unitInHand.set(what, select.value);
    for (const follower of followers) follower();
  });
  return { value: () => select.value, node: select, followers };
}

/**
 * @typedef {object} Measure
 * @property {HTMLInputElement} input
 * @property {HTMLElement} words what the reading says
 * @property {HTMLElement} range what is fine
 * @property {() => Reading | null} reading
 * @property {() => Judgement | null} judged
 * @property {() => Promise<boolean>} believe false: implausible, and to be read again
 * @property {(reading: Reading | null) => void} set
 */

/**
 * @param {App} app
 * @param {Limits} limits
 * @param {Unit} unit
 * @param {object} ways
 * @param {string} ways.name accessible name of the field
 * @param {(text: string) => void} ways.typed at every change
 * @param {() => void} [ways.entered] at Enter
 * @param {Reading | null} [ways.earlier] where a rise by itself is a fault
 * @returns {Measure}
 */
export function measure(app, limits, unit, { name, typed, entered, earlier = null }) {
  const { conversions } = app.edition;
  const words = h("p", { class: "verdict", id: fresh("says"), "aria-live": "polite" });
  const range = h("span", { class: "hint" });
  const input = h("input", { type: "text", inputmode: "decimal", autocomplete: "off", enterkeyhint: "next", "aria-label": name, "aria-describedby": words.id });
  /** Believed once asked. @type {string | null} */
  let believed = null;

  const reading = () => {
    const value = parseValue(input.value);
    return value === null ? null : { value, unit: unit.value() };
  };
  const judged = () => {
    const said = reading();
    return said && judge(said, limits, app.edition, earlier);
  };
  const show = () => {
    const [said, call] = [reading(), judged()];
    range.textContent = rangeWords(limits, unit.value(), conversions);
    words.textContent = said && call ? judgedWords(call, said.value, said.unit) : input.value.trim() ? say("reading.no-number") : "";
    words.classList.toggle("verdict-out", Boolean(call && call.position !== "within" && call.position !== "no limits"));
    input.setAttribute("aria-invalid", String(call?.position === "implausible" || (input.value.trim() !== "" && !said)));
  };
  const believe = async () => {
    const said = reading();
    if (!said || judged()?.position !== "implausible" || believed === input.value) return true;
    const answer = await ask({
      title: say("reading.really", { value: quantity(said.value, said.unit) }),
      text: say("reading.really-text"),
      answers: [{ value: "again", word: say("reading.again") }, { value: "keep", word: say("reading.keep"), plain: true }],
    });
    if (answer !== "keep") {
      input.select();
      input.focus();
      return false;
    }
    believed = input.value;
    return true;
  };
  input.addEventListener("input", () => {
    show();
    typed(input.value);
  });
  input.addEventListener("keydown", (event) => {
    if (event.key !== "Enter" || !entered) return;
    event.preventDefault();
    entered();
  });
  unit.followers.add(show);
  show();
  return {
    input, words, range, reading, judged, believe,
    set: (to) => {
      input.value = to ? shown(to.value) : "";
      show();
    },
  };
}
