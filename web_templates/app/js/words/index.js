// Every word the app says comes through here, in the language chosen on this phone.

import { en } from "./en.js";

/** @typedef {keyof typeof en} Key */
/** @typedef {string | {one: string, other: string}} Wording `one` and `other` go by the value `n` */
/** @typedef {Record<Key, Wording>} Catalogue */
/** @typedef {Record<string, string | number>} Values */

/** @type {Record<string, Catalogue>} */
const CATALOGUES = { en };
/** Catalogues that are fetched when their language is chosen. @type {Record<string, () => Promise<Catalogue>>} */
const FURTHER = { de: async () => (await import("./de.js")).de };
export const LANGUAGES = /** @type {const} */ ([["en", "English"], ["de", "Deutsch"]]);

let language = "en";

/** As dates and numbers are written: English as in Britain. */
function locale() {
  return language === "en" ? "en-GB" : language;
}

export function currentLanguage() {
  return language;
}

/**
 * @param {string} code a language without a catalogue becomes English
 */
export async function setLanguage(code) {
  const further = FURTHER[code];
  if (further) CATALOGUES[code] ??= await further();
  language = code in CATALOGUES ? code : "en";
  document.documentElement.lang = language;
}

/**
 * The language a phone that has chosen none starts in.
 * @param {string} fleets the fleet's own
 */
export function likelyLanguage(fleets) {
  const asked = navigator.languages.map((tag) => tag.slice(0, 2));
  return asked.find((code) => LANGUAGES.some(([known]) => known === code)) ?? fleets;
}

/**
 * One string, its {places} filled.
 * @param {Key} key
 * @param {Values} [values] `n` chooses between one and other
 * @returns {string}
 */
export function say(key, values = {}) {
  const wording = /** @type {Catalogue} */ (CATALOGUES[language])[key];
  const text = typeof wording === "string" ? wording : wording[new Intl.PluralRules(language).select(Number(values.n)) === "one" ? "one" : "other"];
  return text.replace(/\{(\w+)\}/g, (_, name) => shownValue(values[name]));
}

/**
 * A string whose key comes from data; what the catalogue lacks is said as it stands.
 * @param {string} key
 * @param {string} otherwise
 * @param {Values} [values]
 */
export function sayIfKnown(key, otherwise, values) {
  return key in /** @type {Catalogue} */ (CATALOGUES[language]) ? say(/** @type {Key} */ (key), values) : otherwise;
}

/** @param {string | number | undefined} value */
function shownValue(value) {
  return typeof value === "number" ? number(value) : String(value ?? "");
}

/** Made once: it costs more than a whole screen's words. @type {Record<string, Intl.NumberFormat>} */
const numbers = {};

/** @param {number} value as people of this language write it */
export function number(value) {
  numbers[locale()] ??= new Intl.NumberFormat(locale(), { maximumFractionDigits: 3, useGrouping: false });
  return /** @type {Intl.NumberFormat} */ (numbers[locale()]).format(value);
}

/** @param {string} day ISO date */
export function dayInWords(day) {
  const date = new Date(`${day}T12:00:00`);
  if (Number.isNaN(date.getTime())) return day;
  return new Intl.DateTimeFormat(locale(), { weekday: "long", day: "numeric", month: "long" }).format(date);
}

/** @param {string} day ISO date */
export function shortDay(day) {
  const date = new Date(`${day.slice(0, 10)}T12:00:00`);
  if (Number.isNaN(date.getTime())) return day;
  return new Intl.DateTimeFormat(locale(), { day: "numeric", month: "short", year: "numeric" }).format(date);
}
