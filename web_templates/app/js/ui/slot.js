// One place to mark: its three results, its reading, why it was not looked at, and what was found.

import { draftKey } from "../drafts.js";
import { placeKey } from "../fleet.js";
import { h, refill } from "./dom.js";
import { RESULTS, choice } from "./choice.js";
import { draftLine, foundLine, reasons } from "./found.js";
import { answerTo, knownCard, verdictOf } from "./known.js";
import { Measure } from "./measure.js";
import { placeName, whyWord } from "./phrases.js";
import { askKnownGone, askSoundAnyway, askTakeBack } from "./questions.js";
import { marksAt, resultOf } from "./tally.js";
import { say } from "../words/index.js";

/** @import {WalkEnv} from "./env.js" */
/** @import {Unit} from "./measure.js" */
/** @import {CheckView, FindingFields, Place, Result} from "../types.js" */
/** @typedef {Omit<FindingFields, "kind" | "vehicle" | "photos"> & {photos?: string[]}} Said */

const PAUSE = 400;

/**
 * @typedef {object} Looks
 * @property {string} kind class of the plates
 * @property {boolean} hideName
 * @property {Unit | null} unit of the check's readings
 * @property {import("./dom.js").Child} [lead]
 * @property {boolean} [knownApart] the caller finds room for the known defects
 * @property {(from: HTMLInputElement) => void} [onward] after Enter in a reading
 */

export class Slot {
  /**
   * @param {WalkEnv} env
   * @param {CheckView} check
   * @param {Place} place
   * @param {Looks} looks
   */
  constructor(env, check, place, looks) {
    this.env = env;
    this.check = check;
    this.place = place;
    this.unit = looks.unit;
    this.onward = looks.onward;
    this.key = draftKey("finding", env.walk.walk, place);
    this.asking = false;
    this.timer = 0;
    /** @type {Promise<unknown>} */
    this.turn = Promise.resolve();
    this.field = this.#field();
    this.known = (env.known.get(placeKey(place)) ?? []).map((defect) => knownCard(env, defect, place));
    this.plates = choice({
      name: placeName(check, place.spot),
      hideName: looks.hideName,
      kind: looks.kind,
      options: RESULTS.map((result) => ({ value: result, word: say(`result.${result}`), sign: result, kind: `target-${result}` })),
      lead: [looks.lead, looks.knownApart ? null : this.known.map((card) => card.node), this.#readingRow()],
      chosen: (value, again) => this.#inTurn(() => (again ? this.#undo(value) : this.#chosen(/** @type {Result} */ (value)))),
    });
    this.node = this.plates.node;
    this.below = h("div", { class: "slot-below" });
  }

  update() {
    const { env, check, place } = this;
    const marks = marksAt(env.walk, place);
    this.plates.set(this.asking ? "unchecked" : resultOf(marks));
    for (const card of this.known) card.update();
    const kept = marks.findLast((mark) => mark.reading)?.reading;
    if (this.field && kept && document.activeElement !== this.field.input && !env.drafts.has(this.key)) this.field.set(kept);
    const why = marks.find((mark) => mark.why)?.why;
    refill(
      this.below,
      this.asking &&
        reasons(check, place, (said) => void this.#save({ result: "unchecked", why: said, ...this.#reading() })),
      !this.asking && why && h("p", { class: "said" }, place.spot && `${place.spot}: `, say("slot.not-because", { why: whyWord(why) })),
      marks.filter((mark) => mark.result === "defect" && !mark.verdict).map((mark) => foundLine(env, check, place, mark)),
      env.drafts.has(this.key) && !this.asking && draftLine(env, check, place, this.key),
    );
    this.below.hidden = this.below.childElementCount === 0;
  }

  #field() {
    const { check, place, unit, env } = this;
    if (!check.reading || !unit) return null;
    const name = place.spot ? say("reading.of", { name: place.spot }) : say("reading.name");
    return new Measure(env.app, check.reading, unit, {
      name,
      typed: (text) => this.#keepReading(text),
      entered: () => void this.#entered(),
      earlier: env.earlier(check, place),
    });
  }

  #readingRow() {
    const { field, unit, place } = this;
    if (!field || !unit) return null;
    if (place.spot) return h("div", { class: "slot-reading" }, h("div", { class: "measure" }, field.input), field.words);
    return h(
      "div",
      { class: "slot-reading" },
      h("p", { class: "row spread" }, h("span", { class: "named", "aria-hidden": "true" }, say("reading.name")), field.range),
      h("div", { class: "measure" }, field.input, unit.node),
      field.words,
    );
  }

