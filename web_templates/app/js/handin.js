/** Hand-ins: JSON Lines that leave the phone, as a file or over the door. Leaving marks nothing as sent. */

import { sha256, toBase64, utf8 } from "./bytes.js";
import { stamp } from "./clock.js";

/** @import {EntryRecord, PhotoRecord} from "./types.js" */

export const SPLIT = 20 * 1024 * 1024;
// A photo in base64 of a file that is nearly full may go over; readers take far more.
const ROOM = SPLIT - 64 * 1024;

/** @typedef {{fleet: string, device: string, device_name: string, edition: string}} Sender */
/** @typedef {{name: string, text: string, entries: number, photos: number}} HandIn */

/**
 * One hand-in whole: head, entries in order of seq, photo lines, end.
 * @param {Sender} sender
 * @param {Date} made
 * @param {string[]} entries lines as they were written
 * @param {string[]} [photos] photo lines
 * @returns {Promise<string>}
 */
export async function handInText({ fleet, device, device_name, edition }, made, entries, photos = []) {
  const head = { driptray: 1, fleet, device, device_name, made: stamp(made), edition, entries: entries.length, photos: photos.length };
  const before = [JSON.stringify(head), ...entries, ...photos].map((line) => `${line}\n`).join("");
  const end = { end: true, sha256: await sha256(utf8(before)) };
  return `${before}${JSON.stringify(end)}\n`;
}

/**
 * @param {PhotoRecord} photo with its bytes
 * @returns {string}
 */
export function photoLine(photo) {
  if (!photo.bytes) throw new RangeError(`photo ${photo.sha256} was let go`);
  return JSON.stringify({ photo: photo.sha256, type: photo.type, data: toBase64(photo.bytes) });
}

/**
 * Hand-in files of about 20 MB at most, one device's entries in each; a photo at a time is read.
 * @param {Sender} sender
 * @param {Date} made
 * @param {EntryRecord[]} records by device and seq
 * @param {string[]} hashes of the photos to bring
 * @param {(sha: string) => Promise<PhotoRecord | null>} read
 * @param {number} [room] bytes in a file
 * @returns {Promise<HandIn[]>} at least one, empty where there is nothing
 */
export async function handInFiles(sender, made, records, hashes, read, room = ROOM) {
  const packs = packEntries(records, sender.device, room);
  for (const hash of hashes) {
    const photo = await read(hash);
    if (!photo?.bytes) continue;
    const line = photoLine(photo);
    const last = /** @type {Pack} */ (packs[packs.length - 1]);
    const fits = last.size === 0 || last.size + line.length <= room;
    const pack = fits ? last : newPack(sender.device);
    if (!fits) packs.push(pack);
    pack.photos.push(line);
    pack.size += line.length;
  }
  return Promise.all(packs.map((pack, index) => fileOf(sender, made, pack, index, packs.length)));
}

/**
 * Gives the files to the share sheet, or downloads them.
 * @param {HandIn[]} files
 * @returns {Promise<"shared" | "downloaded" | "cancelled">}
 */
export async function giveAway(files) {
  const all = files.map(({ name, text }) => new File([text], name, { type: "text/plain" }));
  if (navigator.canShare?.({ files: all })) {
    try {
      await navigator.share({ files: all });
      return "shared";
    } catch (error) {
      if (error instanceof DOMException && error.name === "AbortError") return "cancelled";
    }
  }
  for (const file of all) download(file);
  return "downloaded";
}

/** @typedef {{device: string, entries: string[], photos: string[], size: number}} Pack */

/** @param {EntryRecord[]} records @param {string} own @param {number} room @returns {Pack[]} */
function packEntries(records, own, room) {
  // This device's own last, so that photos go with its entries.
  const ordered = [...records].sort((a, b) => Number(a.device === own) - Number(b.device === own));
  /** @type {Pack[]} */
  const packs = [];
  let pack = newPack(own);
  for (const { device, line } of ordered) {
    if (packs.length === 0 || pack.device !== device || pack.size + line.length > room) {
      pack = newPack(device);
      packs.push(pack);
    }
    pack.entries.push(line);
    pack.size += line.length;
  }
  return packs.length ? packs : [pack];
}

/** @param {string} device @returns {Pack} */
function newPack(device) {
  return { device, entries: [], photos: [], size: 0 };
}

/**
 * @param {Sender} sender @param {Date} made @param {Pack} pack @param {number} index @param {number} of
 * @returns {Promise<HandIn>}
 */
async function fileOf(sender, made, pack, index, of) {
  const text = await handInText({ ...sender, device: pack.device }, made, pack.entries, pack.photos);
  const moment = stamp(made).slice(0, 16).replace(/[:-]/g, "").replace("T", "-");
  const part = of > 1 ? `-${index + 1}-of-${of}` : "";
  const name = `${sender.fleet}-${pack.device}-${moment}${part}.txt`;
  return { name, text, entries: pack.entries.length, photos: pack.photos.length };
}

/** @param {File} file */
function download(file) {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(file);
  link.download = file.name;
  link.click();
  // Firefox reads the address after the click has returned.
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
