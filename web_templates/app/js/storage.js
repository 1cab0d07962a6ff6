/** IndexedDB, and nothing else may touch it: a write resolves only when its transaction is complete, strictly durable. */

import { AppError } from "./errors.js";

/** @typedef {"entries" | "photos" | "drafts" | "state" | "places" | "carry"} StoreName */
/** @typedef {IDBValidKey | IDBKeyRange} Key */

/** One step a version; a step is never changed once it has been on a phone. */
/** @type {((db: IDBDatabase) => void)[]} */
const STEPS = [
  (db) => {
    const entries = db.createObjectStore("entries", { keyPath: ["device", "seq"] });
    entries.createIndex("walk", "walk");
    entries.createIndex("kind", "kind");
    db.createObjectStore("photos", { keyPath: "sha256" });
    db.createObjectStore("drafts", { keyPath: "key" });
    db.createObjectStore("state");
    db.createObjectStore("places"); // apart, so that no entry waits for where one stood
    db.createObjectStore("carry", { keyPath: "vehicle" });
  },
];
export const VERSION = STEPS.length;

/** What a transaction's work may ask; every answer is a request's result. Await nothing else inside. */
export class Work {
  /** @param {IDBTransaction} transaction @param {boolean} again a first run was lost on its way */
  constructor(transaction, again) {
    this.transaction = transaction;
    this.again = again;
  }

  /** @param {StoreName} store @param {Key} key @returns {Promise<any>} undefined where there is none */
  get(store, key) {
    return answer(this.transaction.objectStore(store).get(key));
  }

  /** @param {StoreName} store @param {Key} [range] @returns {Promise<any[]>} in order of key */
  getAll(store, range) {
    return answer(this.transaction.objectStore(store).getAll(range));
  }

  /** @param {StoreName} store @param {string} index @param {Key} range @returns {Promise<any[]>} in order of key */
  getAllBy(store, index, range) {
    return answer(this.transaction.objectStore(store).index(index).getAll(range));
  }

  /** @param {StoreName} store @returns {Promise<IDBValidKey[]>} */
  keys(store) {
    return answer(this.transaction.objectStore(store).getAllKeys());
  }

  /** @param {StoreName} store @param {Key} [range] @returns {Promise<number>} */
  count(store, range) {
    return answer(this.transaction.objectStore(store).count(range));
  }

  /** Fails where the key is taken. @param {StoreName} store @param {unknown} value */
  add(store, value) {
    return answer(this.transaction.objectStore(store).add(value));
  }

  /** @param {StoreName} store @param {unknown} value @param {IDBValidKey} [key] for stores without a key path */
  put(store, value, key) {
    return answer(this.transaction.objectStore(store).put(value, key));
  }

  /** @param {StoreName} store @param {Key} key */
  delete(store, key) {
    return answer(this.transaction.objectStore(store).delete(key));
  }

  /** @param {StoreName} store */
  clear(store) {
    return answer(this.transaction.objectStore(store).clear());
  }
}

/**
 * One database. Events: "lost" (the browser closed it; reopened at the next use), "replaced" (a newer version of
 * the app in another tab upgrades it: this page must be loaded again), "blocked" (another tab holds an older one open).
 */
export class Storage extends EventTarget {
  /** @type {IDBDatabase | null} */
  #db = null;
  /** @type {Promise<IDBDatabase> | null} */
  #opening = null;
  #replaced = false;

  /**
   * @param {string} name
   * @param {IDBFactory} factory
   */
  constructor(name, factory) {
    super();
    this.name = name;
    this.factory = factory;
  }

  /**
   * @template T
   * @param {StoreName[]} stores
   * @param {(work: Work) => Promise<T>} work
   * @returns {Promise<T>}
   */
  read(stores, work) {
    return this.#run(stores, "readonly", work);
  }

  /**
   * All of the work or none of it. Resolves when the bytes are on the disk, not before.
   * The work may run a second time, after a lost connection: it must find out by itself what the first run left.
   * Throws AppError "storage-full", "storage-lost", "storage-newer" or "storage-unavailable".
   * @template T
   * @param {StoreName[]} stores
   * @param {(work: Work) => Promise<T>} work
   * @returns {Promise<T>}
   */
  write(stores, work) {
    return this.#run(stores, "readwrite", work);
  }

