// The defect form: usual faults first, severity proposed, reading judged, note, photos; a draft at every pause.

import { draftKey } from "../drafts.js";
import { callLeak, foundOn, graver, neverRule } from "../leaks.js";
import { fresh, h, refill } from "../ui/dom.js";
import { choice, tick } from "../ui/choice.js";
import { sheet } from "../ui/dialog.js";
import { leakFields } from "../ui/leak.js";
import { mark } from "../ui/marks.js";
import { Measure, unitChoice } from "../ui/measure.js";
import { noteField } from "../ui/note.js";
import { PhotoStrip } from "../ui/photos.js";
import { capital, placeName, severityMark, severityWord } from "../ui/phrases.js";
import { severityChoice } from "../ui/severity.js";
import { say, sayIfKnown } from "../words/index.js";

/** @import {FormWish, WalkEnv} from "../ui/env.js" */
/** @import {CheckView, Fault, FindingEntry, FindingFields, Leak, Severity} from "../types.js" */
/** @typedef {Omit<FindingFields, "kind" | "vehicle" | "photos"> & {photos: string[]}} Said */

const PAUSE = 300;
/** A fault that is none of the usual ones. */
const OTHER = "";

/**
 * What the form holds, as its draft keeps it.
 * @typedef {object} Held
 * @property {boolean} open the form was on the screen when this was kept
 * @property {string | null} fault null: not chosen; "": none of the usual ones
 * @property {Severity | null} severity
 * @property {boolean} touched the severity is the walker's own
 * @property {string} readingText
 * @property {string} unit
 * @property {Partial<Leak>} leak
 * @property {boolean} putRight
 * @property {string} note
 * @property {string[]} photos
 * @property {string} corrects id of the finding that this replaces, or ""
 * @property {boolean} also
 */

/** @type {Held} */
const EMPTY = {
  open: true,
  fault: null,
  severity: null,
  touched: false,
  readingText: "",
  unit: "",
  leak: {},
  putRight: false,
  note: "",
  photos: [],
  corrects: "",
  also: false,
};

