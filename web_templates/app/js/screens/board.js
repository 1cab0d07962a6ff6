// The board: every vehicle, what is walked today on this phone and what is not, and how it stands.

import { askedOn, standingOn } from "../carry.js";
import { coverage } from "../walks.js";
import { vehicleView } from "../fleet.js";
import { fresh, h } from "../ui/dom.js";
import { mark } from "../ui/marks.js";
import { capital, roundWord } from "../ui/phrases.js";
import { standingLine } from "../ui/standing.js";
import { stencil } from "../ui/stencil.js";
import { tray } from "../ui/tray.js";
import { say, sayIfKnown, shortDay } from "../words/index.js";
import { canScan, openScan } from "./scan.js";

/** @import {App} from "../ui/app.js" */
/** @import {Screen} from "../ui/frame.js" */
/** @import {EditionVehicle, KnownDefect, WalkView} from "../types.js" */
/** @import {Carried} from "../carry.js" */

/**
 * @typedef {object} Line what the board says of one vehicle
 * @property {EditionVehicle} vehicle
 * @property {WalkView | null} open a walk not finished
 * @property {{done: number, of: number} | null} progress of the open walk
 * @property {WalkView[]} today walks of today
 * @property {string} now today, ISO date
 * @property {Carried | null} carried
 */

/** @param {App} app @returns {Promise<Line[]>} */
async function lines(app) {
  const [walks, carried] = await Promise.all([app.log.walks(), app.carries.all()]);
  const today = app.today();
  return Promise.all(
    app.edition.vehicles.map(async (vehicle) => {
      const own = walks.filter((walk) => walk.vehicle === vehicle.id);
      const open = own.find((walk) => !walk.finished) ?? null;
      return {
        vehicle,
        open,
        progress: open && (await progressOf(app, open, carried.get(vehicle.id)?.defects ?? [])),
        today: own.filter((walk) => walk.day === today),
        now: today,
        carried: carried.get(vehicle.id) ?? null,
      };
    }),
  );
}

/**
 * @param {App} app
 * @param {WalkView} walk
 * @param {KnownDefect[]} defects
 */
async function progressOf(app, walk, defects) {
  const [whole, vehicle] = [await app.log.walk(walk.walk), vehicleView(app.edition, walk.vehicle)];
  return whole && vehicle ? coverage(whole, askedOn(vehicle, walk.round, defects)) : null;
}

/** @param {Line} line */
function stateWords({ open, progress, today }) {
  if (open && progress)
    return capital(say("board.walking", { round: roundWord(open.round), by: open.by, done: progress.done, of: progress.of }));
  if (today.length === 0) return "";
  return capital(today.map((walk) => say("board.walked", { round: roundWord(walk.round), by: walk.by })).join("; "));
}

/** @param {Line} line */
function row(line) {
  const { vehicle, open, progress, carried, now } = line;
  const known = carried?.defects.length ?? 0;
  return h(
    "li",
    null,
    h(
      "a",
      { class: "board-row", href: open ? `#/walk/${open.walk}` : `#/v/${vehicle.id}` },
      h("span", { class: "board-name" }, vehicle.name),
      h("span", { class: "soft board-where" }, vehicle.location),
      stateWords(line) &&
        h(
          "span",
          { class: "board-state" },
          open && progress && tray(progress.done, progress.of, "tray-row"),
          h("span", null, stateWords(line)),
        ),
      carried &&
        h(
          "span",
          { class: "board-standing" },
          standingLine(standingOn(carried, now).standing),
          known > 0 && h("span", { class: "soft" }, say("board.known", { n: known })),
        ),
      vehicle.state && vehicle.state !== "runner" && h("span", { class: "board-tag" }, sayIfKnown(`state.${vehicle.state}`, vehicle.state)),
    ),
  );
}

/**
 * @param {string} title
 * @param {Line[]} some
 */
function group(title, some) {
  if (some.length === 0) return null;
  return h(
    "section",
    { class: "board-group" },
    h("h2", { class: "board-heading" }, h("span", null, title), stencil(some.length), h("span", { class: "unseen" }, String(some.length))),
    h("ul", { class: "board" }, some.map(row)),
  );
}

/**
 * @param {Line[]} all
 * @param {string} word
 */
function groups(all, word) {
  const asked = word.trim().toLocaleLowerCase();
  const some = all.filter(({ vehicle }) =>
    `${vehicle.name} ${vehicle.id} ${vehicle.kind} ${vehicle.location}`.toLocaleLowerCase().includes(asked),
  );
  if (some.length === 0) return [h("p", { class: "soft" }, say("board.none", { word }))];
  return [
    group(
      say("board.group-open"),
      some.filter((line) => line.open),
    ),
    group(
      say("board.group-left"),
      some.filter((line) => !line.open && line.today.length === 0),
    ),
    group(
      say("board.group-done"),
      some.filter((line) => !line.open && line.today.length > 0),
    ),
  ];
}

/** @param {App} app @returns {Promise<Screen>} */
export async function boardScreen(app) {
  const [all, head] = await Promise.all([lines(app), app.carries.head()]);
  const word = h("input", { id: fresh("find"), type: "search", autocomplete: "off", enterkeyhint: "search" });
  const list = h("div", { class: "stack-wide" }, groups(all, "").filter(Boolean));
  word.addEventListener("input", () => list.replaceChildren(...groups(all, word.value).filter((node) => node !== null)));
  return {
    title: app.edition.name,
    body: [
      all.length > 6 && h("div", { class: "field" }, h("label", { for: word.id }, say("board.find")), word),
      canScan() &&
        h(
          "button",
          { type: "button", class: "act act-plain act-wide", on: { click: () => void app.attempt(() => openScan(app)) } },
          mark("code"),
          h("span", null, say("scan.open")),
        ),
      head && h("p", { class: "soft" }, say("standing.as-of", { day: shortDay(head.made) })),
      list,
      h("a", { class: "act act-plain act-wide", href: "guide/index.html" }, say("nav.guide")),
    ],
    foot: [navigation(app)],
  };
}

/** @param {App} app */
function navigation(app) {
  return h(
    "nav",
    { class: "tabs", "aria-label": say("nav.name") },
    h("a", { href: "#/hand-in" }, mark("send"), h("span", null, say("nav.hand-in"))),
    h("a", { href: "#/ready" }, mark("phone"), h("span", null, say("nav.ready"))),
    h("a", { href: "#/who" }, mark("person"), h("span", null, h("span", { class: "unseen" }, say("nav.who")), app.by)),
  );
}
