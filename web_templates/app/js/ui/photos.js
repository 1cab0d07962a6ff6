// The photos of a form: taken with the camera, kept at once, shown small, thrown away again.

import { small } from "./buttons.js";
import { fresh, h } from "./dom.js";
import { mark } from "./marks.js";
import { say } from "../words/index.js";

/** @import {App} from "./app.js" */

export class PhotoStrip {
  /** @type {string[]} */
  #urls = [];
  /** @type {Promise<void>} */
  #queue = Promise.resolve();

  /**
   * @param {App} app
   * @param {string[]} first hashes already taken
   * @param {object} ways
   * @param {() => void} ways.opening before the camera opens
   * @param {(hashes: string[]) => void} ways.changed
   */
  constructor(app, first, { opening, changed }) {
    this.app = app;
    this.hashes = [...first];
    this.changed = changed;
    this.thumbs = h("ul", { class: "thumbs" });
    this.wait = h("p", { class: "hint", role: "status" });
    this.input = h("input", {
      type: "file",
      id: fresh("photo"),
      accept: "image/*",
      capture: "environment",
      multiple: true,
      on: { click: opening, change: () => this.#take([...(this.input.files ?? [])]) },
    });
    for (const sha of this.hashes) this.#next(() => this.#show(sha));
    const button = h(
      "label",
      { class: "target photo-button", for: this.input.id },
      this.input,
      h("span", { class: "face" }, mark("photo"), h("span", null, say("photos.add"))),
    );
    this.node = h("div", { class: "stack" }, button, this.wait, this.thumbs);
  }

  /** Resolves when every photo asked for is kept or refused. */
  settled() {
    return this.#queue;
  }

  /** Lets the pictures' addresses go. */
  leave() {
    for (const url of this.#urls) URL.revokeObjectURL(url);
  }

  /** One photo at a time: a phone has not the room for two canvases. @param {() => Promise<void>} work */
  #next(work) {
    this.#queue = this.#queue.then(work);
  }

  /** @param {File[]} files */
  #take(files) {
    this.input.value = "";
    this.wait.textContent = files.length > 0 ? say("photos.keeping") : "";
    for (const file of files) this.#next(() => this.#keep(file));
    this.#next(async () => {
      this.wait.textContent = "";
    });
  }

  /** @param {File} file */
  async #keep(file) {
    const sha = await this.app.attempt(() => this.app.photos.take(file));
    if (!sha || this.hashes.includes(sha)) return;
    this.hashes = [...this.hashes, sha];
    this.changed(this.hashes);
    await this.#show(sha);
  }

  /** @param {string} sha */
  async #show(sha) {
    const url = await this.app.attempt(() => this.app.photos.url(sha));
    if (url) this.#urls.push(url);
    const number = this.hashes.indexOf(sha) + 1;
    const picture = url
      ? h("img", { class: "thumb", src: url, alt: say("photos.one", { number }) })
      : h("p", { class: "hint" }, say("photos.let-go"));
    const item = h(
      "li",
      { class: "thumb-item" },
      picture,
      small(say("photos.remove"), say("photos.one", { number }), () => this.#remove(sha, item)),
    );
    this.thumbs.append(item);
  }

  /**
   * Out of the form; its bytes stay, since an earlier finding may hold them too.
   * @param {string} sha
   * @param {HTMLElement} item
   */
  #remove(sha, item) {
    this.hashes = this.hashes.filter((kept) => kept !== sha);
    item.remove();
    this.changed(this.hashes);
  }
}