export class DefectForm {
  /**
   * @param {WalkEnv} env
   * @param {FormWish} wish
   * @param {Partial<Held>} kept a draft's
   */
  constructor(env, wish, kept) {
    this.env = env;
    this.place = wish.place;
    this.check = wish.check ?? null;
    this.base = wish.corrects ?? null;
    this.key = draftKey("finding", env.walk.walk, wish.place);
    /** @type {Held} */
    this.held = { ...EMPTY, ...(this.base && heldOf(this.base)), also: wish.also ?? false, ...wish.seed, ...kept, open: true };
    this.dirty = false;
    this.saved = false;
    this.timer = 0;
    this.hide = () => document.visibilityState === "hidden" && void this.#keepNow();
    document.addEventListener("visibilitychange", this.hide);
    const title = this.check ? placeName(this.check, this.place.spot) : say("else.title");
    this.sheet = sheet({ title, note: env.vehicle.name, closed: () => void this.#closed() });
    this.#fields();
  }

  #fields() {
    const { check, held, env } = this;
    this.call = h("div", { class: "stack", "aria-live": "polite" });
    this.severity = severityChoice(held.severity, (severity) => this.#change({ severity, touched: true }));
    this.photos = new PhotoStrip(env.app, held.photos, {
      opening: () => void this.#keepNow(),
      changed: (photos) => this.#change({ photos }),
    });
    const note = this.#note();
    const photos = h("section", { class: "field" }, this.photos.node);
    const caution = check?.caution && h("p", { class: "caution" }, mark("caution"), h("span", null, check.caution));
    const put = tick(say("form.put-right"), held.putRight, (putRight) => this.#change({ putRight }));
    const known =
      this.base?.verdict && h("p", { class: "notice" }, say(this.base.verdict === "worse" ? "form.known-worse" : "form.known-same"));
    const middle = check && !known ? [this.#faults(check), check.leak && leakFields(held.leak, (leak) => this.#change({ leak }))] : [];
    const reading = check?.reading ? this.#reading(check) : null;
    refill(
      this.sheet.body,
      caution,
      known,
      check ? null : [h("p", null, say("else.lead")), photos],
      middle,
      this.call,
      this.severity.node,
      reading,
      check ? photos : null,
      note,
      put,
    );
    refill(
      this.sheet.foot,
      h("button", { type: "button", class: "act act-wide", on: { click: () => void this.#save() } }, say("form.save")),
    );
    this.#propose();
  }

  /** @param {CheckView} check */
  #faults(check) {
    const options = check.faults.map((fault) => ({ value: fault.id, word: fault.name, end: severityMark(fault.severity) }));
    const other = { value: OTHER, word: say("form.other-fault"), small: say("form.other-fault-small") };
    const chosen = (/** @type {string} */ fault) => this.#change({ fault });
    return choice({ name: say("form.fault"), kind: "rows", value: this.held.fault, options: [...options, other], chosen }).node;
  }

  /** @param {CheckView} check */
  #reading(check) {
    const limits = check.reading;
    if (!limits) return null;
    const unit = unitChoice(this.env.app, limits, this.held.unit || undefined);
    this.field = new Measure(this.env.app, limits, unit, {
      name: say("reading.name"),
      typed: (readingText) => this.#change({ readingText, unit: unit.value() }),
      earlier: this.env.earlier(check, this.place),
    });
    unit.followers.add(() => this.#change({ unit: unit.value() }));
    this.field.type(this.held.readingText);
    this.field.input.id = fresh("reading");
    return h(
      "div",
      { class: "field" },
      h("label", { for: this.field.input.id }, say("reading.name")),
      h("div", { class: "measure" }, this.field.input, unit.node),
      this.field.range,
      this.field.words,
    );
  }

  #note() {
    return noteField({
      label: say("form.note"),
      hint: say("form.note-hint"),
      value: this.held.note,
      typed: (note) => this.#change({ note }),
    }).node;
  }

  /** @param {Partial<Held>} change */
  #change(change) {
    this.held = { ...this.held, ...change };
    this.dirty = true;
    this.env.app.frame.hush();
    if ("fault" in change || "leak" in change) this.#propose();
    clearTimeout(this.timer);
    this.timer = window.setTimeout(() => void this.#keepNow(), PAUSE);
  }

  /** @returns {Fault | null} */
  #fault() {
    return this.check?.faults.find((fault) => fault.id === this.held.fault) ?? null;
  }

  /** The leak as far as it has been said, or null. @returns {Leak | null} */
  #leak() {
    const { leak } = this.held;
    if (!this.check?.leak || !leak.class) return null;
    return { class: leak.class, stream: leak.class === 3 && leak.stream === true, level_ok: leak.level_ok ?? null };
  }

  /** Severity from the fault, and from the published table where it is a leak. */
  #propose() {
    const [fault, leak, fluid] = [this.#fault(), this.#leak(), this.check?.leak];
    const rules = this.env.app.edition.leak_rules;
    const call = leak && fluid ? callLeak(rules, fluid, leak, foundOn(rules, this.env.walk.round)) : null;
    const never = fluid && (this.held.fault || leak) ? neverRule(rules, fluid) : null;
    const candidates = [fault?.severity, call?.severity, never?.floor].filter((severity) => severity !== undefined);
    const proposed = candidates.length ? candidates.reduce(graver) : null;
    const floor = never?.floor ?? null;
    if (!this.held.touched) this.held.severity = proposed ?? this.held.severity;
    if (floor && this.held.severity) this.held.severity = graver(this.held.severity, floor);
    this.severity?.show(this.held.severity, proposed, floor);
    refill(
      /** @type {HTMLElement} */ (this.call),
      call &&
        h(
          "p",
          { class: "notice" },
          h("strong", null, severityWord(call.severity), ". "),
          sayIfKnown(`leak-rule.${call.rule.id}`, call.rule.instruction),
        ),
      never && !call && h("p", { class: "notice" }, capital(sayIfKnown(`never.${never.id}`, never.words))),
      fault?.bars?.length
        ? h("p", { class: "soft" }, say("form.bars", { barred: fault.bars.map((what) => sayIfKnown(`barred.${what}`, what)).join(", ") }))
        : null,
    );
  }

  async #keepNow() {
    clearTimeout(this.timer);
    if (!this.dirty || this.saved) return;
    await this.env.app.attempt(() => this.env.app.drafts.keep(this.key, { ...this.held, corrects: this.base?.id ?? this.held.corrects }));
  }

  async #save() {
    await this.photos?.settled();
    const lacking = this.#lacking();
    if (lacking) return this.#lead(lacking);
    if (this.field && !(await this.field.believe())) return undefined;
    const corrects = this.base?.id ?? this.held.corrects;
    const how = { dropDraft: this.key, also: this.held.also, ...(corrects && { corrects }) };
    const saved = await this.env.app.attempt(() => this.env.app.log.mark(this.env.walk, this.place, this.#said(), how));
    if (!saved) return undefined;
    this.saved = true;
    this.env.drafts.delete(this.key);
    this.sheet.close();
    return this.env.app.frame.say(say("form.saved"));
  }

  /** What is lacking, in words, and where it is to be said; or null. */
  #lacking() {
    const { held, field } = this;
    const said = held.fault || held.note.trim() || held.photos.length > 0 || this.base?.verdict;
    if (!said) return { words: say(this.check ? "form.lacks-fault" : "form.lacks-words"), at: this.sheet.body.querySelector("fieldset") };
    if (!held.severity) return { words: say("form.lacks-severity"), at: this.severity?.node };
    if (field?.input.value.trim() && !field.reading()) return { words: say("reading.no-number"), at: field.input };
    return null;
  }

  /** To what is lacking, with the focus. @param {{words: string, at: Element | null | undefined}} lacking */
  #lead({ words, at }) {
    const input = /** @type {HTMLElement | null | undefined} */ (at?.matches("input") ? at : at?.querySelector("input"));
    at?.scrollIntoView({ block: "center" });
    input?.focus({ preventScroll: true });
    this.env.app.frame.say(words);
  }

  /** @returns {Said} */
  #said() {
    const { held, base } = this;
    const [reading, leak, note] = [this.field?.reading(), this.#leak(), held.note.trim()];
    return {
      result: "defect",
      ...(held.fault && { fault: held.fault }),
      severity: held.severity ?? "major",
      ...(reading && { reading }),
      ...(leak && { leak }),
      ...(held.putRight && { put_right: true }),
      ...(note && { note }),
      photos: held.photos,
      ...(base?.verdict && { verdict: base.verdict }),
      ...(base?.defect && { defect: base.defect }),
    };
  }

  async #closed() {
    document.removeEventListener("visibilitychange", this.hide);
    this.photos?.leave();
    clearTimeout(this.timer);
    if (!this.saved && this.dirty) {
      this.held.open = false;
      await this.#keepNow();
      this.env.drafts.add(this.key);
    }
    await this.env.changed();
  }
}

/**
 * @param {FindingEntry} entry
 * @returns {Partial<Held>}
 */
function heldOf(entry) {
  return {
    fault: entry.fault ?? OTHER,
    severity: entry.severity ?? null,
    touched: true,
    readingText: entry.reading ? String(entry.reading.value) : "",
    unit: entry.reading?.unit ?? "",
    leak: entry.leak ?? {},
    putRight: entry.put_right ?? false,
    note: entry.note ?? "",
    photos: entry.photos,
  };
}
