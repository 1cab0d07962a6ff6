// Who is walking, in which language, on which phone.

import { fresh, h } from "../ui/dom.js";
import { choice } from "../ui/choice.js";
import { LANGUAGES, currentLanguage, say, setLanguage } from "../words/index.js";

/** @import {App} from "../ui/app.js" */
/** @import {Screen} from "../ui/frame.js" */

/**
 * @param {App} app
 * @param {string} then hash of the screen that follows
 * @returns {Promise<Screen>}
 */
export async function whoScreen(app, then = "#/") {
  const owner = await app.log.owner();
  const person = initials(app, owner.by);
  const phone = h("input", {
    id: fresh("phone"),
    type: "text",
    maxlength: 60,
    autocomplete: "off",
    value: owner.name,
    placeholder: say("who.phone-example"),
  });
  const hint = h("p", { class: "hint" }, say("who.phone-hint"));

  async function go() {
    const by = person.value();
    if (!by) {
      app.frame.say(say("who.missing"));
      person.other.focus();
      return;
    }
    const name = phone.value.trim() || say("who.phone-of", { by });
    const saved = await app.attempt(async () => {
      await app.log.setOwner({ by, name });
      return true;
    });
    if (!saved) return;
    app.by = by;
    app.go(then);
  }

  return {
    title: say("who.title"),
    back: owner.by ? "#/" : null,
    body: [
      h("p", { class: "soft" }, say("who.lead", { fleet: app.edition.name })),
      person.node,
      h("div", { class: "sheet" }, languages(app)),
      h("div", { class: "sheet" }, h("div", { class: "field" }, h("label", { for: phone.id }, say("who.phone")), phone, hint)),
    ],
    foot: [h("button", { type: "button", class: "act act-wide", on: { click: () => void go() } }, say("who.go"))],
  };
}

/**
 * The collection's initials to tap, or one's own to type.
 * @param {App} app
 * @param {string} by whoever walked last
 */
function initials(app, by) {
  const known = app.edition.people.map((person) => person.initials);
  const other = h("input", {
    id: fresh("who"),
    type: "text",
    maxlength: 20,
    autocomplete: "off",
    autocapitalize: "characters",
    spellcheck: "false",
    value: known.includes(by) ? "" : by,
  });
  const people = choice({
    name: say("who.name"),
    kind: "chips chips-plates",
    value: known.includes(by) ? by : null,
    options: known.map((word) => ({ value: word, word })),
    chosen: () => {
      other.value = "";
    },
  });
  other.addEventListener("input", () => people.set(null));
  const label = h("label", { for: other.id }, say(known.length > 0 ? "who.other" : "who.name"));
  return {
    other,
    node: h("div", { class: "sheet" }, known.length > 0 && people.node, h("div", { class: "field" }, label, other)),
    value: () => people.value() ?? other.value.trim(),
  };
}

/** @param {App} app */
function languages(app) {
  const speak = async (/** @type {string} */ code) => {
    await setLanguage(code);
    await app.log.setOwner({ language: code });
    app.go(location.hash);
  };
  return choice({
    name: say("who.language"),
    value: currentLanguage(),
    options: LANGUAGES.map(([code, word]) => ({ value: code, word })),
    chosen: (code) => void app.attempt(() => speak(code)),
  }).node;
}
