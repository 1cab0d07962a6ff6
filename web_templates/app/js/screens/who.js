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
  const known = app.edition.people.map((person) => person.initials);
  const other = h("input", { id: fresh("who"), type: "text", maxlength: 20, autocomplete: "off", autocapitalize: "characters", spellcheck: "false", value: known.includes(owner.by) ? "" : owner.by });
  const phone = h("input", { id: fresh("phone"), type: "text", maxlength: 60, autocomplete: "off", value: owner.name, placeholder: say("who.phone-example") });
  const people = choice({
    name: say("who.name"),
    kind: "chips chips-plates",
    value: known.includes(owner.by) ? owner.by : null,
    options: known.map((initials) => ({ value: initials, word: initials })),
    chosen: () => {
      other.value = "";
    },
  });
  other.addEventListener("input", () => people.set(null));
  const languages = choice({
    name: say("who.language"),
    value: currentLanguage(),
    options: LANGUAGES.map(([code, word]) => ({ value: code, word })),
    chosen: (code) => app.attempt(() => speak(code)),
  });

  /** @param {string} code */
  async function speak(code) {
    await setLanguage(code);
    await app.log.setOwner({ language: code });
    app.go(location.hash);
  }

  async function go() {
    const by = (people.value() ?? other.value.trim()).slice(0, 20);
    if (!by) {
      app.frame.say(say("who.missing"));
      other.focus();
      return;
    }
    const saved = await app.attempt(async () => {
      await app.log.setOwner({ by, name: phone.value.trim() || say("who.phone-of", { by }) });
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
      h(
        "div",
        { class: "sheet" },
        known.length > 0 && people.node,
        h("div", { class: "field" }, h("label", { for: other.id }, say(known.length > 0 ? "who.other" : "who.name")), other),
      ),
      h("div", { class: "sheet" }, languages.node),
      h("div", { class: "sheet" }, h("div", { class: "field" }, h("label", { for: phone.id }, say("who.phone")), phone, h("p", { class: "hint" }, say("who.phone-hint")))),
    ],
    foot: [h("button", { type: "button", class: "act act-wide", on: { click: go } }, say("who.go"))],
  };
}
