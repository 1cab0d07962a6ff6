// The frame around every screen: the bar with its status, the content, and the foot where the thumb is.

import { h, refill, unseen } from "./dom.js";
import { mark } from "./marks.js";
import { say } from "../words/index.js";

/**
 * What a screen hands over to be shown.
 * @typedef {object} Screen
 * @property {string} title the one heading of first rank
 * @property {string | null} [back] where the arrow in the bar leads; null or none: no arrow
 * @property {import("./dom.js").Child[]} body
 * @property {import("./dom.js").Child[]} [foot]
 * @property {() => void} [leave] when another screen takes its place
 */

/** Of the screen's height, for the bar and the foot together. */
const MOST = 0.42;

export class Frame {
  /** @param {HTMLElement} root */
  constructor(root) {
    this.root = root;
    this.backWord = unseen("");
    this.back = h("a", { class: "bar-back", hidden: true, href: "#/" }, mark("back"), this.backWord);
    this.title = h("h1", { tabindex: "-1" });
    this.status = h("p", { class: "bar-status", role: "status" });
    this.main = h("main", { id: "main", tabindex: "0" });
    this.foot = h("footer", { class: "foot" });
    this.saying = h("p", { class: "saying", role: "status" });
    this.timer = 0;
    /** The note is for the screen that comes next. */
    this.onward = false;
    this.bar = h("header", { class: "bar" }, this.back, h("div", { class: "bar-words" }, this.title, this.status));
    root.replaceChildren(this.bar, this.main, this.foot, this.saying);
    const sizes = new ResizeObserver(() => this.#fit());
    for (const part of [this.bar, this.foot]) sizes.observe(part);
    window.addEventListener("resize", () => this.#fit());
  }

  /** @param {Screen} screen */
  show(screen) {
    document.title = `${screen.title} – Driptray`;
    this.title.textContent = screen.title;
    this.backWord.textContent = say("frame.back");
    this.back.hidden = !screen.back;
    if (screen.back) this.back.href = screen.back;
    refill(this.main, screen.body);
    refill(this.foot, screen.foot ?? []);
    if (!this.onward) this.hush();
    this.onward = false;
  }

  /** With large letters the bar and the foot leave the content no room: then they scroll with it. */
  #fit() {
    const crowded = this.bar.offsetHeight + this.foot.offsetHeight > window.innerHeight * MOST;
    this.root.classList.toggle("crowded", crowded);
  }

  /** @param {string} words how much is not yet at the workshop */
  tell(words) {
    if (this.status.textContent !== words) this.status.textContent = words;
  }

  /**
   * A short note over the foot, read out too.
   * @param {string} words
   * @param {{onward?: boolean}} [how] `onward`: it stays when the next screen comes
   */
  say(words, { onward = false } = {}) {
    clearTimeout(this.timer);
    // What lies outside an open dialog is neither seen nor read out.
    const host = [...document.querySelectorAll("dialog[open]")].at(-1) ?? this.root;
    if (this.saying.parentElement !== host) host.append(this.saying);
    this.saying.style.setProperty("--foot", `${this.#standing(host)}px`);
    this.saying.textContent = words;
    this.onward = onward;
    this.timer = window.setTimeout(() => this.hush(), words.length > 40 ? 6000 : 2500);
  }

  /** How high the foot stands over the screen's lower edge; one that scrolls with the content does not. @param {Element} host */
  #standing(host) {
    const foot = /** @type {HTMLElement | null} */ (host.querySelector(".foot"));
    return host.classList.contains("crowded") ? 0 : (foot?.offsetHeight ?? 0);
  }

  /** What was said no longer holds. */
  hush() {
    clearTimeout(this.timer);
    this.saying.textContent = "";
  }
}
