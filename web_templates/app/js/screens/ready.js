// "Ready for the field": item by item, whether this phone will really work offline and keep its data.

import { readyForTheField } from "../ready.js";
import { h, refill } from "../ui/dom.js";
import { mark } from "../ui/marks.js";
import { say, sayIfKnown, shortDay } from "../words/index.js";

/** @import {App} from "../ui/app.js" */
/** @import {Screen} from "../ui/frame.js" */
/** @import {ReadyItem} from "../types.js" */

/** @param {App} app @returns {Promise<Screen>} */
export async function readyScreen(app) {
  const verdict = h("h2", { "aria-live": "polite" }, say("ready.looking"));
  const list = h("ul", { class: "ready" });
  const look = async () => {
    verdict.textContent = say("ready.looking");
    const items = await readyForTheField({
      storage: app.storage,
      carries: app.carries,
      workshop: () => app.sender.workshop(),
      now: app.now,
    });
    const failed = items.filter((item) => item.ok === false).length;
    verdict.textContent = failed === 0 ? say("ready.yes") : say("ready.no", { n: failed });
    refill(list, items.map(line));
  };
  queueMicrotask(() => void app.attempt(look));
  return {
    title: say("ready.title"),
    back: "#/",
    body: [h("section", { class: "sheet" }, verdict, h("p", { class: "soft" }, say("ready.lead"))), list],
    foot: [
      h("button", { type: "button", class: "act act-wide act-plain", on: { click: () => void app.attempt(look) } }, say("ready.again")),
    ],
  };
}

/** @param {ReadyItem} item */
function line(item) {
  const kind = item.ok === null ? "unknown" : item.ok ? "yes" : "no";
  const values = { ...item.values, ...("made" in item.values && { made: shortDay(String(item.values.made)) }) };
  const state = sayIfKnown(`ready.${item.id}.${item.state}`, item.state, values);
  const how = item.ok === false ? sayIfKnown(`ready.${item.id}.how`, "") : "";
  return h(
    "li",
    { class: `sheet ready-item ready-${kind}` },
    h("span", { class: "ready-sign" }, mark(kind === "yes" ? "sound" : kind === "no" ? "shut" : "unchecked")),
    h(
      "div",
      null,
      h("h3", null, sayIfKnown(`ready.${item.id}`, item.id), h("span", { class: "ready-word" }, sayIfKnown(`ready.${item.id}.${item.state}-word`, say(`ready.${kind}-word`)))),
      h("p", null, state),
      how && h("p", { class: "kept-lines" }, how),
    ),
  );
}
