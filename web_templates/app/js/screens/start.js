// Before a walk-round: which round, and which day it counts for.

import { askedOn } from "../carry.js";
import { placesOf, secondsOf } from "../fleet.js";
import { fresh, h } from "../ui/dom.js";
import { choice } from "../ui/choice.js";
import { minutesWords } from "../ui/phrases.js";
import { dayInWords, say } from "../words/index.js";

/** @import {App} from "../ui/app.js" */
/** @import {KnownDefect, Round, VehicleView} from "../types.js" */

const ROUNDS = /** @type {const} */ (["before", "hot", "cold", "full"]);

/**
 * @param {VehicleView} vehicle
 * @param {Round} round
 * @param {KnownDefect[]} defects
 */
function option(vehicle, round, defects) {
  const stations = askedOn(vehicle, round, defects);
  const checks = stations.flatMap((station) => station.checks);
  return {
    value: round,
    word: say(`round.${round}`),
    small: say(`round.${round}-when`),
    barred: checks.length === 0,
    end: h("span", { class: "round-size" }, say("start.checks", { n: checks.length }), h("br"), minutesWords(secondsOf(stations))),
  };
}

/**
 * The round most likely meant: after a before-round of today, the hot one.
 * @param {App} app
 * @param {VehicleView} vehicle
 * @param {string} today
 * @param {KnownDefect[]} defects
 * @returns {Promise<Round>}
 */
async function likely(app, vehicle, today, defects) {
  const rounds = (await app.log.walks()).filter((walk) => walk.vehicle === vehicle.id && walk.day === today).map((walk) => walk.round);
  const wanted = rounds.includes("before") && !rounds.includes("hot") ? "hot" : null;
  return wanted ?? ROUNDS.find((round) => !rounds.includes(round) && askedOn(vehicle, round, defects).length > 0) ?? "full";
}

/**
 * @param {App} app
 * @param {VehicleView} vehicle
 * @returns {Promise<{fields: HTMLElement[], button: HTMLButtonElement}>}
 */
export async function startForm(app, vehicle) {
  const today = app.today();
  const { defects } = await app.carries.of(vehicle.id);
  const day = h("input", { id: fresh("day"), type: "date", value: today, required: true });
  const words = h("p", { class: "day-words" }, dayInWords(today));
  day.addEventListener("input", () => {
    words.textContent = day.value ? dayInWords(day.value) : say("start.no-day");
  });
  const rounds = choice({
    name: say("start.round"),
    kind: "rows",
    value: await likely(app, vehicle, today, defects),
    options: ROUNDS.map((round) => option(vehicle, round, defects)),
    chosen: () => {},
  });

  async function start() {
    if (!day.value) {
      app.frame.say(say("start.no-day"));
      day.focus();
      return;
    }
    const round = /** @type {Round} */ (rounds.value());
    const of = askedOn(vehicle, round, defects)
      .flatMap((station) => station.checks)
      .flatMap(placesOf).length;
    const walk = await app.attempt(async () =>
      app.log.startWalk({ vehicle: vehicle.id, round, day: day.value, knows: await app.carries.knows(), of }),
    );
    if (walk) app.go(`#/walk/${walk.walk}`);
  }

  return {
    fields: [
      rounds.node,
      h(
        "div",
        { class: "field day" },
        h("label", { for: day.id }, say("start.day")),
        words,
        day,
        h("p", { class: "hint" }, say("start.day-hint")),
      ),
    ],
    button: h("button", { type: "button", class: "act act-wide", on: { click: start } }, say("start.go")),
  };
}
