// The photos of a form: taken with the camera, kept at once, shown small, thrown away again.

import { fresh, h, unseen } from "./dom.js";
import { mark } from "./marks.js";
import { say } from "../words/index.js";

/** @import {App} from "./app.js" */

/**
 * @typedef {object} PhotoStrip
 * @property {HTMLElement} node
 * @property {() => string[]} hashes
 * @property {() => Promise<void>} settled when every photo asked for is kept or refused
 * @property {() => void} leave lets the pictures' addresses go
 */

/**
 * @param {App} app
 * @param {string[]} first hashes already taken
 * @param {object} ways
 * @param {() => void} ways.opening before the camera opens
 * @param {(hashes: string[]) => void} ways.changed
 * @returns {PhotoStrip}
 */
export function photoStrip(app, first, { opening, changed }) {
  let hashes = [...first];
  /** @type {string[]} */
  const urls = [];
  /** @type {Promise<void>} */
  let queue = Promise.resolve();
  const thumbs = h("ul", { class: "thumbs" });
  const wait = h("p", { class: "hint", role: "status" });
  const input = h("input", {
    type: "file", id: fresh("photo"), accept: "image/*", capture: "environment", multiple: true,
    on: { click: opening, change: () => take([...(input.files ?? [])]) },
  });

  /** @param {File[]} files */
  function take(files) {
    input.value = "";
    wait.textContent = files.length > 0 ? say("photos.keeping") : "";
    for (const file of files) {
      queue = queue.then(async () => {
        const sha = await app.attempt(() => app.photos.take(file));
        if (!sha || hashes.includes(sha)) return;
        hashes = [...hashes, sha];
        changed(hashes);
        await show(sha);
      });
    }
    queue = queue.then(() => {
      wait.textContent = "";
    });
  }

  /** @param {string} sha */
  async function show(sha) {
    const url = await app.attempt(() => app.photos.url(sha));
    if (url) urls.push(url);
    const number = hashes.indexOf(sha) + 1;
    const item = h(
      "li",
      { class: "thumb-item" },
      url ? h("img", { class: "thumb", src: url, alt: say("photos.one", { number }) }) : h("p", { class: "hint" }, say("photos.let-go")),
      h("button", { type: "button", class: "act act-quiet", on: { click: () => remove(sha, item) } }, say("photos.remove"), unseen(` ${number}`)),
    );
    thumbs.append(item);
  }

  /**
   * Out of the form; its bytes stay until the form is saved, since an earlier finding may hold them too.
   * @param {string} sha
   * @param {HTMLElement} item
   */
  function remove(sha, item) {
    hashes = hashes.filter((kept) => kept !== sha);
    item.remove();
    changed(hashes);
  }

  for (const sha of hashes) queue = queue.then(() => show(sha));
  const button = h("label", { class: "target photo-button", for: input.id }, input, h("span", { class: "face" }, mark("photo"), h("span", null, say("photos.add"))));
  return {
    node: h("div", { class: "stack" }, button, wait, thumbs),
    hashes: () => hashes,
    settled: () => queue,
    leave: () => {
      for (const url of urls) URL.revokeObjectURL(url);
    },
  };
}
