import { en } from "./en.js";
/** @type {import("./index.js").Catalogue} */
export const de = { ...en };
