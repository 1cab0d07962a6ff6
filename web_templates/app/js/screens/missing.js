// What is shown where an address leads nowhere.

import { h } from "../ui/dom.js";
import { say } from "../words/index.js";

/** @import {App} from "../ui/app.js" */
/** @import {Screen} from "../ui/frame.js" */

/**
 * @param {App} app
 * @param {string} id
 * @returns {Screen}
 */
export function unknownVehicle(app, id) {
  return dead(say("missing.vehicle", { id }), say("missing.vehicle-way", { fleet: app.edition.name }));
}

/** @returns {Screen} */
export function unknownWalk() {
  return dead(say("missing.walk"), say("missing.walk-way"));
}

/** @returns {Screen} */
export function unknownPage() {
  return dead(say("missing.page"), say("missing.page-way"));
}

/**
 * @param {string} title
 * @param {string} way
 * @returns {Screen}
 */
function dead(title, way) {
  return { title, back: "#/", body: [h("p", null, way)], foot: [h("a", { class: "act act-wide", href: "#/" }, say("missing.go"))] };
}
