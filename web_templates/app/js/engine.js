/** The engine whole: what the screens are handed, each part with its edges. */

import { Carries } from "./carry.js";
import { Drafts } from "./drafts.js";
import { Log } from "./log.js";
import { Door, loadEdition } from "./network.js";
import { Photos } from "./photo.js";
import { Sender } from "./send.js";
import { openStorage } from "./storage.js";
import { Update } from "./update.js";

/** @import {Edition} from "./types.js" */
/** @import {Storage} from "./storage.js" */

/**
 * @typedef {object} Engine
 * @property {Edition} edition
 * @property {Storage} storage only for its events
 * @property {Log} log
 * @property {Drafts} drafts
 * @property {Photos} photos
 * @property {Carries} carries
 * @property {Sender} sender
 * @property {Update} update
 * @property {() => Date} now
 */

/**
 * Throws AppError: "edition-unreadable", or one of storage's.
 * @param {string} [base] address of the app's folder
 * @returns {Promise<Engine>}
 */
export async function startEngine(base = document.baseURI) {
  const loading = loadEdition(base);
  // The page says whose it is, so that the database opens while the edition is on its way.
  const code = document.querySelector('meta[name="fleet"]')?.getAttribute("content");
  const [edition, storage] = await Promise.all([loading, openStorage(code ?? (await loading).code)]);
  const now = () => new Date();
  const log = new Log(storage, edition, { now });
  const drafts = new Drafts(storage, now);
  const photos = new Photos(storage, now);
  const carries = new Carries(storage, edition.code, now);
  const sender = new Sender({ storage, log, photos, carries }, edition, (url, token) => new Door(url, token));
  return { edition, storage, log, drafts, photos, carries, sender, update: new Update(drafts), now };
}
