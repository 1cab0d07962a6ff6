// The walk: one station at a time, with where one stands, what is left and what is done always in sight.

import { askedOn, placed } from "../carry.js";
import { draftKey } from "../drafts.js";
import { vehicleView } from "../fleet.js";
import { holdWalk, waitForWalk } from "../locks.js";
import { h, refill, unseen } from "../ui/dom.js";
import { anchor, checkCard } from "../ui/check.js";
import { knownCard } from "../ui/known.js";
import { mark } from "../ui/marks.js";
import { plan } from "../ui/plan.js";
import { minutesWords, roundWord } from "../ui/phrases.js";
import { restSound } from "../ui/rest.js";
import { extrasAt } from "../ui/extras.js";
import { stencil } from "../ui/stencil.js";
import { strip } from "../ui/strip.js";
import { marksAt, tallyOf } from "../ui/tally.js";
import { coverage } from "../walks.js";
import { say } from "../words/index.js";
import { DefectForm } from "./defect.js";
import { unknownVehicle, unknownWalk } from "./missing.js";
import { openSearch } from "./search.js";

/** @import {App} from "../ui/app.js" */
/** @import {FormWish, WalkEnv} from "../ui/env.js" */
/** @import {Screen} from "../ui/frame.js" */
/** @import {CheckView, FluidEntry, Place, StationView, VehicleView, WalkView} from "../types.js" */

/**
 * @param {App} app
 * @param {string} id of the walk
 * @param {string} [asked] id of a station; none: where one was
 * @returns {Promise<Screen>}
 */
export async function walkScreen(app, id, asked) {
  const walk = await app.log.walk(id);
  if (!walk) return unknownWalk();
  const vehicle = vehicleView(app.edition, walk.vehicle);
  if (!vehicle) return unknownVehicle(app, walk.vehicle);
  app.lock ??= await lockOf(app);
  if (!app.lock) return elsewhere(app, vehicle);
  const screen = new Walk(app, walk, vehicle, await gathered(app, walk, vehicle));
  return screen.screen(await screen.stationFor(asked));
}

/** @param {App} app */
async function lockOf(app) {
  const lock = await holdWalk(app.edition.code);
  return lock.held ? lock : null;
}

/**
 * Another tab walks: this one waits.
 * @param {App} app
 * @param {VehicleView} vehicle
 * @returns {Screen}
 */
function elsewhere(app, vehicle) {
  const hash = location.hash;
  void waitForWalk(app.edition.code).then((lock) => {
    app.lock = lock;
    if (location.hash === hash) app.go(hash);
  });
  return {
    title: vehicle.name,
    back: "#/",
    body: [h("div", { class: "notice", role: "alert" }, h("h2", null, say("tabs.title")), h("p", null, say("tabs.text")))],
    foot: [],
  };
}

/** @typedef {{known: ReturnType<typeof placed>, stations: StationView[], pictures: Record<string, string>, before: WalkView | null, toppedUp: boolean, drafts: Set<string>, own: string}} Gathered */

/**
 * @param {App} app
 * @param {WalkView} walk
 * @param {VehicleView} vehicle
 * @returns {Promise<Gathered>}
 */
async function gathered(app, walk, vehicle) {
  const [carried, walks, drafts, own, fluids] = await Promise.all([
    app.carries.of(vehicle.id),
    app.log.walks(),
    app.drafts.all(),
    app.log.device(),
    app.log.ofKind("fluid"),
  ]);
  const before = walks.find(
    (other) => other.vehicle === walk.vehicle && other.day === walk.day && other.round === "before" && other.walk !== walk.walk,
  );
  const topUps = /** @type {FluidEntry[]} */ (fluids);
  return {
    known: placed(vehicle, carried.defects),
    stations: askedOn(vehicle, walk.round, carried.defects),
    pictures: carried.pictures,
    before: before ? await app.log.walk(before.walk) : null,
    toppedUp: topUps.some((entry) => entry.vehicle === vehicle.id && before !== undefined && entry.at > before.started.at),
    drafts: new Set(drafts.map((draft) => draft.key)),
    own,
  };
}

