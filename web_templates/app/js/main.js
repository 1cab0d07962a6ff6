// Starts the app: the engine, the frame, and the way from an address to its screen.

import { startEngine } from "./engine.js";
import { App } from "./ui/app.js";
import { h } from "./ui/dom.js";
import { ask } from "./ui/dialog.js";
import { errorWords } from "./ui/errors.js";
import { Frame } from "./ui/frame.js";
import { boardScreen } from "./screens/board.js";
import { likelyLanguage, say, setLanguage, shortDay } from "./words/index.js";

/** @import {Screen} from "./ui/frame.js" */

// Only the board comes with the app's start; the others are fetched when they are first asked for, or when all is quiet.
const later = {
  finish: () => import("./screens/finish.js"),
  handin: () => import("./screens/handin.js"),
  missing: () => import("./screens/missing.js"),
  ready: () => import("./screens/ready.js"),
  report: () => import("./screens/report.js"),
  run: () => import("./screens/run.js"),
  topUp: () => import("./screens/topup.js"),
  vehicle: () => import("./screens/vehicle.js"),
  walk: () => import("./screens/walk.js"),
  who: () => import("./screens/who.js"),
};

/** @type {[RegExp, (app: App, ...found: string[]) => Promise<Screen>][]} */
const ROUTES = [
  [/^#?\/?$/, (app) => boardScreen(app)],
  [/^#\/who$/, async (app) => (await later.who()).whoScreen(app)],
  [/^#\/hand-in$/, async (app) => (await later.handin()).handInScreen(app)],
  [/^#\/pair\/([^/]+)$/, async (app, code) => (await later.handin()).handInScreen(app, code)],
  [/^#\/ready$/, async (app) => (await later.ready()).readyScreen(app)],
  [/^#\/v\/([^/]+)$/, async (app, id = "") => (await later.vehicle()).vehicleScreen(app, id)],
  [
    /^#\/v\/([^/]+)\/(driver|visitor)$/,
    async (app, id = "", source) => (await later.report()).reportScreen(app, id, source === "driver" ? "driver" : "visitor"),
  ],
  [/^#\/v\/([^/]+)\/run$/, async (app, id = "") => (await later.run()).runScreen(app, id)],
  [/^#\/v\/([^/]+)\/top-up$/, async (app, id = "") => (await later.topUp()).topUpScreen(app, id)],
  [/^#\/walk\/([^/]+)\/finish$/, async (app, id = "") => (await later.finish()).finishScreen(app, id)],
  [/^#\/walk\/([^/]+)\/done$/, async (app, id = "") => (await later.finish()).doneScreen(app, id)],
  [/^#\/walk\/([^/]+)(?:\/([^/]+))?$/, async (app, id = "", station) => (await later.walk()).walkScreen(app, id, station)],
];

const root = /** @type {HTMLElement} */ (document.getElementById("app"));
/** @type {Screen | null} */
let current = null;
let turn = 0;

/**
 * @param {App} app
 * @param {string} hash
 * @returns {Promise<Screen>}
 */
async function screenFor(app, hash) {
  if (!app.by) return (await later.who()).whoScreen(app, hash === "#/who" ? "#/" : hash || "#/");
  for (const [pattern, screen] of ROUTES) {
    const found = pattern.exec(hash);
    if (found) return screen(app, ...found.slice(1).map((part) => (part === undefined ? part : decodeURIComponent(part))));
  }
  return (await later.missing()).unknownPage();
}

/** @param {App} app */
async function show(app) {
  turn += 1;
  const mine = turn;
  const hash = location.hash;
  const screen = await app.attempt(() => screenFor(app, hash));
  // A later address was asked for while this one was being read.
  if (!screen || mine !== turn) return;
  for (const dialog of document.querySelectorAll("dialog[open]")) /** @type {HTMLDialogElement} */ (dialog).close();
  current?.leave?.();
  current = screen;
  app.frame.show(screen);
  app.frame.main.scrollTop = 0;
  window.scrollTo(0, 0);
  const heading = root.querySelector("[data-focus]") ?? app.frame.title;
  /** @type {HTMLElement} */ (heading).focus({ preventScroll: true });
  void app.attempt(() => app.drafts.keepRoute(hash));
  window.dispatchEvent(new Event("shown"));
  await app.tellPending();
}

/** @param {App} app */
function listen(app) {
  app.log.addEventListener("written", () => void app.tellPending());
  app.storage.addEventListener("replaced", () => standing(say("storage.replaced"), say("storage.reload")));
  app.storage.addEventListener("blocked", () => app.frame.say(say("storage.blocked")));
  app.update.addEventListener("waiting", () => void offer(app));
  app.update.addEventListener("taken", () => void reload(app));
  window.addEventListener("hashchange", () => void show(app));
}

/** A new version waits until the walker says yes. @param {App} app */
async function offer(app) {
  // The question would stand over a form that opens again; it is asked at the next start.
  if ((await app.drafts.all()).length > 0) return app.frame.say(say("update.draft"));
  const answer = await ask({
    title: say("update.title"),
    text: say("update.text"),
    answers: [
      { value: "yes", word: say("update.yes") },
      { value: "no", word: say("update.no"), plain: true },
    ],
  });
  if (answer === "yes" && (await app.update.takeOver()) === "draft") app.frame.say(say("update.draft"));
  return undefined;
}

/** Another version has taken over; a form half filled in here stays until its walker loads again. @param {App} app */
async function reload(app) {
  if ((await app.drafts.all()).length > 0) standing(say("update.taken"), say("storage.reload"));
  else location.reload();
}

/** Something that only loading again mends. @param {string} title @param {string} word */
function standing(title, word) {
  const bar = h(
    "div",
    { class: "standing-note", role: "alert" },
    h("p", null, title),
    h("button", { type: "button", class: "act act-plain", on: { click: () => location.reload() } }, word),
  );
  document.body.prepend(bar);
}

/** A database that is gone is told loudly, before anything else. @param {App} app */
async function tellWiped(app) {
  const { state, lost } = await app.log.past();
  if (state !== "wiped" || !lost) return;
  await ask({
    title: say("wiped.title"),
    text: say("wiped.text", { n: lost.seq, day: shortDay(lost.at), device: lost.device }),
    answers: [{ value: "known", word: say("wiped.known") }],
  });
}

async function start() {
  const engine = await startEngine();
  const [owner, route] = await Promise.all([engine.log.owner(), engine.drafts.route()]);
  await setLanguage(owner.language || likelyLanguage(engine.edition.language));
  const app = new App(engine, new Frame(root));
  app.by = owner.by;
  listen(app);
  if (!location.hash) history.replaceState(null, "", route || "#/");
  await show(app);
  await app.attempt(() => app.update.start(document.baseURI));
  await app.attempt(() => tellWiped(app));
  for (const screen of Object.values(later)) await screen();
}

start().catch(async (error) => {
  console.error(error);
  await setLanguage(likelyLanguage("en")).catch(() => {});
  root.replaceChildren(
    h(
      "main",
      { class: "opening" },
      h("h1", null, say("start-up.failed")),
      h("p", null, errorWords(error)),
      h("button", { type: "button", class: "act", on: { click: () => location.reload() } }, say("storage.reload")),
    ),
  );
});
