// One vehicle: how it stands, what is known, and what one can do with it; a label's address opens here.

import { askedOn, standingOn } from "../carry.js";
import { coverage } from "../walks.js";
import { checkOf, vehicleView } from "../fleet.js";
import { graver } from "../leaks.js";
import { h } from "../ui/dom.js";
import { mark } from "../ui/marks.js";
import { ageWords, capital, placeName, roundWord, severityMark } from "../ui/phrases.js";
import { barredWords, standingLine } from "../ui/standing.js";
import { tray } from "../ui/tray.js";
import { say, sayIfKnown, shortDay } from "../words/index.js";
import { unknownVehicle } from "./missing.js";
import { startForm } from "./start.js";

/** @import {App} from "../ui/app.js" */
/** @import {Screen} from "../ui/frame.js" */
/** @import {KnownDefect, VehicleView, WalkView} from "../types.js" */

/**
 * @param {App} app
 * @param {string} id
 * @returns {Promise<Screen>}
 */
export async function vehicleScreen(app, id) {
  const vehicle = vehicleView(app.edition, id);
  if (!vehicle) return unknownVehicle(app, id);
  const [all, carried, head, form] = await Promise.all([
    app.log.walks(),
    app.carries.of(id),
    app.carries.head(),
    startForm(app, vehicle),
  ]);
  const walks = all.filter((walk) => walk.vehicle === id);
  const open = walks.find((walk) => !walk.finished);
  const goOn = open && (await openWalk(app, vehicle, open, carried.defects));
  return {
    title: vehicle.name,
    back: "#/",
    body: [
      about(vehicle, standingOn(carried, app.today()), head?.made ?? ""),
      goOn?.sheet,
      goOn
        ? h(
            "details",
            { class: "sheet" },
            h("summary", null, say("vehicle.another")),
            h("div", { class: "stack" }, form.fields, form.button),
          )
        : h("section", { class: "stack" }, form.fields),
      also(vehicle),
      knownList(app, vehicle, carried.defects),
      earlier(walks),
      h("p", { class: "soft" }, say("caution.first")),
    ],
    foot: [goOn ? goOn.link : form.button],
  };
}

/**
 * @param {VehicleView} vehicle
 * @param {ReturnType<typeof standingOn>} stands
 * @param {string} made when the workshop said so; empty: it has said nothing
 */
function about(vehicle, { standing, lapsed }, made) {
  const barred = barredWords(standing);
  return h(
    "section",
    { class: "sheet about" },
    h("p", null, vehicle.kind),
    h(
      "p",
      { class: "soft" },
      vehicle.state === "runner" ? vehicle.location : `${vehicle.location} · ${sayIfKnown(`state.${vehicle.state}`, vehicle.state)}`,
    ),
    h("p", null, standingLine(standing)),
    lapsed.map((defect) =>
      h("p", null, say("standing.lapsed", { day: shortDay(defect.temporary_until ?? ""), fault: defect.fault_name })),
    ),
    barred && h("p", null, barred),
    made && h("p", { class: "soft" }, say("standing.as-of", { day: shortDay(made) })),
  );
}

/**
 * @param {App} app
 * @param {VehicleView} vehicle
 * @param {WalkView} open
 * @param {KnownDefect[]} defects
 */
async function openWalk(app, vehicle, open, defects) {
  const whole = (await app.log.walk(open.walk)) ?? open;
  const { done, of } = coverage(whole, askedOn(vehicle, open.round, defects));
  const words = capital(say("board.under-way", { round: roundWord(open.round), done, of }));
  return {
    sheet: h(
      "section",
      { class: "sheet" },
      h("h2", null, words),
      tray(done, of, "tray-wide"),
      h("p", { class: "soft" }, say("vehicle.started", { by: open.by, day: shortDay(open.day) })),
    ),
    link: h(
      "a",
      { class: "act act-wide act-forward", href: `#/walk/${open.walk}` },
      h("span", null, say("vehicle.go-on", { round: roundWord(open.round) })),
      mark("next"),
    ),
  };
}

/**
 * @param {App} app
 * @param {VehicleView} vehicle
 * @param {KnownDefect[]} defects
 */
function knownList(app, vehicle, defects) {
  if (defects.length === 0) return null;
  /** @param {KnownDefect} defect */
  const line = (defect) => {
    const check = defect.check ? checkOf(vehicle, defect.check) : null;
    return h(
      "li",
      null,
      severityMark(defect.severity),
      h("p", null, h("strong", null, defect.fault_name), check && ` – ${placeName(check, defect.spot)}`),
      h("p", { class: "soft" }, [ageWords(defect, app.today()), defect.note].filter(Boolean).join(": ")),
    );
  };
  return h(
    "section",
    { class: "sheet" },
    h("h2", null, say("board.known", { n: defects.length })),
    h("ul", { class: "known-list" }, [...defects].sort(gravestFirst).map(line)),
  );
}

/** @param {KnownDefect} one @param {KnownDefect} two */
function gravestFirst(one, two) {
  if (one.severity === two.severity) return 0;
  return graver(one.severity, two.severity) === one.severity ? -1 : 1;
}

/** @param {VehicleView} vehicle */
function also(vehicle) {
  const ways = /** @type {const} */ ([
    ["driver", "wheel"],
    ["run", "laps"],
    ["top-up", "can"],
    ["visitor", "voice"],
  ]);
  return h(
    "section",
    { class: "stack" },
    h("h2", null, say("vehicle.also")),
    h(
      "ul",
      { class: "ways" },
      ways.map(([way, sign]) =>
        h("li", null, h("a", { class: "act act-plain", href: `#/v/${vehicle.id}/${way}` }, mark(sign), h("span", null, say(`${way}.way`)))),
      ),
    ),
  );
}

/** @param {WalkView[]} walks */
function earlier(walks) {
  const finished = walks.filter((walk) => walk.finished).slice(0, 8);
  if (finished.length === 0) return null;
  /** @param {WalkView} walk */
  const line = (walk) =>
    h(
      "li",
      null,
      h(
        "a",
        { href: `#/walk/${walk.walk}/finish` },
        say("vehicle.walk", {
          round: roundWord(walk.round),
          day: shortDay(walk.day),
          by: walk.by,
          done: walk.finished?.covered ?? 0,
          of: walk.finished?.of ?? 0,
        }),
      ),
    );
  return h("section", { class: "stack" }, h("h2", null, say("vehicle.earlier")), h("ul", { class: "links" }, finished.map(line)));
}
