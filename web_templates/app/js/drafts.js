/** Forms half filled in, kept at every pause and before the camera opens; gone only when their entry is on the disk. */

import { stamp } from "./clock.js";

/** @import {Draft, Place} from "./types.js" */
/** @import {Storage} from "./storage.js" */

/**
 * @param {string} kind "finding", "report", "run", "fluid"
 * @param {string} about a walk, or a vehicle
 * @param {Partial<Place>} [place]
 */
export function draftKey(kind, about, { station = "", check = "", spot = "" } = {}) {
  return [kind, about, station, check, spot].join("\n");
}

export class Drafts {
  /** @param {Storage} storage @param {() => Date} [now] */
  constructor(storage, now = () => new Date()) {
    this.storage = storage;
    this.now = now;
  }

  /** @param {string} key @param {Record<string, unknown>} data plain values and photo hashes */
  async keep(key, data) {
    const draft = { key, at: stamp(this.now()), data };
    await this.storage.write(["drafts"], (work) => work.put("drafts", draft));
  }

  /** @param {string} key @returns {Promise<Draft | null>} */
  async get(key) {
    return (await this.storage.read(["drafts"], (work) => work.get("drafts", key))) ?? null;
  }

  /** @returns {Promise<Draft[]>} */
  all() {
    return this.storage.read(["drafts"], (work) => work.getAll("drafts"));
  }

  /** @param {string} key */
  async drop(key) {
    await this.storage.write(["drafts"], (work) => work.delete("drafts", key));
  }

  /** Where the walker was on a walk, for the way back. @param {string} walk @param {Place} place */
  async keepPlace(walk, place) {
    await this.storage.write(["places"], (work) => work.put("places", place, walk));
  }

  /** @param {string} walk @returns {Promise<Place | null>} */
  async place(walk) {
    return (await this.storage.read(["places"], (work) => work.get("places", walk))) ?? null;
  }

  /** The screen one was on. @param {string} hash */
  async keepRoute(hash) {
    await this.storage.write(["places"], (work) => work.put("places", hash, "route"));
  }

  /** @returns {Promise<string>} empty where none was kept */
  async route() {
    return (await this.storage.read(["places"], (work) => work.get("places", "route"))) ?? "";
  }
}
