/** A marker outside the database: it tells a new phone from a wiped one. */

/** @typedef {{device: string, seq: number, at: string}} Marker the last entry this phone saved */

const YEAR = 365 * 24 * 3600;

/**
 * Kept twice, since browsers clear the two at different times.
 * @param {string} code the fleet's code
 * @param {Marker} marker
 */
export function leaveMarker(code, marker) {
  const text = JSON.stringify(marker);
  try {
    localStorage.setItem(name(code), text);
  } catch {
    // Full or forbidden: the cookie stands by itself.
  }
  // biome-ignore lint/suspicious/noDocumentCookie: the Cookie Store is not on iPhones' older systems
  document.cookie = `${name(code)}=${encodeURIComponent(text)}; max-age=${YEAR}; samesite=strict`;
}

/**
 * @param {string} code
 * @returns {Marker | null}
 */
export function readMarker(code) {
  const cookie = document.cookie.split("; ").find((pair) => pair.startsWith(`${name(code)}=`));
  const kept = [stored(code), cookie && decodeURIComponent(cookie.slice(name(code).length + 1))];
  const found = kept.map(parsed).filter((marker) => marker !== null);
  return found.sort((a, b) => b.seq - a.seq)[0] ?? null;
}

/** @param {string} code */
function stored(code) {
  try {
    return localStorage.getItem(name(code));
  } catch {
    return null;
  }
}

/** @param {string | null | undefined} text @returns {Marker | null} */
function parsed(text) {
  try {
    const marker = JSON.parse(text ?? "");
    return typeof marker.device === "string" && typeof marker.seq === "number" ? marker : null;
  } catch {
    return null;
  }
}

/** @param {string} code */
function name(code) {
  return `driptray-${code}`;
}
