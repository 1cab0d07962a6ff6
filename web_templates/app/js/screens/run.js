// A run: hours, laps, distance, fuel, and who drove.

import { vehicleView } from "../fleet.js";
import { amount, latest, line } from "../ui/amounts.js";
import { fresh, h } from "../ui/dom.js";
import { number, say } from "../words/index.js";
import { unknownVehicle } from "./missing.js";

/** @import {App} from "../ui/app.js" */
/** @import {Amount} from "../ui/amounts.js" */
/** @import {Screen} from "../ui/frame.js" */
/** @import {RunEntry} from "../types.js" */

const MEASURED = /** @type {const} */ (["hours", "laps", "distance", "fuel"]);

/**
 * @param {App} app
 * @param {string} id
 * @returns {Promise<Screen>}
 */
export async function runScreen(app, id) {
  const vehicle = vehicleView(app.edition, id);
  if (!vehicle) return unknownVehicle(app, id);
  const day = h("input", { id: fresh("day"), type: "date", value: app.today() });
  const fields = new Map(MEASURED.map((what) => [what, amount(say(`run.${what}`))]));
  const driver = line(say("run.driver"), app.by);
  const earlier = /** @type {RunEntry[]} */ (await app.log.ofKind("run")).filter((entry) => entry.vehicle === id);

  async function save() {
    const numbers = read(app, fields, day.value);
    if (!numbers) return;
    const said = {
      kind: /** @type {const} */ ("run"),
      vehicle: id,
      day: day.value,
      ...numbers,
      ...(driver.value() && { driver: driver.value() }),
    };
    if (!(await app.attempt(() => app.log.append(said)))) return;
    app.frame.say(say("form.saved"), { onward: true });
    app.go(`#/v/${id}`);
  }

  return {
    title: say("run.title", { name: vehicle.name }),
    back: `#/v/${id}`,
    body: [
      h(
        "section",
        { class: "sheet" },
        h("div", { class: "field" }, h("label", { for: day.id }, say("run.day")), day),
        h(
          "div",
          { class: "pair" },
          [...fields.values()].map((field) => field.node),
        ),
        driver.node,
      ),
      latest(say("run.earlier"), earlier.map(words)),
    ],
    foot: [h("button", { type: "button", class: "act act-wide", on: { click: () => void save() } }, say("form.save"))],
  };
}

/**
 * The numbers given, or null where something is lacking, which is then said.
 * @param {App} app
 * @param {Map<string, Amount>} fields
 * @param {string} day
 */
function read(app, fields, day) {
  const wrong = [...fields.values()].find((field) => field.wrong());
  const given = [...fields].filter(([, field]) => field.value() !== null);
  if (!wrong && given.length > 0 && day) return Object.fromEntries(given.map(([what, field]) => [what, Number(field.value())]));
  app.frame.say(say(wrong ? "reading.no-number" : "run.lacks"));
  (wrong ?? fields.get("hours"))?.input.focus();
  return null;
}

/** @param {RunEntry} entry */
function words(entry) {
  const parts = [
    entry.day,
    entry.hours !== undefined && `${number(entry.hours)} h`,
    entry.laps !== undefined && say("run.n-laps", { n: entry.laps }),
    entry.driver,
  ];
  return parts.filter(Boolean).join(" · ");
}
