// Small buttons that several cards have alike: the word is seen, what it is about is heard too.

import { h } from "./dom.js";

/**
 * @param {string} word
 * @param {string} about
 * @param {() => void} click
 * @param {"quiet" | "plain"} [kind]
 */
export function small(word, about, click, kind = "quiet") {
  return h("button", { type: "button", class: `act act-${kind}`, "aria-label": `${word}: ${about}`, on: { click } }, word);
}
