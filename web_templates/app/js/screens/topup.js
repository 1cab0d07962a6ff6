// A top-up: which fluid, how much, and the levels; it never makes a level sound.

import { vehicleView } from "../fleet.js";
import { amount, latest, line } from "../ui/amounts.js";
import { choice } from "../ui/choice.js";
import { h, refill } from "../ui/dom.js";
import { number, say } from "../words/index.js";
import { unknownVehicle } from "./missing.js";

/** @import {App} from "../ui/app.js" */
/** @import {Screen} from "../ui/frame.js" */
/** @import {FluidEntry, VehicleView} from "../types.js" */

/**
 * @param {App} app
 * @param {string} id
 * @returns {Promise<Screen>}
 */
export async function topUpScreen(app, id) {
  const vehicle = vehicleView(app.edition, id);
  if (!vehicle) return unknownVehicle(app, id);
  const [fluid, litres, before, after] = [
    fluids(vehicle),
    amount(say("top-up.litres")),
    line(say("top-up.before")),
    line(say("top-up.after")),
  ];
  const earlier = /** @type {FluidEntry[]} */ (await app.log.ofKind("fluid")).filter((entry) => entry.vehicle === id);

  async function save() {
    const [name, value] = [fluid.plates.value(), litres.value()];
    if (!name || value === null || value <= 0) {
      app.frame.say(say("top-up.lacks"));
      if (name) litres.input.focus();
      return;
    }
    const levels = { ...(before.value() && { level_before: before.value() }), ...(after.value() && { level_after: after.value() }) };
    const said = { kind: /** @type {const} */ ("fluid"), vehicle: id, fluid: name, litres: value, day: app.today(), ...levels };
    if (!(await app.attempt(() => app.log.append(said)))) return;
    app.frame.say(say("form.saved"), { onward: true });
    app.go(`#/v/${id}`);
  }

  const hint = h("p", { class: "hint" }, say("top-up.not-sound"));
  return {
    title: say("top-up.title", { name: vehicle.name }),
    back: `#/v/${id}`,
    body: [
      h(
        "section",
        { class: "sheet" },
        fluid.plates.node,
        fluid.specified,
        litres.node,
        h("div", { class: "pair" }, before.node, after.node),
        hint,
      ),
      latest(
        say("top-up.earlier"),
        earlier.map((entry) => `${entry.day ?? entry.at.slice(0, 10)} · ${entry.fluid} · ${number(entry.litres)} L`),
      ),
    ],
    foot: [h("button", { type: "button", class: "act act-wide", on: { click: () => void save() } }, say("form.save"))],
  };
}

/** The fluids this vehicle takes, and of what kind. @param {VehicleView} vehicle */
function fluids(vehicle) {
  const specified = h("p", { class: "verdict" });
  const plates = choice({
    name: say("top-up.fluid"),
    options: Object.keys(vehicle.fluids).map((fluid) => ({ value: fluid, word: fluid })),
    chosen: (fluid) => refill(specified, say("top-up.specified", { what: together(vehicle.fluids[fluid] ?? "") })),
  });
  return { plates, specified };
}

/** A figure and its unit stay on one line. @param {string} words */
function together(words) {
  return words.replace(/(\d) (?=\S)/g, "$1\u00a0");
}
