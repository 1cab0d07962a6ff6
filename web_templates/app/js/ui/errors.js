// An error in the walker's words; the code behind it stays for whoever helps.

import { AppError } from "../errors.js";
import { say, sayIfKnown } from "../words/index.js";

/**
 * @param {unknown} error
 * @returns {string}
 */
export function errorWords(error) {
  if (error instanceof AppError) return sayIfKnown(`error.${error.code}`, say("error.other", { what: error.code }), error.values);
  return say("error.other", { what: error instanceof Error ? error.message : String(error) });
}
