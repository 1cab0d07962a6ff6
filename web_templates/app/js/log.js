/** This phone's log: entries written once, numbered without gaps, never changed; what it says is derived from them. */

import { dayOf, stamp } from "./clock.js";
import { newDeviceId, systemRandom, uuid7 } from "./ids.js";
import { leaveMarker, readMarker } from "./marker.js";
import { viewWalk } from "./walks.js";
import { placeKey } from "./fleet.js";

/** @import {Entry, EntryRecord, Fields, FindingFields, Knows, Pending, Place, Round, WalkView, Workshop, NotLookedAt} from "./types.js" */
/** @import {Storage, Work} from "./storage.js" */
/** @import {Random} from "./ids.js" */
/** @typedef {{device: string, seq: number}} Counter the last number given out */
/** @typedef {{name: string, by: string, language: string}} Owner the phone's name, who walks (initials), the language chosen */
/** @typedef {Fields & {corrects?: string}} Said */

const NOBODY = { name: "", by: "", language: "" };

/**
 * Events: "written" (detail: the entries), from this tab and from others.
 */
export class Log extends EventTarget {
  /** @type {string | null} */
  #device = null;

  /**
   * @param {Storage} storage
   * @param {{code: string, edition: string}} fleet
   * @param {{now?: () => Date, random?: Random}} [edges]
   */
  constructor(storage, fleet, { now = () => new Date(), random = systemRandom } = {}) {
    super();
    this.storage = storage;
    this.fleet = fleet;
    this.now = now;
    this.random = random;
    this.channel = new BroadcastChannel(`driptray-${fleet.code}`);
    this.channel.onmessage = ({ data }) => {
      this.#device = null; // another tab may have taken a new one
      this.dispatchEvent(new CustomEvent("written", { detail: data }));
    };
  }

  /** @returns {Promise<Owner>} empty strings until set */
  async owner() {
    const owner = await this.storage.read(["state"], (work) => work.get("state", "owner"));
    return { ...NOBODY, ...owner };
  }

  /** @param {Partial<Owner>} owner */
  async setOwner(owner) {
    await this.storage.write(["state"], async (work) => {
      const kept = await work.get("state", "owner");
      await work.put("state", { ...NOBODY, ...kept, ...owner }, "owner");
    });
  }

  /** This phone's device id; it stays, unless the door finds a clone of it. @returns {Promise<string>} */
  async device() {
    this.#device ??= (await this.storage.write(["state"], (work) => this.#counter(work))).device;
    return this.#device;
  }

  /**
   * Writes one entry. Resolves when it is on the disk: only then may "saved" be said.
   * @param {Said} said
   * @returns {Promise<Entry>}
   */
  async append(said) {
    const [entry] = await this.appendAll([said]);
    return /** @type {Entry} */ (entry);
  }

