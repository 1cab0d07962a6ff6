// Native dialogs: a short question, or a whole form that slides over the screen.

import { fresh, h } from "./dom.js";
import { mark } from "./marks.js";
import { say } from "../words/index.js";

/**
 * A question with a few answers. Resolves with the answer's value, or null where it was waved away.
 * @param {object} question
 * @param {string} question.title
 * @param {import("./dom.js").Child} [question.text]
 * @param {{value: string, word: string, plain?: boolean}[]} question.answers
 * @returns {Promise<string | null>}
 */
export function ask({ title, text, answers }) {
  return new Promise((resolve) => {
    const id = fresh("ask");
    const buttons = answers.map((answer) =>
      h(
        "button",
        { type: "button", class: `act act-wide ${answer.plain ? "act-plain" : ""}`, on: { click: () => dialog.close(answer.value) } },
        answer.word,
      ),
    );
    const dialog = h(
      "dialog",
      { class: "ask", "aria-labelledby": id },
      h("div", { class: "stack" }, h("h2", { id }, title), typeof text === "string" ? h("p", null, text) : text, buttons),
    );
    dialog.addEventListener("close", () => {
      dialog.remove();
      resolve(dialog.returnValue || null);
    });
    document.body.append(dialog);
    dialog.showModal();
  });
}

/**
 * A form over the whole screen.
 * @typedef {object} Sheet
 * @property {HTMLDialogElement} dialog
 * @property {HTMLElement} body
 * @property {HTMLElement} foot
 * @property {HTMLElement} note under the title
 * @property {() => void} close
 */

/**
 * @param {object} sheet
 * @param {string} sheet.title
 * @param {string} [sheet.note]
 * @param {() => void} sheet.closed whatever closed it: Save, the arrow, or Escape
 * @returns {Sheet}
 */
export function sheet({ title, note = "", closed }) {
  const id = fresh("sheet");
  const body = h("div", { class: "dialog-body" });
  const foot = h("div", { class: "foot" });
  const line = h("p", { class: "bar-status" }, note);
  const back = h(
    "button",
    { type: "button", class: "bar-back", on: { click: () => dialog.close() } },
    mark("back"),
    h("span", { class: "unseen" }, say("form.leave")),
  );
  const bar = h(
    "div",
    { class: "bar" },
    back,
    h("div", { class: "bar-words" }, h("h2", { id, class: "bar-heading", tabindex: "-1", autofocus: true }, title), line),
  );
  const dialog = h("dialog", { "aria-labelledby": id }, h("div", { class: "dialog-frame" }, bar, body, foot));
  dialog.addEventListener("close", () => {
    dialog.remove();
    document.documentElement.classList.remove("under-sheet");
    closed();
  });
  if (document.querySelector("#app.crowded")) dialog.classList.add("crowded");
  document.documentElement.classList.add("under-sheet");
  document.body.append(dialog);
  dialog.showModal();
  return { dialog, body, foot, note: line, close: () => dialog.close() };
}
