/** "Send to workshop": by set difference every time, so cut anywhere and pressed again it goes on with what is lacking. */

import { AppError } from "./errors.js";
import { sha256, utf8 } from "./bytes.js";
import { stamp } from "./clock.js";
import { handInText } from "./handin.js";
import { sendAlone } from "./locks.js";

/** @import {EntryRecord, Workshop} from "./types.js" */
/** @import {Door, HaveAnswer, Item} from "./network.js" */
/** @import {Storage} from "./storage.js" */
/** @import {Log} from "./log.js" */
/** @import {Photos} from "./photo.js" */
/** @import {Carries} from "./carry.js" */

/**
 * @typedef {object} Progress
 * @property {"asking" | "entries" | "photos" | "known defects" | "checking"} step
 * @property {number} done
 * @property {number} of
 */

/**
 * @typedef {object} Sent
 * @property {number} taken
 * @property {number} already
 * @property {number} photos
 * @property {{id?: string, why: string}[]} set_aside
 * @property {{photo: string, why: string}[]} refused photos that the door does not take
 * @property {boolean} carry whether new known defects came
 * @property {boolean} renamed whether this phone took a new device id
 * @property {{device: string, entries: number} | null} earlier what the workshop holds of this phone from before it was wiped
 * @property {number} offset_s this phone's clock minus the workshop's
 */

/** @typedef {{url: string, token: string}} Pairing */

const AT_ONCE = 50;
/** The door looked at the photo itself and will not have it; the other photos still go. */
const NOT_THIS_PHOTO = [400, 413, 415, 422];

export class Sender {
  /**
   * @param {{storage: Storage, log: Log, photos: Photos, carries: Carries}} parts
   * @param {{code: string, edition: string}} fleet
   * @param {(url: string, token: string) => Door} open
   */
  constructor({ storage, log, photos, carries }, fleet, open) {
    this.storage = storage;
    this.log = log;
    this.photos = photos;
    this.carries = carries;
    this.fleet = fleet;
    this.open = open;
  }

  /** @returns {Promise<Pairing | null>} */
  async pairing() {
    return (await this.storage.read(["state"], (work) => work.get("state", "pairing"))) ?? null;
  }

  /** What the workshop said last. @returns {Promise<Workshop | null>} */
  async workshop() {
    return (await this.storage.read(["state"], (work) => work.get("state", "workshop"))) ?? null;
  }

  /** Photos still whole on this phone that a backup at the workshop holds. @returns {Promise<string[]>} */
  async spare() {
    const safe = new Set((await this.workshop())?.backed_up);
    return safe.size > 0 ? (await this.photos.kept()).filter((sha) => safe.has(sha)) : [];
  }

  /** Makes room: lets those photos go. @returns {Promise<number>} how many */
  async makeRoom() {
    const spare = await this.spare();
    for (const sha of spare) await this.photos.letGo(sha);
    return spare.length;
  }

  /** @param {string} url @param {string} code as shown at the desk */
  async pair(url, code) {
    const address = new URL(url).origin;
    const door = this.open(address, "");
    await this.#hello(door);
    const { name } = await this.log.owner();
    door.token = (await door.pair(code, await this.log.device(), name)).token;
    await this.#keepPairing(door);
  }