/** @implements {WalkEnv} */
class Walk {
  /**
   * @param {App} app
   * @param {WalkView} walk
   * @param {VehicleView} vehicle
   * @param {Gathered} more
   */
  constructor(app, walk, vehicle, { known, stations, pictures, before, toppedUp, drafts, own }) {
    this.app = app;
    this.walk = walk;
    this.vehicle = vehicle;
    this.known = known.at;
    this.knownAtStation = known.stations;
    this.stations = stations;
    this.pictures = pictures;
    this.before = before;
    this.toppedUp = toppedUp;
    this.drafts = drafts;
    this.own = own;
    this.station = "";
    /** @type {(() => void)[]} */
    this.updates = [];
  }

  /** Where one was, or the first station with something left. @param {string | undefined} asked */
  async stationFor(asked) {
    const kept = asked ?? (await this.app.drafts.place(this.walk.walk))?.station;
    const there = this.stations.find((station) => station.id === kept) ?? this.stations.find((station) => this.#left(station) > 0);
    return there ?? this.stations[0];
  }

  /** @param {StationView} station */
  #left(station) {
    const { of, answered } = tallyOf(this.walk, station);
    return of - answered;
  }

  /** @param {StationView | undefined} station @returns {Screen} */
  screen(station) {
    const { app, walk, vehicle } = this;
    const title = say("walk.title", { name: vehicle.name, round: roundWord(walk.round) });
    if (!station) return { title, back: `#/v/${vehicle.id}`, body: [h("p", null, say("walk.nothing"))] };
    this.station = station.id;
    const body = this.#body(station);
    const foot = this.#foot(station);
    window.addEventListener("shown", () => void app.attempt(() => this.#resume(station)), { once: true });
    return { title, back: `#/v/${vehicle.id}`, body, foot };
  }

  /** @param {StationView} station */
  #body(station) {
    const figure = h("div", null);
    const count = h("p", { class: "soft" });
    const cards = station.checks.map((check) => checkCard(this, check));
    const known = (this.knownAtStation.get(station.id) ?? []).map((defect) => knownCard(this, defect, { station: station.id }));
    const number = this.#number(station);
    const rest = restSound(this, station);
    const extras = extrasAt(this, station);
    this.updates = [
      () => refill(figure, plan(this.#spots(), number, this.vehicle)),
      () => (count.textContent = this.#countWords(station)),
      ...[...cards, ...known, rest, extras].map((part) => part.update),
    ];
    for (const update of this.updates) update();
    return [
      figure,
      h(
        "div",
        { class: "station-head" },
        h("span", { class: "plate", "aria-hidden": "true" }, stencil(number)),
        h("div", null, h("h2", { tabindex: "-1", "data-focus": true }, unseen(`${number}. `), station.name), sideWords(station), count),
      ),
      known.length > 0 &&
        h(
          "section",
          { class: "sheet" },
          h("h3", null, say("walk.known-here")),
          known.map((card) => card.node),
        ),
      cards.map((card) => card.node),
      extras.node,
      h(
        "div",
        { class: "station-end" },
        rest.node,
        h(
          "button",
          { type: "button", class: "act act-plain act-wide", on: { click: () => this.openForm({ place: { station: station.id } }) } },
          mark("more"),
          h("span", null, say("else.open")),
        ),
      ),
    ];
  }

  /** @param {StationView} station */
  #foot(station) {
    const names = strip(this);
    const next = h("a", { class: "act act-forward", href: "#/" });
    const find = h(
      "button",
      { type: "button", class: "find-button", on: { click: () => openSearch(this) } },
      mark("find"),
      unseen(say("search.open")),
    );
    this.updates.push(names.update, () => {
      const to = this.#next(station);
      next.href = to ? `#/walk/${this.walk.walk}/${to.id}` : `#/walk/${this.walk.walk}/finish`;
      const left = this.#left(station);
      refill(
        next,
        h(
          "span",
          null,
          to ? say("walk.next", { number: this.#number(to), name: to.name }) : say("walk.to-finish"),
          h("small", null, left > 0 ? say("walk.left-here", { n: left }) : say("walk.all-here")),
        ),
        mark("next"),
      );
    });
    for (const update of this.updates.slice(-2)) update();
    return [names.node, h("div", { class: "foot-row" }, find, next)];
  }

  /** The next station in walking order; past the end, the first one with something left; then the finish. @param {StationView} station */
  #next(station) {
    const place = this.stations.indexOf(station);
    const after = this.stations[place + 1];
    if (after) return after;
    return this.stations.find((other) => other !== station && this.#left(other) > 0) ?? null;
  }

  /** @param {StationView} station */
  #number(station) {
    return this.stations.indexOf(station) + 1;
  }

  #spots() {
    return this.stations.map((station, index) => {
      const { answered, of, defects } = tallyOf(this.walk, station);
      return { number: index + 1, name: station.name, at: station.at, done: answered >= of, defects };
    });
  }

  /** @param {StationView} station */
  #countWords(station) {
    const { answered, of } = tallyOf(this.walk, station);
    const { seconds } = coverage(this.walk, this.stations);
    return [say("walk.count-here", { done: answered, of }), seconds > 0 ? say("walk.time-left", { minutes: minutesWords(seconds) }) : ""]
      .filter(Boolean)
      .join(" · ");
  }

  async changed() {
    const walk = await this.app.attempt(() => this.app.log.walk(this.walk.walk));
    if (walk) this.walk = walk;
    for (const update of this.updates) update();
  }

  /** @param {FormWish} wish */
  openForm(wish) {
    void this.app.attempt(async () => {
      const check = wish.check ?? this.#checkAt(wish.place.check);
      const draft = wish.corrects || wish.also ? null : await this.app.drafts.get(draftKey("finding", this.walk.walk, wish.place));
      return new DefectForm(this, { ...wish, ...(check && { check }) }, draft?.data ?? {});
    });
  }

  /** Oil that rose with nothing poured in is fuel or water coming in. @param {CheckView} check @param {Place} place */
  earlier(check, place) {
    if (check.reckon !== "oil level" || !this.before || this.toppedUp) return null;
    return marksAt(this.before, place).findLast((mark) => mark.reading)?.reading ?? null;
  }

  /** @param {string | undefined} id */
  #checkAt(id) {
    return this.vehicle.stations.flatMap((station) => station.checks).find((check) => check.id === id);
  }

  /** @param {Place} place */
  touched(place) {
    void this.app.attempt(() => this.app.drafts.keepPlace(this.walk.walk, place));
  }

  /** Back to the check one was at, and to the form that was open there. @param {StationView} station */
  async #resume(station) {
    const place = await this.app.drafts.place(this.walk.walk);
    if (place?.station !== station.id) this.touched({ station: station.id });
    else if (place.check) document.getElementById(anchor(place.check))?.scrollIntoView({ block: "center" });
    await this.#reopen();
  }

  /** A form that was open when the app was put away or killed opens again. */
  async #reopen() {
    const drafts = await this.app.drafts.all();
    const open = drafts.find((draft) => draft.data.open === true && draft.key.startsWith(`finding\n${this.walk.walk}\n${this.station}\n`));
    if (!open || document.querySelector("dialog[open]")) return;
    const [, , station = "", check = "", spot = ""] = open.key.split("\n");
    const corrects = [...this.walk.marks.values(), this.walk.extras].flat().find((found) => found.id === open.data.corrects);
    const found = this.#checkAt(check);
    new DefectForm(
      this,
      { place: { station, ...(check && { check }), ...(spot && { spot }) }, ...(found && { check: found }), ...(corrects && { corrects }) },
      open.data,
    );
  }
}

/** Left is as the driver sits: said where there are two sides. @param {StationView} station */
function sideWords(station) {
  if (!station.mirror) return null;
  return h("p", { class: "side" }, say(station.at[1] < 0.5 ? "station.left" : "station.right"));
}
