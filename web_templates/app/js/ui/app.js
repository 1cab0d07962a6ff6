// What every screen is handed: the engine's parts, the frame, and the way from one screen to the next.

import { dayOf } from "../clock.js";
import { errorWords } from "./errors.js";
import { say } from "../words/index.js";

/** @import {Engine} from "../engine.js" */
/** @import {Frame} from "./frame.js" */

export class App {
  /**
   * @param {Engine} engine
   * @param {Frame} frame
   */
  constructor(engine, frame) {
    this.edition = engine.edition;
    this.storage = engine.storage;
    this.log = engine.log;
    this.drafts = engine.drafts;
    this.photos = engine.photos;
    this.carries = engine.carries;
    this.sender = engine.sender;
    this.update = engine.update;
    this.now = engine.now;
    this.frame = frame;
    /** The unit last used for a quantity: the one in the walker's hand. @type {Map<string, string>} */
    this.unitInHand = new Map();
    /** Held while this tab walks; another tab then waits. @type {{held: boolean, release: () => void} | null} */
    this.lock = null;
    /** Initials of who walks; empty until chosen. */
    this.by = "";
  }

  /** @param {string} hash */
  go(hash) {
    if (location.hash === hash) window.dispatchEvent(new HashChangeEvent("hashchange"));
    else location.hash = hash;
  }

  /** Today where the phone is, ISO date. */
  today() {
    return dayOf(this.now());
  }

  /** Says in the bar how much has not reached the workshop. */
  async tellPending() {
    this.frame.tell(await this.pendingWords());
  }

  /** How much has not reached the workshop. */
  async pendingWords() {
    const { entries } = await this.log.pending();
    if (entries > 0) return say("status.pending", { n: entries });
    return say((await this.log.recorded()) > 0 ? "status.none" : "status.new");
  }

  /**
   * Runs what may fail, and says in words what went wrong.
   * @template T
   * @param {() => Promise<T>} work
   * @returns {Promise<T | null>} null where it failed
   */
  async attempt(work) {
    try {
      return await work();
    } catch (error) {
      console.error(error);
      this.frame.say(errorWords(error));
      return null;
    }
  }
}
