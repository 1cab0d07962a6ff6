// Runs and top-ups: what the vehicle did, and what went into it.

import { parseValue } from "../judge.js";
import { vehicleView } from "../fleet.js";
import { fresh, h, refill } from "../ui/dom.js";
import { choice } from "../ui/choice.js";
import { number, say } from "../words/index.js";
import { unknownVehicle } from "./missing.js";

/** @import {App} from "../ui/app.js" */
/** @import {Screen} from "../ui/frame.js" */
/** @import {FluidEntry, RunEntry} from "../types.js" */

/**
 * A number's field.
 * @param {string} label
 * @param {string} [hint]
 */
function amount(label, hint) {
  const input = h("input", { id: fresh("amount"), type: "text", inputmode: "decimal", autocomplete: "off" });
  return { input, node: h("div", { class: "field" }, h("label", { for: input.id }, label), hint && h("p", { class: "hint" }, hint), input), wrong: () => input.value.trim() !== "" && (parseValue(input.value) ?? -1) < 0, value: () => parseValue(input.value) };
}

/**
 * @param {string} label
 * @param {string} [value]
 */
function line(label, value = "") {
  const input = h("input", { id: fresh("line"), type: "text", autocomplete: "off", maxlength: 200, value });
  return { input, node: h("div", { class: "field" }, h("label", { for: input.id }, label), input), value: () => input.value.trim() };
}

/**
 * @param {App} app
 * @param {string} id
 * @returns {Promise<Screen>}
 */
export async function runScreen(app, id) {
  const vehicle = vehicleView(app.edition, id);
  if (!vehicle) return unknownVehicle(app, id);
  const day = h("input", { id: fresh("day"), type: "date", value: app.today() });
  const [hours, laps, distance, fuel] = [amount(say("run.hours")), amount(say("run.laps")), amount(say("run.distance")), amount(say("run.fuel"))];
  const driver = line(say("run.driver"), app.by);
  const earlier = /** @type {RunEntry[]} */ (await app.log.ofKind("run")).filter((entry) => entry.vehicle === id);

  async function save() {
    const wrong = [hours, laps, distance, fuel].find((field) => field.wrong());
    if (wrong) {
      app.frame.say(say("reading.no-number"));
      wrong.input.focus();
      return;
    }
    const said = { hours: hours.value(), laps: laps.value(), distance: distance.value(), fuel: fuel.value() };
    const numbers = Object.fromEntries(Object.entries(said).filter(([, value]) => value !== null));
    if (Object.keys(numbers).length === 0 || !day.value) {
      app.frame.say(say("run.lacks"));
      hours.input.focus();
      return;
    }
    const saved = await app.attempt(() => app.log.append({ kind: "run", vehicle: id, day: day.value, ...numbers, ...(driver.value() && { driver: driver.value() }) }));
    if (!saved) return;
    app.frame.say(say("form.saved"));
    app.go(`#/v/${id}`);
  }

  return {
    title: say("run.title", { name: vehicle.name }),
    back: `#/v/${id}`,
    body: [
      h("section", { class: "sheet" }, h("div", { class: "field" }, h("label", { for: day.id }, say("run.day")), day), h("div", { class: "pair" }, hours.node, laps.node), h("div", { class: "pair" }, distance.node, fuel.node), driver.node),
      list(say("run.earlier"), earlier.map((entry) => [entry.day, entry.hours !== undefined && `${number(entry.hours)} h`, entry.laps !== undefined && say("run.n-laps", { n: entry.laps }), entry.driver].filter(Boolean).join(" · "))),
    ],
    foot: [h("button", { type: "button", class: "act act-wide", on: { click: () => void save() } }, say("form.save"))],
  };
}

/**
 * @param {App} app
 * @param {string} id
 * @returns {Promise<Screen>}
 */
export async function topUpScreen(app, id) {
  const vehicle = vehicleView(app.edition, id);
  if (!vehicle) return unknownVehicle(app, id);
  const specified = h("p", { class: "verdict" });
  const fluids = choice({
    name: say("top-up.fluid"),
    options: Object.keys(vehicle.fluids).map((fluid) => ({ value: fluid, word: fluid })),
    chosen: (fluid) => refill(specified, say("top-up.specified", { what: vehicle.fluids[fluid] ?? "" })),
  });
  const litres = amount(say("top-up.litres"));
  const [before, after] = [line(say("top-up.before")), line(say("top-up.after"))];
  const earlier = /** @type {FluidEntry[]} */ (await app.log.ofKind("fluid")).filter((entry) => entry.vehicle === id);

  async function save() {
    const [fluid, value] = [fluids.value(), litres.value()];
    if (!fluid || value === null || value <= 0) {
      app.frame.say(say("top-up.lacks"));
      if (fluid) litres.input.focus();
      return;
    }
    const saved = await app.attempt(() => app.log.append({ kind: "fluid", vehicle: id, fluid, litres: value, day: app.today(), ...(before.value() && { level_before: before.value() }), ...(after.value() && { level_after: after.value() }) }));
    if (!saved) return;
    app.frame.say(say("form.saved"));
    app.go(`#/v/${id}`);
  }

  return {
    title: say("top-up.title", { name: vehicle.name }),
    back: `#/v/${id}`,
    body: [
      h("section", { class: "sheet" }, fluids.node, specified, litres.node, h("div", { class: "pair" }, before.node, after.node), h("p", { class: "hint" }, say("top-up.not-sound"))),
      list(say("top-up.earlier"), earlier.map((entry) => `${entry.day ?? entry.at.slice(0, 10)} · ${entry.fluid} · ${number(entry.litres)} L`)),
    ],
    foot: [h("button", { type: "button", class: "act act-wide", on: { click: () => void save() } }, say("form.save"))],
  };
}

/**
 * @param {string} title
 * @param {string[]} lines
 */
function list(title, lines) {
  if (lines.length === 0) return null;
  const node = h("ul", { class: "plain-list" });
  refill(node, lines.slice(-6).reverse().map((words) => h("li", null, words)));
  return h("section", { class: "sheet" }, h("h2", null, title), node);
}
