// What the parts of a walk share: the walk as it stands now, and what follows when something was said.

/** @import {App} from "./app.js" */
/** @import {CheckView, FindingEntry, KnownDefect, Place, Reading, StationView, VehicleView, WalkView} from "../types.js" */

/**
 * @typedef {object} FormWish
 * @property {Place} place
 * @property {CheckView} [check] none: something else
 * @property {FindingEntry} [corrects] the finding to say anew
 * @property {boolean} [also] beside what holds there
 * @property {Record<string, unknown>} [seed] first values
 */

/**
 * @typedef {object} WalkEnv
 * @property {App} app
 * @property {VehicleView} vehicle
 * @property {WalkView} walk as it stands; replaced at every change
 * @property {StationView[]} stations of this round, in walking order
 * @property {string} station where one stands
 * @property {Map<string, KnownDefect[]>} known by placeKey()
 * @property {Map<string, KnownDefect[]>} knownAtStation tied to no check of today
 * @property {Record<string, string>} pictures of known defects, base64 by SHA-256
 * @property {WalkView | null} before the walk before running, on the same day
 * @property {(check: CheckView, place: Place) => Reading | null} earlier the before-round's reading, where a rise by itself is a fault
 * @property {Set<string>} drafts keys of forms half filled in
 * @property {string} own this phone's device id
 * @property {(place: Place) => void} touched where one is now, for the way back
 * @property {() => Promise<void>} changed reads the walk anew and shows it
 * @property {(wish: FormWish) => void} openForm
 */

export {};
