// What a driver felt or a visitor saw: no check, no severity; it asks for a look.

import { draftKey } from "../drafts.js";
import { vehicleView } from "../fleet.js";
import { h } from "../ui/dom.js";
import { noteField } from "../ui/note.js";
import { PhotoStrip } from "../ui/photos.js";
import { say } from "../words/index.js";
import { unknownVehicle } from "./missing.js";

/** @import {App} from "../ui/app.js" */
/** @import {Screen} from "../ui/frame.js" */
/** @typedef {"driver" | "visitor"} Source */
/** @typedef {{symptom: string, conditions: string, photos: string[]}} Held */

const PAUSE = 300;

/**
 * @param {App} app
 * @param {string} id of the vehicle
 * @param {Source} source
 * @returns {Promise<Screen>}
 */
export async function reportScreen(app, id, source) {
  const vehicle = vehicleView(app.edition, id);
  if (!vehicle) return unknownVehicle(app, id);
  const key = draftKey("report", `${id} ${source}`);
  const draft = await app.drafts.get(key);
  return new Report(app, id, source, key, /** @type {Partial<Held>} */ (draft?.data ?? {})).screen(vehicle.name);
}

class Report {
  /**
   * @param {App} app
   * @param {string} vehicle
   * @param {Source} source
   * @param {string} key of its draft
   * @param {Partial<Held>} kept
   */
  constructor(app, vehicle, source, key, kept) {
    this.app = app;
    this.vehicle = vehicle;
    this.source = source;
    this.key = key;
    /** @type {Held} */
    this.held = { symptom: "", conditions: "", photos: [], ...kept };
    this.timer = 0;
    const { symptom, conditions, photos } = this.held;
    this.symptom = noteField({
      label: say(`${source}.symptom`),
      hint: say(`${source}.symptom-hint`),
      value: symptom,
      typed: (value) => this.#change({ symptom: value }),
    });
    this.conditions = noteField({
      label: say("driver.conditions"),
      hint: say("driver.conditions-hint"),
      value: conditions,
      typed: (value) => this.#change({ conditions: value }),
    });
    this.photos = new PhotoStrip(app, photos, { opening: () => this.#keep(), changed: (all) => this.#change({ photos: all }) });
  }

  /** @param {string} name of the vehicle @returns {Screen} */
  screen(name) {
    const driver = this.source === "driver";
    return {
      title: say(`${this.source}.title`, { name }),
      back: `#/v/${this.vehicle}`,
      body: [
        h("section", { class: "sheet" }, driver ? this.symptom.node : [this.photos.node, this.symptom.node]),
        driver && h("section", { class: "sheet" }, this.conditions.node, this.photos.node),
        h("p", { class: "soft" }, say("report.asks")),
      ],
      foot: [h("button", { type: "button", class: "act act-wide", on: { click: () => void this.#save() } }, say("form.save"))],
      leave: () => this.photos.leave(),
    };
  }

  #keep() {
    void this.app.attempt(() => this.app.drafts.keep(this.key, this.held));
  }

  /** @param {Partial<Held>} change */
  #change(change) {
    Object.assign(this.held, change);
    clearTimeout(this.timer);
    this.timer = window.setTimeout(() => this.#keep(), PAUSE);
  }

  async #save() {
    await this.photos.settled();
    clearTimeout(this.timer);
    const { photos } = this.held;
    const [symptom, conditions] = [
      this.held.symptom.trim() || (photos.length > 0 ? say("report.photo-alone") : ""),
      this.held.conditions.trim(),
    ];
    if (!symptom) {
      this.app.frame.say(say("report.lacks"));
      this.symptom.input.focus();
      return;
    }
    const kind = /** @type {const} */ ("report");
    const said = { kind, vehicle: this.vehicle, source: this.source, symptom, ...(conditions && { conditions }), photos };
    const saved = await this.app.attempt(() => this.app.log.appendAll([said], { dropDraft: this.key }));
    if (!saved) return;
    this.app.frame.say(say("form.saved"), { onward: true });
    this.app.go(`#/v/${this.vehicle}`);
  }
}
