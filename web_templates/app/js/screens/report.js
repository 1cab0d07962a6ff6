// What a driver felt or a visitor saw: no check, no severity; it asks for a look.

import { draftKey } from "../drafts.js";
import { vehicleView } from "../fleet.js";
import { fresh, h } from "../ui/dom.js";
import { photoStrip } from "../ui/photos.js";
import { say } from "../words/index.js";
import { unknownVehicle } from "./missing.js";

/** @import {App} from "../ui/app.js" */
/** @import {Screen} from "../ui/frame.js" */

const PAUSE = 300;
const MOST = 10_000;

/** @typedef {{symptom: string, conditions: string, photos: string[]}} Held */

/**
 * @param {App} app
 * @param {string} id of the vehicle
 * @param {"driver" | "visitor"} source
 * @returns {Promise<Screen>}
 */
export async function reportScreen(app, id, source) {
  const vehicle = vehicleView(app.edition, id);
  if (!vehicle) return unknownVehicle(app, id);
  const key = draftKey("report", `${id} ${source}`);
  /** @type {Held} */
  const held = { symptom: "", conditions: "", photos: [], .../** @type {Partial<Held>} */ ((await app.drafts.get(key))?.data) };
  let timer = 0;
  const keep = () => void app.attempt(() => app.drafts.keep(key, held));
  const soon = () => {
    clearTimeout(timer);
    timer = window.setTimeout(keep, PAUSE);
  };
  const symptom = h("textarea", { id: fresh("symptom"), maxlength: MOST, rows: 4, value: held.symptom, on: { input: () => { held.symptom = symptom.value; soon(); } } });
  const conditions = h("textarea", { id: fresh("conditions"), maxlength: MOST, rows: 3, value: held.conditions, on: { input: () => { held.conditions = conditions.value; soon(); } } });
  const photos = photoStrip(app, held.photos, { opening: keep, changed: (all) => { held.photos = all; keep(); } });

  async function save() {
    await photos.settled();
    clearTimeout(timer);
    const words = held.symptom.trim() || (held.photos.length > 0 ? say("report.photo-alone") : "");
    if (!words) {
      app.frame.say(say("report.lacks"));
      symptom.focus();
      return;
    }
    const said = { kind: /** @type {const} */ ("report"), vehicle: id, source, symptom: words, ...(held.conditions.trim() && { conditions: held.conditions.trim() }), photos: held.photos };
    const saved = await app.attempt(() => app.log.appendAll([said], { dropDraft: key }));
    if (!saved) return;
    app.frame.say(say("form.saved"));
    app.go(`#/v/${id}`);
  }

  const driver = source === "driver";
  const told = h("div", { class: "field" }, h("label", { for: symptom.id }, say(`${source}.symptom`)), h("p", { class: "hint" }, say(`${source}.symptom-hint`)), symptom);
  return {
    title: say(`${source}.title`, { name: vehicle.name }),
    back: `#/v/${id}`,
    body: [
      h("section", { class: "sheet" }, driver ? told : [photos.node, told]),
      driver && h("section", { class: "sheet" }, h("div", { class: "field" }, h("label", { for: conditions.id }, say("driver.conditions")), h("p", { class: "hint" }, say("driver.conditions-hint")), conditions), photos.node),
      h("p", { class: "soft" }, say("report.asks")),
    ],
    foot: [h("button", { type: "button", class: "act act-wide", on: { click: () => void save() } }, say("form.save"))],
    leave: () => photos.leave(),
  };
}
