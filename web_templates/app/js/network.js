/** The network, and nothing else may touch it: the edition beside the app, and the workshop's door. */

import { AppError } from "./errors.js";

/** @import {Edition} from "./types.js" */
/** @typedef {(url: string, init: RequestInit) => Promise<Response>} Transport fetch, or a test's stand-in */

/** @typedef {{fleet: string, code: string, edition: string, server_time: string}} Hello */
/** @typedef {[seq: number, id: string, hash: string]} Item */

/**
 * What the door lacks of what it was shown, and what it holds.
 * @typedef {object} HaveAnswer
 * @property {string[]} want entry ids
 * @property {string[]} want_photos
 * @property {[number, number][]} held seqs of this device that the door holds, both ends in
 * @property {string[]} [backed_up] photos that a backup holds
 * @property {boolean} [clone] two phones write under this device id: take a new one
 * @property {string} server_time
 */

/**
 * @typedef {object} EntriesAnswer
 * @property {number} taken
 * @property {number} already
 * @property {{line: number, id?: string, why: string}[]} set_aside
 * @property {[number, number][]} missing_seq
 * @property {string[]} want_photos
 * @property {string} server_time
 */

const PATIENCE = 30_000;
// What is carried on top of that, at the slowest pace that the door puts up with.
const BYTES_A_SECOND = 4_000;

/**
 * The edition that this app was built from. Throws AppError "edition-unreadable".
 * @param {string} base address of the app's folder
 * @param {Transport} [transport]
 * @returns {Promise<Edition>}
 */
export async function loadEdition(base, transport = fetch) {
  try {
    const response = await transport(new URL("edition.json", base).href, {});
    if (!response.ok) throw new Error(`answer ${response.status}`);
    return await response.json();
  } catch (error) {
    throw new AppError("edition-unreadable", {}, error);
  }
}

/** Every method throws AppError "door-unreachable", "door-unpaired", "door-refused" or "door-answer". */
export class Door {
  /**
   * @param {string} url the workshop PC's address, "https://host:port"
   * @param {string} token empty until paired
   * @param {Transport} [transport]
   */
  constructor(url, token, transport = (address, init) => fetch(address, init)) {
    this.url = url;
    this.token = token;
    this.transport = transport;
  }

  /** @returns {Promise<Hello>} */
  hello() {
    return this.#json("GET", "hello");
  }

  /**
   * @param {string} code as shown at the desk
   * @param {string} device
   * @param {string} device_name
   * @returns {Promise<{token: string}>}
   */
  pair(code, device, device_name) {
    return this.#json("POST", "pair", { code, device, device_name });
  }

  /** This phone goes on under a new id, with a token of its own. @param {string} from @param {string} to @returns {Promise<{token: string}>} */
  device(from, to) {
    return this.#json("POST", "device", { old: from, new: to });
  }

  /** @param {string} device @param {Item[]} items @param {string[]} photos @param {string} at this phone's clock @returns {Promise<HaveAnswer>} */
  have(device, items, photos, at) {
    return this.#json("POST", "have", { device, items, photos, at });
  }

  /** @param {string} handIn @returns {Promise<EntriesAnswer>} */
  async entries(handIn) {
    const response = await this.#ask("POST", "entries", handIn, { "Content-Type": "text/plain; charset=utf-8" });
    return parsed(response);
  }

  /** @param {string} sha @param {ArrayBuffer} bytes */
  async photo(sha, bytes) {
    await this.#ask("PUT", `photos/${sha}`, bytes, { "Content-Type": "image/jpeg" });
  }

  /** @param {string} etag of the carry kept here, or "" @returns {Promise<{text: string, etag: string} | null>} null: unchanged */
  async carry(etag) {
    const response = await this.#ask("GET", "carry", undefined, etag ? { "If-None-Match": etag } : {});
    if (response.status === 304) return null;
    return { text: await response.text(), etag: response.headers.get("ETag") ?? "" };
  }

  /** @param {string} method @param {string} path @param {unknown} [body] @returns {Promise<any>} */
  async #json(method, path, body) {
    const text = body === undefined ? undefined : JSON.stringify(body);
    return parsed(await this.#ask(method, path, text, text ? { "Content-Type": "application/json" } : {}));
  }

  /**
   * @param {string} method @param {string} path @param {string | ArrayBuffer | undefined} body @param {Record<string, string>} headers
   * @returns {Promise<Response>}
   */
  async #ask(method, path, body, headers) {
    const size = typeof body === "string" ? body.length : (body?.byteLength ?? 0);
    const signal = AbortSignal.timeout(PATIENCE + (size / BYTES_A_SECOND) * 1000);
    const own = this.token ? { Authorization: `Bearer ${this.token}` } : {};
    /** @type {RequestInit} */
    const init = { method, headers: { ...headers, ...own }, signal, cache: "no-store", credentials: "omit", ...(body !== undefined && { body }) };
    const response = await this.transport(`${this.url}/door/${path}`, init).catch((error) => {
      throw new AppError("door-unreachable", { url: this.url }, error);
    });
    if (response.ok || response.status === 304) return response;
    if (response.status === 401) throw new AppError("door-unpaired", { url: this.url });
    throw new AppError("door-refused", { status: response.status, said: (await said(response)).slice(0, 300) });
  }
}

/** @param {Response} response @returns {Promise<any>} */
async function parsed(response) {
  return response.json().catch((error) => {
    throw new AppError("door-answer", { status: response.status }, error);
  });
}

/** The door's own words for a refusal. @param {Response} response */
async function said(response) {
  const text = await response.text().catch(() => "");
  try {
    return String(JSON.parse(text).error ?? text);
  } catch {
    return text;
  }
}
