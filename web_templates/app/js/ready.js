/** "Ready for the field": each item proven on this phone, here and now; nothing is green on trust. */

import { AppError } from "./errors.js";
import { sha256 } from "./bytes.js";

/** @import {ReadyItem, Workshop} from "./types.js" */
/** @import {Storage} from "./storage.js" */
/** @import {Carries} from "./carry.js" */

/** @typedef {{version: string, cache: string, files: Record<string, string>}} Precache path -> sha256 */

export const CLOCK_MOST_S = 300;
const PHOTO_BYTES = 500_000;
const PHOTOS_WANTED = 50;
/** More than anybody takes: no figure is said. */
const PHOTOS_MANY = 1000;

/**
 * @typedef {object} Parts
 * @property {Storage} storage
 * @property {Carries} carries
 * @property {() => Promise<Workshop | null>} workshop
 * @property {() => Date} now
 */

/**
 * Every item, each as soon as it is known.
 * @param {Parts} parts
 * @param {(item: ReadyItem) => void} [tell]
 * @returns {Promise<ReadyItem[]>}
 */
export async function readyForTheField(parts, tell = () => {}) {
  const proofs = [secure, worker, files, home, saving, persistent, room, privateWindow, clock, camera, workshop, known];
  return Promise.all(
    proofs.map(async (proof) => {
      const item = await proof(parts).catch((error) => broken(proof, error));
      tell(item);
      return item;
    }),
  );
}

/** @returns {Promise<ReadyItem>} */
async function secure() {
  return item("secure", window.isSecureContext, window.isSecureContext ? "yes" : "plain-http");
}

/** @returns {Promise<ReadyItem>} */
async function worker() {
  if (!("serviceWorker" in navigator)) return item("worker", false, "none");
  const active = Boolean(navigator.serviceWorker.controller);
  return item("worker", active, active ? "active" : "not-yet");
}

/** Every file of the worker's list is in its cache, with the bytes it was built with. @returns {Promise<ReadyItem>} */
async function files() {
  const list = await askWorker();
  if (!list) return item("files", false, "no-worker");
  const cache = await caches.open(list.cache);
  const wrong = [];
  for (const [path, hash] of Object.entries(list.files)) {
    const kept = await cache.match(new URL(path, document.baseURI).href);
    if (!kept || (await sha256(await kept.arrayBuffer())) !== hash) wrong.push(path);
  }
  const values = { files: Object.keys(list.files).length, missing: wrong.length, first: wrong[0] ?? "", version: list.version };
  return item("files", wrong.length === 0, wrong.length ? "missing-files" : "all-here", values);
}

/** On an iPhone a page in a tab loses its data after a week unused; the home screen keeps it. @returns {Promise<ReadyItem>} */
async function home() {
  const opened = window.matchMedia("(display-mode: standalone), (display-mode: fullscreen)").matches;
  const matters = /iPhone|iPad/.test(navigator.userAgent) || (navigator.maxTouchPoints > 1 && /Macintosh/.test(navigator.userAgent));
  if (opened) return item("home", true, "yes");
  return matters ? item("home", false, "needed") : item("home", null, "not-needed");
}

/** Writes and reads back under strict durability. @param {Parts} parts @returns {Promise<ReadyItem>} */
async function saving({ storage, now }) {
  const mark = now().getTime();
  await storage.write(["state"], (work) => work.put("state", mark, "proof"));
  const back = await storage.read(["state"], (work) => work.get("state", "proof"));
  return item("saving", back === mark, back === mark ? "yes" : "no");
}

/** @returns {Promise<ReadyItem>} */
async function persistent() {
  if (!navigator.storage?.persisted) return item("persistent", null, "unknown");
  const kept = (await navigator.storage.persisted()) || (await navigator.storage.persist());
  return item("persistent", kept, kept ? "yes" : "no");
}

/** @returns {Promise<ReadyItem>} */
async function room() {
  if (!navigator.storage?.estimate) return item("room", null, "unknown");
  const { quota = 0, usage = 0 } = await navigator.storage.estimate();
  const photos = Math.floor(Math.max(0, quota - usage) / PHOTO_BYTES);
  const state = photos < PHOTOS_WANTED ? "short" : photos < PHOTOS_MANY ? "enough" : "plenty";
  return item("room", photos >= PHOTOS_WANTED, state, { photos: Math.min(photos, PHOTOS_MANY), wanted: PHOTOS_WANTED });
}

/**
 * Private windows hold far less than a disk would, or refuse the origin's file system; where neither shows, it cannot be told.
 * @returns {Promise<ReadyItem>}
 */
async function privateWindow() {
  try {
    await navigator.storage?.getDirectory?.();
  } catch {
    return item("private", false, "private");
  }
  const { quota = Infinity } = (await navigator.storage?.estimate?.()) ?? {};
  return quota < 120_000_000 ? item("private", false, "private") : item("private", null, "not-told");
}

/** @param {Parts} parts @returns {Promise<ReadyItem>} */
async function clock({ workshop: seen }) {
  const last = await seen();
  if (!last) return item("clock", null, "never-compared");
  const seconds = Math.abs(last.offset_s);
  return item("clock", seconds <= CLOCK_MOST_S, seconds <= CLOCK_MOST_S ? "right" : "wrong", { seconds: last.offset_s });
}

/** @returns {Promise<ReadyItem>} */
async function camera() {
  if (!navigator.mediaDevices?.enumerateDevices) return item("camera", null, "unknown");
  const devices = await navigator.mediaDevices.enumerateDevices();
  const found = devices.some((device) => device.kind === "videoinput");
  return item("camera", found, found ? "yes" : "none");
}

/** @param {Parts} parts @returns {Promise<ReadyItem>} */
async function workshop({ workshop: seen, now }) {
  const last = await seen();
  if (!last) return item("workshop", null, "never");
  const hours = Math.floor((now().getTime() - Date.parse(last.seen)) / 3_600_000);
  return item("workshop", true, "seen", { hours, name: last.name });
}

/** @param {Parts} parts @returns {Promise<ReadyItem>} */
async function known({ carries }) {
  const head = await carries.head();
  return head ? item("known", true, "here", { count: head.count, made: head.made }) : item("known", null, "none");
}

/** @returns {Promise<Precache | null>} */
export async function askWorker() {
  const active = navigator.serviceWorker?.controller;
  if (!active) return null;
  return new Promise((resolve) => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = ({ data }) => resolve(data);
    setTimeout(() => resolve(null), 3000);
    active.postMessage({ ask: "files" }, [port2]);
  });
}

/**
 * @param {ReadyItem["id"]} id @param {boolean | null} ok @param {string} state @param {ReadyItem["values"]} [values]
 * @returns {ReadyItem}
 */
function item(id, ok, state, values = {}) {
  return { id, ok, state, values };
}

/** @param {Function} proof @param {unknown} error @returns {ReadyItem} */
function broken(proof, error) {
  const found = error instanceof AppError ? error.code : String(error);
  const id = /** @type {ReadyItem["id"]} */ (proof.name === "privateWindow" ? "private" : proof.name);
  return item(id, false, "failed", { found });
}