  /**
   * Writes several entries in one transaction: all or none.
   * @param {Said[]} all
   * @param {{dropDraft?: string}} [also] a draft that these entries make good
   * @returns {Promise<Entry[]>}
   */
  async appendAll(all, { dropDraft } = {}) {
    if (all.length === 0) return [];
    const stamped = all.map((said) => ({ id: this.#idFor(said), at: stamp(this.now()), said }));
    /** @type {import("./storage.js").StoreName[]} */
    const stores = ["entries", "state", ...(dropDraft === undefined ? [] : /** @type {const} */ (["drafts"]))];
    const entries = await this.storage.write(stores, async (work) => {
      const [counter, owner] = await Promise.all([this.#counter(work), work.get("state", "owner")]);
      const written = work.again && (await this.#writtenBefore(work, counter, stamped.map(({ id }) => id)));
      if (written) return written;
      const made = stamped.map((draft, index) => this.#entry({ ...draft, by: owner?.by ?? "" }, counter, index + 1));
      for (const entry of made) void work.add("entries", recordOf(entry));
      void work.put("state", { ...counter, seq: counter.seq + made.length }, "device");
      if (dropDraft !== undefined) void work.delete("drafts", dropDraft);
      return made;
    });
    this.#tell(entries);
    return entries;
  }

  /**
   * Starts a walk-round; what it knows is fixed here.
   * @param {{vehicle: string, round: Round, day?: string, knows: Knows, of: number}} start
   * @returns {Promise<WalkView>}
   */
  async startWalk({ vehicle, round, day = dayOf(this.now()), knows, of }) {
    const walk = uuid7(this.now().getTime(), this.random);
    const entry = await this.append({ kind: "walk", walk, vehicle, round, day, state: "started", knows, covered: 0, of });
    return /** @type {WalkView} */ (viewWalk([entry]));
  }

  /**
   * @param {WalkView} walk
   * @param {{covered: number, of: number, unchecked: NotLookedAt[]}} coverage
   */
  finishWalk(walk, { covered, of, unchecked }) {
    const { vehicle, round, day, knows } = walk;
    const corrects = walk.finished ? { corrects: walk.finished.id } : {};
    return this.append({ kind: "walk", walk: walk.walk, vehicle, round, day, state: "finished", knows, covered, of, unchecked, ...corrects });
  }

  /**
   * Marks a place: what held there is taken back and replaced, unless `also` (another fault at the same place).
   * A finding that holds already and says the same is not written again.
   * @param {WalkView} walk
   * @param {Place} place
   * @param {Omit<FindingFields, "kind" | "vehicle" | "photos"> & {photos?: string[]}} finding
   * @param {{also?: boolean, corrects?: string, dropDraft?: string}} [how] `corrects`: the one finding to replace
   * @returns {Promise<Entry[]>}
   */
  async mark(walk, place, finding, { also = false, corrects, dropDraft } = {}) {
    const { station, check, spot } = place;
    const where = { ...(check ? { check } : { station }), ...(spot && { spot }) };
    const said = /** @type {FindingFields} */ ({ kind: "finding", walk: walk.walk, vehicle: walk.vehicle, ...where, photos: [], ...finding });
    const device = await this.device();
    const old = corrects ? [corrects] : also || !check ? [] : this.#own(walk, place, device);
    const [first, ...rest] = old;
    const blanks = rest.map((id) => ({ ...blank(walk, where), corrects: id }));
    return this.appendAll([...blanks, { ...said, ...(first && { corrects: first }) }], { ...(dropDraft && { dropDraft }) });
  }

  /**
   * Takes back one finding, or all at a place: nothing was said there after all.
   * @param {WalkView} walk
   * @param {Place} place
   * @param {string} [id] this finding only
   * @returns {Promise<Entry[]>}
   */
  async unmark(walk, place, id) {
    const { station, check, spot } = place;
    const where = { ...(check ? { check } : { station }), ...(spot && { spot }) };
    const device = await this.device();
    const old = id ? [id] : this.#own(walk, place, device);
    return this.appendAll(old.map((corrects) => ({ ...blank(walk, where), corrects })));
  }

  /**
   * @param {string} walk
   * @returns {Promise<WalkView | null>}
   */
  async walk(walk) {
    return viewWalk((await this.#recordsBy("walk", walk)).map(entryOf));
  }

  /** Every walk this phone knows, newest first, without its findings. @returns {Promise<WalkView[]>} */
  async walks() {
    /** @type {Map<string, Entry[]>} */
    const groups = new Map();
    for (const entry of (await this.#recordsBy("kind", "walk")).map(entryOf)) {
      if (entry.kind === "walk") groups.set(entry.walk, [...(groups.get(entry.walk) ?? []), entry]);
    }
    const views = [...groups.values()].map(viewWalk).filter((view) => view !== null);
    return views.sort((a, b) => (a.walk < b.walk ? 1 : -1));
  }

  /** Reports, runs and top-ups, oldest first. @param {"report" | "run" | "fluid"} kind @returns {Promise<Entry[]>} */
  async ofKind(kind) {
    return (await this.#recordsBy("kind", kind)).map(entryOf);
  }

  /** Every entry's record, by device and seq. @returns {Promise<EntryRecord[]>} */
  records() {
    return this.storage.read(["entries"], (work) => work.getAll("entries"));
  }

  /** How much the workshop has not said it holds. @returns {Promise<Pending>} */
  pending() {
    return this.storage.read(["entries", "photos", "state"], async (work) => {
      /** @type {Workshop | undefined} */
      const workshop = await work.get("state", "workshop");
      const ranges = Object.values(workshop?.entries ?? {}).flat();
      const held = ranges.reduce((sum, [from, to]) => sum + to - from + 1, 0);
      const there = new Set(workshop?.photos);
      const photos = (await work.keys("photos")).filter((sha) => !there.has(String(sha)));
      return { entries: (await work.count("entries")) - held, photos: photos.length };
    });
  }

  /** How many entries this phone holds, wherever else they are. */
  recorded() {
    return this.storage.read(["entries"], (work) => work.count("entries"));
  }

  /**
   * "new", "kept", or "wiped": this phone has saved before and its database is gone.
   * @returns {Promise<{state: "new" | "kept" | "wiped", lost: import("./marker.js").Marker | null}>}
   */
  async past() {
    const counter = await this.storage.read(["state"], (work) => work.get("state", "device"));
    const marker = readMarker(this.fleet.code);
    if (!counter) return { state: marker ? "wiped" : "new", lost: marker };
    const behind = marker !== null && marker.device === counter.device && marker.seq > counter.seq;
    const other = marker !== null && marker.device !== counter.device && counter.seq === 0;
    return behind || other ? { state: "wiped", lost: marker } : { state: "kept", lost: null };
  }

  /** A cloned or restored phone goes on under a new id; what was written stays as it is. @returns {Promise<Counter>} */
  async newDevice() {
    const counter = { device: newDeviceId(this.random), seq: 0 };
    await this.storage.write(["state"], (work) => work.put("state", counter, "device"));
    this.#device = counter.device;
    this.channel.postMessage([]);
    return counter;
  }

  /**
   * @param {{id: string, at: string, by: string, said: Said}} draft
   * @param {Counter} counter
   * @param {number} ahead
   * @returns {Entry}
   */
  #entry({ id, at, by, said }, { device, seq }, ahead) {
    return { id, device, seq: seq + ahead, at, by, edition: this.fleet.edition, ...said };
  }

  /** A walk is named by the id of the entry that starts it. @param {Said} said */
  #idFor(said) {
    const starts = said.kind === "walk" && said.state === "started" && !said.corrects;
    return starts ? said.walk : uuid7(this.now().getTime(), this.random);
  }

  /**
   * A second run after a lost connection: what the first one wrote, if it got through after all.
   * @param {Work} work
   * @param {Counter} counter
   * @param {string[]} ids
   * @returns {Promise<Entry[] | null>}
   */
  async #writtenBefore(work, { device, seq }, ids) {
    if (seq < ids.length) return null;
    const range = IDBKeyRange.bound([device, seq - ids.length + 1], [device, seq]);
    /** @type {EntryRecord[]} */
    const last = await work.getAll("entries", range);
    const same = last.length === ids.length && last.every((record, index) => record.id === ids[index]);
    return same ? last.map(entryOf) : null;
  }

  /** @param {Work} work @returns {Promise<Counter>} */
  async #counter(work) {
    const kept = await work.get("state", "device");
    if (kept) return kept;
    const counter = { device: newDeviceId(this.random), seq: 0 };
    await work.put("state", counter, "device");
    return counter;
  }

  /** @param {string} index @param {string} value @returns {Promise<EntryRecord[]>} */
  #recordsBy(index, value) {
    return this.storage.read(["entries"], (work) => work.getAllBy("entries", index, value));
  }

  /** Findings at a place that this device may take back; an answer to a known defect is about that one alone. @param {WalkView} walk @param {Place} place @param {string} device */
  #own(walk, place, device) {
    const marks = walk.marks.get(placeKey(place)) ?? [];
    return marks.filter((mark) => !mark.verdict && mark.device === device).map((mark) => mark.id);
  }

  /** @param {Entry[]} entries */
  #tell(entries) {
    const last = entries[entries.length - 1];
    if (!last) return;
    leaveMarker(this.fleet.code, { device: last.device, seq: last.seq, at: last.at });
    this.channel.postMessage(entries);
    this.dispatchEvent(new CustomEvent("written", { detail: entries }));
  }
}

/** @param {EntryRecord} record @returns {Entry} */
export function entryOf(record) {
  return JSON.parse(record.line);
}

/** @param {Entry} entry @returns {EntryRecord} */
function recordOf(entry) {
  const { device, seq, id, kind } = entry;
  const walk = "walk" in entry && entry.walk ? { walk: entry.walk } : {};
  return { device, seq, id, kind, ...walk, line: JSON.stringify(entry) };
}

/** @param {WalkView} walk @param {object} where @returns {Said} */
function blank(walk, where) {
  return { kind: "finding", walk: walk.walk, vehicle: walk.vehicle, ...where, result: "unchecked", photos: [] };
}