  /** This phone's own findings here, answers to known defects aside. */
  #own() {
    return marksAt(this.env.walk, this.place).filter((mark) => !mark.verdict && mark.device === this.env.own);
  }

  #reading() {
    const reading = this.field?.reading();
    return reading ? { reading } : {};
  }

  #seed() {
    return this.field?.input.value.trim() ? { readingText: this.field.input.value, unit: this.unit?.value() ?? "" } : {};
  }

  /** @param {string} text */
  #keepReading(text) {
    const { app } = this.env;
    clearTimeout(this.timer);
    this.timer = window.setTimeout(
      () => app.attempt(() => app.drafts.keep(this.key, { readingText: text, unit: this.unit?.value() ?? "" })),
      PAUSE,
    );
  }

  /** Enter in the reading's field: fine is sound, outside is a defect. */
  async #entered() {
    const { field } = this;
    if (!field?.reading() || !(await field.believe())) return;
    const call = field.judged()?.position;
    if (call === "within" || call === "no limits") {
      if (resultOf(this.#own()) !== "defect") await this.#save({ result: "sound", ...this.#reading() });
      this.onward?.(field.input);
    } else this.#openForm();
  }

  #openForm() {
    const first = this.#own().find((mark) => mark.result === "defect");
    clearTimeout(this.timer);
    this.env.touched(this.place);
    this.env.openForm({ check: this.check, place: this.place, seed: this.#seed(), ...(first && { corrects: first }) });
  }

  /** @param {Result} result */
  async #chosen(result) {
    if (result === "defect") return this.#openForm();
    const defects = this.#own().filter((mark) => mark.result === "defect");
    if (defects.length > 0 && !(await askTakeBack(defects, this.check, result))) return this.#back();
    if (result === "unchecked") {
      this.asking = true;
      return this.update();
    }
    if (await this.#mayBeSound()) return this.#save({ result: "sound", ...this.#reading() });
    return this.#back();
  }

  /** A tap made while the one before is being saved must find it. @param {() => Promise<unknown>} work */
  #inTurn(work) {
    this.turn = this.turn.then(work, work);
  }

  #back() {
    this.asking = false;
    this.update();
  }

  async #mayBeSound() {
    if (this.field && !(await this.field.believe())) return false;
    const answer = this.field ? await askSoundAnyway(this.field) : "sound";
    if (answer === "defect") this.#openForm();
    return answer === "sound" && this.#mayKnownBeGone();
  }

  /** Sound speaks of every fault here, the known ones too. */
  async #mayKnownBeGone() {
    const { env, place } = this;
    const there = (env.known.get(placeKey(place)) ?? []).filter((defect) => answerTo(env, defect)?.verdict !== "gone");
    if (there.length === 0) return true;
    if (!(await askKnownGone(there))) return false;
    for (const defect of there) {
      const before = answerTo(env, defect);
      const said = await env.app.attempt(() =>
        env.app.log.mark(env.walk, place, verdictOf(defect, "gone"), { also: true, ...(before && { corrects: before.id }) }),
      );
      if (!said) return false;
    }
    return true;
  }

  /** @param {Said} said */
  async #save(said) {
    const { app, walk } = this.env;
    clearTimeout(this.timer);
    this.asking = false;
    this.plates.set(said.result);
    this.plates.state("saving");
    const saved = await app.attempt(async () => {
      const [first, ...rest] = this.#own();
      for (const mark of rest) await app.log.unmark(walk, this.place, mark.id);
      return app.log.mark(walk, this.place, said, { also: !first, ...(first && { corrects: first.id }), dropDraft: this.key });
    });
    this.plates.state("");
    if (saved) this.env.drafts.delete(this.key);
    // After the finding: two writes at once make each other wait for the disk.
    this.env.touched(this.place);
    await this.env.changed();
  }

  /** A tap on what was chosen already. @param {string} result */
  async #undo(result) {
    const { app, walk } = this.env;
    if (this.asking) return this.#back();
    if (result === "defect") return this.#openForm();
    this.plates.state("saving");
    await app.attempt(async () => {
      for (const mark of this.#own()) await app.log.unmark(walk, this.place, mark.id);
    });
    this.plates.state("");
    return this.env.changed();
  }
}
