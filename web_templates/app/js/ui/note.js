// A field for free words that grows with them.

import { fresh, h } from "./dom.js";

/** The longest note an entry may carry. */
const MOST = 10_000;

/**
 * @param {object} note
 * @param {string} note.label
 * @param {string} [note.hint]
 * @param {string} note.value
 * @param {(value: string) => void} note.typed
 * @returns {{node: HTMLElement, input: HTMLTextAreaElement}}
 */
export function noteField({ label, hint, value, typed }) {
  const [id, told] = [fresh("note"), fresh("hint")];
  const input = h("textarea", { id, maxlength: MOST, rows: 3, value, autocapitalize: "sentences", "aria-describedby": hint ? told : null });
  const grow = () => {
    input.style.height = "auto";
    input.style.height = `${input.scrollHeight + input.offsetHeight - input.clientHeight}px`;
  };
  input.addEventListener("input", () => {
    grow();
    typed(input.value);
  });
  if (value) requestAnimationFrame(grow);
  return {
    input,
    node: h("div", { class: "field" }, h("label", { for: id }, label), hint && h("p", { class: "hint", id: told }, hint), input),
  };
}
