/** What the engine says no with: a code for the catalogue of words, and the values that fill it. */

/**
 * Codes: "storage-unavailable", "storage-full", "storage-lost", "storage-newer", "storage-blocked", "photo-unreadable",
 * "photo-too-large", "photo-full", "photo-corrupt", "carry-foreign", "carry-unreadable", "door-unreachable", "door-refused",
 * "door-foreign", "door-unpaired", "door-answer", "edition-unreadable", "not-own-entry".
 */
export class AppError extends Error {
  /**
   * @param {string} code
   * @param {Record<string, string | number>} [values]
   * @param {unknown} [cause]
   */
  constructor(code, values = {}, cause = undefined) {
    super(`${code} ${JSON.stringify(values)}`, { cause });
    this.name = "AppError";
    this.code = code;
    this.values = values;
  }
}