  /** Opens the database, so that trouble shows at once. */
  async open() {
    await this.#connection().catch((error) => {
      throw told(error);
    });
  }

  close() {
    this.#db?.close();
    this.#db = null;
  }

  /**
   * @template T
   * @param {StoreName[]} stores
   * @param {IDBTransactionMode} mode
   * @param {(work: Work) => Promise<T>} work
   * @returns {Promise<T>}
   */
  async #run(stores, mode, work) {
    /** @type {IDBDatabase | null} */
    let used = null;
    try {
      used = await this.#connection();
      return await this.#once(used, stores, mode, work, false);
    } catch (error) {
      if (!isLost(error)) throw told(error);
    }
    // Whoever was reading at the same time may have opened it again already.
    if (this.#db === used) {
      this.close();
      this.dispatchEvent(new Event("lost"));
    }
    try {
      return await this.#once(await this.#connection(), stores, mode, work, true);
    } catch (error) {
      throw isLost(error) ? new AppError("storage-lost", {}, error) : told(error);
    }
  }

  /**
   * @template T
   * @param {IDBDatabase} db
   * @param {StoreName[]} stores
   * @param {IDBTransactionMode} mode
   * @param {(work: Work) => Promise<T>} work
   * @param {boolean} again
   * @returns {Promise<T>}
   */
  async #once(db, stores, mode, work, again) {
    const transaction = db.transaction(stores, mode, { durability: "strict" });
    const complete = new Promise((resolve, reject) => {
      transaction.oncomplete = () => resolve(undefined);
      transaction.onabort = () => reject(transaction.error ?? new AppError("storage-lost"));
    });
    complete.catch(() => {}); // told below, or the work's own error is
    const result = await work(new Work(transaction, again)).catch((error) => giveUp(transaction, error));
    if (mode === "readonly") return result;
    transaction.commit(); // now, not when the browser has found that nothing more comes
    await complete;
    return result;
  }

  /** @returns {Promise<IDBDatabase>} */
  async #connection() {
    if (this.#replaced) throw new AppError("storage-newer");
    if (this.#db) return this.#db;
    this.#opening ??= this.#opened().finally(() => {
      this.#opening = null;
    });
    this.#db = await this.#opening;
    return this.#db;
  }

  async #opened() {
    const request = this.factory.open(this.name, VERSION);
    request.onupgradeneeded = ({ oldVersion }) => {
      for (const step of STEPS.slice(oldVersion)) step(request.result);
    };
    request.onblocked = () => this.dispatchEvent(new Event("blocked"));
    const db = await answer(request);
    db.onclose = () => this.#forget();
    db.onversionchange = () => {
      db.close();
      this.#replaced = true;
      this.dispatchEvent(new Event("replaced"));
    };
    return db;
  }

  #forget() {
    this.#db = null;
    this.dispatchEvent(new Event("lost"));
  }
}

/**
 * @param {string} code the fleet's code
 * @param {IDBFactory} [factory]
 */
export async function openStorage(code, factory = indexedDB) {
  const storage = new Storage(`driptray-${code}`, factory);
  await storage.open();
  return storage;
}

/**
 * @template T
 * @param {IDBRequest<T>} request
 * @returns {Promise<T>}
 */
function answer(request) {
  const answered = new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
  answered.catch(() => {}); // a write that nobody waits for: its transaction is aborted, and that is told
  return answered;
}

/**
 * @param {IDBTransaction} transaction
 * @param {unknown} error
 * @returns {never}
 */
function giveUp(transaction, error) {
  try {
    transaction.abort();
  } catch {
    // Aborted already, by the request that failed.
  }
  throw transaction.error ?? error;
}

/** WebKit says UnknownError when its database process died, others InvalidStateError or AbortError. @param {unknown} error */
function isLost(error) {
  const lost = ["InvalidStateError", "UnknownError", "AbortError"];
  return error instanceof DOMException && lost.includes(error.name);
}

/** @param {unknown} error */
function told(error) {
  if (!(error instanceof DOMException)) return error;
  if (error.name === "QuotaExceededError") return new AppError("storage-full", {}, error);
  if (error.name === "VersionError") return new AppError("storage-newer", {}, error);
  return new AppError("storage-unavailable", { found: error.name }, error);
}