  /** @param {Door} door */
  async #keepPairing({ url, token }) {
    await this.storage.write(["state"], (work) => work.put("state", { url, token }, "pairing"));
  }

  /**
   * @param {(progress: Progress) => void} [tell]
   * @returns {Promise<Sent>}
   */
  send(tell = () => {}) {
    return sendAlone(this.fleet.code, () => this.#send(tell));
  }

  /** @param {(progress: Progress) => void} tell @returns {Promise<Sent>} */
  async #send(tell) {
    const pairing = await this.pairing();
    if (!pairing) throw new AppError("door-unpaired", { url: "" });
    const door = this.open(pairing.url, pairing.token);
    /** @type {Sent} */
    const sent = { taken: 0, already: 0, photos: 0, set_aside: [], refused: [], carry: false, renamed: false, earlier: null, offset_s: 0 };
    tell({ step: "asking", done: 0, of: 1 });
    const hello = await this.#hello(door);
    sent.offset_s = this.#offset(hello.server_time);
    const answers = await this.#have(door);
    await this.#rename(door, answers, sent);
    await this.#earlier(door, sent);
    await this.#entries(door, answers, sent, tell);
    await this.#photos(door, answers, sent, tell);
    tell({ step: "known defects", done: 0, of: 1 });
    sent.carry = await this.#carry(door);
    tell({ step: "checking", done: 0, of: 1 });
    await this.#remember(pairing.url, hello, sent, await this.#have(door));
    return sent;
  }

  /** @param {Door} door */
  async #hello(door) {
    const hello = await door.hello();
    if (hello.code !== this.fleet.code) throw new AppError("door-foreign", { found: String(hello.fleet), expected: this.fleet.code });
    return hello;
  }

  /**
   * Shows the door all that is here, device by device. A phone without entries asks too: it may have been wiped.
   * @param {Door} door
   * @returns {Promise<Map<string, HaveAnswer>>}
   */
  async #have(door) {
    const own = await this.log.device();
    const hashes = (await this.storage.read(["photos"], (work) => work.keys("photos"))).map(String);
    /** @type {Map<string, Item[]>} */
    const items = new Map([[own, []]]);
    for (const record of await this.log.records()) {
      const list = items.get(record.device) ?? [];
      list.push([record.seq, record.id, await sha256(utf8(record.line))]);
      items.set(record.device, list);
    }
    const answers = new Map();
    for (const [device, list] of items) answers.set(device, await door.have(device, list, device === own ? hashes : [], stamp(this.log.now())));
    return answers;
  }

  /** @param {Door} door @param {Map<string, HaveAnswer>} answers @param {Sent} sent */
  async #rename(door, answers, sent) {
    const old = await this.log.device();
    if (!answers.get(old)?.clone) return;
    const { device } = await this.log.newDevice();
    const { token } = await door.device(old, device);
    door.token = token;
    await this.#keepPairing(door);
    sent.renamed = true;
  }

  /** A phone that was wiped is told what the workshop has of it. @param {Door} door @param {Sent} sent */
  async #earlier(door, sent) {
    const { state, lost } = await this.log.past();
    if (state !== "wiped" || !lost) return;
    const { held } = await door.have(lost.device, [], [], stamp(this.log.now()));
    sent.earlier = { device: lost.device, entries: held.reduce((sum, [from, to]) => sum + to - from + 1, 0) };
  }

  /** @param {Door} door @param {Map<string, HaveAnswer>} answers @param {Sent} sent @param {(progress: Progress) => void} tell */
  async #entries(door, answers, sent, tell) {
    const want = new Set([...answers.values()].flatMap((answer) => answer.want));
    const records = (await this.log.records()).filter((record) => want.has(record.id));
    const { name } = await this.log.owner();
    let done = 0;
    for (const batch of batches(records)) {
      tell({ step: "entries", done, of: records.length });
      const sender = { fleet: this.fleet.code, device: batch[0]?.device ?? "", device_name: name, edition: this.fleet.edition };
      const answer = await door.entries(await handInText(sender, this.log.now(), batch.map((record) => record.line)));
      sent.taken += answer.taken;
      sent.already += answer.already;
      sent.set_aside.push(...answer.set_aside);
      done += batch.length;
    }
    tell({ step: "entries", done, of: records.length });
  }

  /** @param {Door} door @param {Map<string, HaveAnswer>} answers @param {Sent} sent @param {(progress: Progress) => void} tell */
  async #photos(door, answers, sent, tell) {
    const want = [...new Set([...answers.values()].flatMap((answer) => answer.want_photos))];
    for (const [index, sha] of want.entries()) {
      tell({ step: "photos", done: index, of: want.length });
      const photo = await this.photos.get(sha);
      if (!photo?.bytes) continue;
      await this.#photo(door, sha, photo.bytes, sent);
    }
    tell({ step: "photos", done: want.length, of: want.length });
  }

  /** @param {Door} door @param {string} sha @param {ArrayBuffer} bytes @param {Sent} sent */
  async #photo(door, sha, bytes, sent) {
    try {
      await door.photo(sha, bytes);
      sent.photos += 1;
    } catch (error) {
      if (!(error instanceof AppError) || !NOT_THIS_PHOTO.includes(Number(error.values.status))) throw error;
      sent.refused.push({ photo: sha, why: String(error.values.said) });
    }
  }

  /** @param {Door} door */
  async #carry(door) {
    const fresh = await door.carry((await this.carries.head())?.etag ?? "");
    return fresh ? (await this.carries.take(fresh.text, fresh.etag)).kept : false;
  }

  /**
   * @param {string} url @param {import("./network.js").Hello} hello @param {Sent} sent @param {Map<string, HaveAnswer>} answers
   */
  async #remember(url, hello, sent, answers) {
    const hashes = (await this.storage.read(["photos"], (work) => work.keys("photos"))).map(String);
    const lacking = new Set([...answers.values()].flatMap((answer) => answer.want_photos));
    const wanted = new Set([...answers.values()].flatMap((answer) => answer.want));
    const there = (await this.log.records()).filter((record) => answers.has(record.device) && !wanted.has(record.id));
    /** @type {Workshop} */
    const workshop = {
      seen: stamp(this.log.now()),
      url,
      name: hello.fleet,
      edition: hello.edition,
      offset_s: sent.offset_s,
      entries: rangesOf(there),
      photos: hashes.filter((sha) => !lacking.has(sha)),
      backed_up: [...answers.values()].flatMap((answer) => answer.backed_up ?? []),
    };
    await this.storage.write(["state"], (work) => work.put("state", workshop, "workshop"));
    this.log.dispatchEvent(new CustomEvent("written", { detail: [] }));
  }

  /** @param {string} serverTime */
  #offset(serverTime) {
    return Math.round((this.log.now().getTime() - Date.parse(serverTime)) / 1000);
  }
}

/** Seqs by device as ranges. @param {EntryRecord[]} records by device and seq @returns {Workshop["entries"]} */
function rangesOf(records) {
  /** @type {Workshop["entries"]} */
  const ranges = {};
  for (const { device, seq } of records) {
    const own = ranges[device] ?? [];
    ranges[device] = own;
    const last = own[own.length - 1];
    if (last && last[1] === seq - 1) last[1] = seq;
    else own.push([seq, seq]);
  }
  return ranges;
}

/** Runs of one device's entries, so that each hand-in has one writer. @param {EntryRecord[]} records @returns {EntryRecord[][]} */
function batches(records) {
  /** @type {EntryRecord[][]} */
  const all = [];
  for (const record of records) {
    const last = all[all.length - 1];
    if (last && last.length < AT_ONCE && last[0]?.device === record.device) last.push(record);
    else all.push([record]);
  }
  return all;
}
