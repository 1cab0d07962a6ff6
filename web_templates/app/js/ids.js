/** Ids: UUIDv7 (RFC 9562) for entries, a short random name for the device. */

// Without look-alikes, so that a device can be read out over a shed.
const LETTERS = "23456789abcdefghjkmnpqrstuvwxyz";

/** @typedef {(bytes: Uint8Array<ArrayBuffer>) => Uint8Array<ArrayBuffer>} Random fills and returns */

/** @type {Random} */
export const systemRandom = (bytes) => crypto.getRandomValues(bytes);

/**
 * @param {number} milliseconds since 1970
 * @param {Random} [random]
 * @returns {string}
 */
export function uuid7(milliseconds, random = systemRandom) {
  const bytes = random(new Uint8Array(16));
  const view = new DataView(bytes.buffer);
  view.setUint16(0, Math.floor(milliseconds / 2 ** 32));
  view.setUint32(2, milliseconds % 2 ** 32);
  view.setUint8(6, 0x70 | (view.getUint8(6) & 0x0f));
  view.setUint8(8, 0x80 | (view.getUint8(8) & 0x3f));
  const hex = [...bytes].map((byte) => byte.toString(16).padStart(2, "0")).join("");
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, "$1-$2-$3-$4-$5");
}

/**
 * A new device's id, "d-4k7mq2xh": 31^8 of them, so that no two phones of a fleet meet.
 * @param {Random} [random]
 */
export function newDeviceId(random = systemRandom) {
  const bytes = random(new Uint8Array(8));
  return `d-${[...bytes].map((byte) => LETTERS[byte % LETTERS.length]).join("")}`;
}
