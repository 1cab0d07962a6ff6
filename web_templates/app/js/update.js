/** The app's own worker: offline after one visit; a new version waits for consent and never goes over a draft. */

/** @import {Drafts} from "./drafts.js" */

/** Events: "waiting" (a new version is here and may be taken), "taken" (in this tab or another: this page must be loaded again). */
export class Update extends EventTarget {
  /** @type {ServiceWorkerRegistration | null} */
  #registration = null;
  /** A worker held this page before: the next one that takes it is another version. */
  #held = false;

  /** @param {Drafts} drafts @param {ServiceWorkerContainer | undefined} [container] undefined over plain http */
  constructor(drafts, container = navigator.serviceWorker) {
    super();
    this.drafts = drafts;
    this.container = container;
  }

  /** @param {string} base address of the app's folder */
  async start(base) {
    if (!this.container) return;
    this.#held = this.container.controller !== null;
    this.container.addEventListener("controllerchange", () => this.#changed());
    const registration = await this.container.register(new URL("worker.js", base), { updateViaCache: "none" });
    this.#registration = registration;
    if (registration.waiting && registration.active) this.dispatchEvent(new Event("waiting"));
    registration.addEventListener("updatefound", () => this.#watch(registration.installing));
  }

  get waiting() {
    return Boolean(this.#registration?.waiting && this.#registration.active);
  }

  /**
   * The person has said yes. Refused while anything is half filled in, in any tab.
   * @returns {Promise<"taken" | "draft" | "none">}
   */
  async takeOver() {
    const waiting = this.#registration?.waiting;
    if (!waiting) return "none";
    if ((await this.drafts.all()).length > 0) return "draft";
    waiting.postMessage({ ask: "take over" });
    return "taken";
  }

  /** Looks for a new version now. */
  async look() {
    await this.#registration?.update().catch(() => {}); // without a signal there is none to find
  }

  #changed() {
    // The first worker of a new phone takes its page too; that is no change of version.
    if (this.#held) this.dispatchEvent(new Event("taken"));
    this.#held = true;
  }

  /** @param {ServiceWorker | null} worker */
  #watch(worker) {
    worker?.addEventListener("statechange", () => {
      if (worker.state === "installed" && this.#registration?.active) this.dispatchEvent(new Event("waiting"));
    });
  }
}
