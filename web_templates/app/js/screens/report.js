// What a driver felt or a visitor saw: no check, no severity; it asks for a look.

import { draftKey } from "../drafts.js";
import { vehicleView } from "../fleet.js";
import { h } from "../ui/dom.js";
import { noteField } from "../ui/note.js";
import { photoStrip } from "../ui/photos.js";
import { say } from "../words/index.js";
import { unknownVehicle } from "./missing.js";

/** @import {App} from "../ui/app.js" */
/** @import {Screen} from "../ui/frame.js" */

const PAUSE = 300;

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
  /** @param {Partial<Held>} change */
  const soon = (change) => {
    Object.assign(held, change);
    clearTimeout(timer);
    timer = window.setTimeout(keep, PAUSE);
  };
  const symptom = noteField({ label: say(`${source}.symptom`), hint: say(`${source}.symptom-hint`), value: held.symptom, typed: (value) => soon({ symptom: value }) });
  const conditions = noteField({ label: say("driver.conditions"), hint: say("driver.conditions-hint"), value: held.conditions, typed: (value) => soon({ conditions: value }) });
  const photos = photoStrip(app, held.photos, { opening: keep, changed: (all) => soon({ photos: all }) });

  async function save() {
    await photos.settled();
    clearTimeout(timer);
    const words = held.symptom.trim() || (held.photos.length > 0 ? say("report.photo-alone") : "");
    if (!words) {
      app.frame.say(say("report.lacks"));
      symptom.input.focus();
      return;
    }
    const said = { kind: /** @type {const} */ ("report"), vehicle: id, source, symptom: words, ...(held.conditions.trim() && { conditions: held.conditions.trim() }), photos: held.photos };
    const saved = await app.attempt(() => app.log.appendAll([said], { dropDraft: key }));
    if (!saved) return;
    app.frame.say(say("form.saved"));
    app.go(`#/v/${id}`);
  }

  const driver = source === "driver";
  return {
    title: say(`${source}.title`, { name: vehicle.name }),
    back: `#/v/${id}`,
    body: [
      h("section", { class: "sheet" }, driver ? symptom.node : [photos.node, symptom.node]),
      driver && h("section", { class: "sheet" }, conditions.node, photos.node),
      h("p", { class: "soft" }, say("report.asks")),
    ],
    foot: [h("button", { type: "button", class: "act act-wide", on: { click: () => void save() } }, say("form.save"))],
    leave: () => photos.leave(),
  };
}
