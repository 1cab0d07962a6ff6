/** Bytes as text and text as bytes: UTF-8, hex, base64, SHA-256. */

const encoder = new TextEncoder();

/**
 * @param {string} text
 * @returns {Uint8Array<ArrayBuffer>}
 */
export function utf8(text) {
  return encoder.encode(text);
}

/**
 * @param {BufferSource} bytes
 * @returns {Promise<string>} 64 hex digits
 */
export async function sha256(bytes) {
  const digest = await crypto.subtle.digest("SHA-256", bytes);
  return [...new Uint8Array(digest)].map((byte) => byte.toString(16).padStart(2, "0")).join("");
}

/**
 * @param {ArrayBuffer} bytes
 * @returns {string}
 */
export function toBase64(bytes) {
  const all = new Uint8Array(bytes);
  let binary = "";
  // In pieces: one call takes no more arguments than the stack holds.
  for (let at = 0; at < all.length; at += 32_768) {
    binary += String.fromCharCode(...all.subarray(at, at + 32_768));
  }
  return btoa(binary);
}

/**
 * @param {string} text
 * @returns {Uint8Array<ArrayBuffer>}
 */
export function fromBase64(text) {
  return Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
}
