// Leaving: send to the workshop, save a hand-in file, take in what the workshop knows.

import { handInFiles, giveAway } from "../handin.js";
import { fresh, h, refill } from "../ui/dom.js";
import { errorWords } from "../ui/errors.js";
import { mark } from "../ui/marks.js";
import { say, shortDay } from "../words/index.js";

/** @import {App} from "../ui/app.js" */
/** @import {Screen} from "../ui/frame.js" */
/** @import {Progress, Sent} from "../send.js" */

/** @param {App} app @param {string} [code] a pairing code that was scanned @returns {Promise<Screen>} */
export async function handInScreen(app, code = "") {
  const [pending, pairing, workshop, head] = [
    await app.log.pending(),
    await app.sender.pairing(),
    await app.sender.workshop(),
    await app.carries.head(),
  ];
  const spare = await app.sender.spare();
  const said = h("div", { class: "stack", role: "status" });
  const send = h(
    "button",
    { type: "button", class: `act act-wide ${pairing ? "" : "act-plain"}`, on: { click: () => void sendNow(app, said, send) } },
    mark("send"),
    h("span", null, say("hand-in.send")),
  );
  const save = h(
    "button",
    { type: "button", class: `act act-wide ${pairing ? "act-plain" : ""}`, on: { click: () => void saveFile(app, said) } },
    mark("take"),
    h("span", null, say("hand-in.save")),
  );
  return {
    title: say("hand-in.title"),
    back: "#/",
    body: [
      h(
        "section",
        { class: "sheet" },
        h("h2", null, await app.pendingWords()),
        pending.photos > 0 && h("p", null, say("hand-in.photos", { n: pending.photos })),
        h("p", { class: "soft" }, say("hand-in.stays")),
        workshop && h("p", { class: "soft" }, say("hand-in.seen", { name: workshop.name, day: shortDay(workshop.seen) })),
        said,
      ),
      pairing && !code ? null : pairSheet(app, code),
      spare.length > 0 && roomSheet(app, spare.length),
      knownSheet(app, head?.count ?? null, head?.made ?? ""),
      pairing && !code && h("details", { class: "sheet" }, h("summary", null, say("pair.again")), pairSheet(app)),
    ],
    foot: pairing ? [send, save] : [save, send],
  };
}

/**
 * @param {App} app
 * @param {HTMLElement} said
 * @param {HTMLButtonElement} button
 */
async function sendNow(app, said, button) {
  button.disabled = true;
  try {
    const sent = await app.sender.send((progress) => refill(said, h("p", null, progressWords(progress))));
    refill(
      said,
      sentWords(sent).map((words) => h("p", null, words)),
    );
  } catch (error) {
    refill(said, h("p", { class: "notice" }, errorWords(error), " ", say("hand-in.try-file")));
  }
  button.disabled = false;
  said.scrollIntoView({ block: "center" });
  await app.tellPending();
}

/** @param {Progress} progress */
function progressWords({ step, done, of }) {
  return say(`send.${step}`, { done, of });
}

/** @param {Sent} sent */
function sentWords(sent) {
  return [
    say("sent.taken", { n: sent.taken + sent.already }),
    sent.photos > 0 ? say("sent.photos", { n: sent.photos }) : "",
    sent.refused.length > 0 ? say("sent.refused", { n: sent.refused.length, why: sent.refused[0]?.why ?? "" }) : "",
    sent.earlier ? say("sent.earlier", { n: sent.earlier.entries }) : "",
    sent.set_aside.length > 0 ? say("sent.set-aside", { n: sent.set_aside.length, why: sent.set_aside[0]?.why ?? "" }) : "",
    sent.carry ? say("sent.carry") : "",
    sent.renamed ? say("sent.renamed") : "",
    Math.abs(sent.offset_s) > 300 ? say("sent.clock", { minutes: Math.round(Math.abs(sent.offset_s) / 60) }) : "",
  ].filter(Boolean);
}

/**
 * @param {App} app
 * @param {HTMLElement} said
 */
async function saveFile(app, said) {
  refill(said, h("p", null, say("hand-in.packing")));
  const outcome = await app.attempt(async () => {
    const [device, owner, records] = [await app.log.device(), await app.log.owner(), await app.log.records()];
    const sender = { fleet: app.edition.code, device, device_name: owner.name, edition: app.edition.edition };
    const hashes = [...new Set(records.flatMap((record) => JSON.parse(record.line).photos ?? []))];
    const files = await handInFiles(sender, app.now(), records, hashes, (sha) => app.photos.get(sha));
    return { how: await giveAway(files), files };
  });
  said.scrollIntoView({ block: "center" });
  refill(said, outcome && h("p", null, say(`gave.${outcome.how}`, { n: outcome.files.length, name: outcome.files[0]?.name ?? "" })));
}

/** Photos that a backup at the workshop holds may go from this phone. @param {App} app @param {number} n */
function roomSheet(app, n) {
  const said = h("p", { role: "status" });
  const go = h("button", { type: "button", class: "act act-plain", on: { click: () => void free() } }, say("room.go"));
  async function free() {
    const gone = await app.attempt(() => app.sender.makeRoom());
    if (gone === null) return;
    said.textContent = say("room.gone", { n: gone });
    go.hidden = true;
  }
  return h("section", { class: "sheet" }, h("h2", null, say("room.title")), h("p", { class: "soft" }, say("room.text", { n })), go, said);
}

/** @param {App} app @param {string} [scanned] */
function pairSheet(app, scanned = "") {
  const url = h("input", {
    id: fresh("url"),
    type: "url",
    inputmode: "url",
    autocomplete: "off",
    placeholder: "https://",
    value: location.origin,
  });
  const code = h("input", {
    id: fresh("code"),
    type: "text",
    autocomplete: "off",
    autocapitalize: "characters",
    spellcheck: "false",
    value: scanned,
  });
  const pair = async () => {
    const paired = await app.attempt(async () => {
      await app.sender.pair(url.value.trim(), code.value.trim());
      return true;
    });
    if (paired) app.go("#/hand-in");
  };
  return h(
    "section",
    { class: "sheet" },
    h("h2", null, say("pair.title")),
    h("p", { class: "soft" }, say("pair.text")),
    h("div", { class: "field" }, h("label", { for: url.id }, say("pair.url")), url),
    h("div", { class: "field" }, h("label", { for: code.id }, say("pair.code")), code),
    h("button", { type: "button", class: "act act-plain", on: { click: () => void pair() } }, say("pair.go")),
  );
}

/**
 * @param {App} app
 * @param {number | null} count
 * @param {string} made
 */
function knownSheet(app, count, made) {
  const said = h("p", { role: "status" });
  const here = h("p", { class: "soft" }, hereWords(count, made));
  const input = h("input", {
    type: "file",
    id: fresh("carry"),
    accept: ".json,.txt,application/json,text/plain",
    on: { change: () => void open() },
  });
  async function open() {
    const file = input.files?.[0];
    if (!file) return;
    const taken = await app.attempt(async () => app.carries.take(await file.text()));
    input.value = "";
    if (!taken) return;
    said.textContent = taken.kept ? say("carry.taken", { n: taken.head.count }) : say("carry.older");
    if (taken.kept) here.textContent = hereWords(taken.head.count, taken.head.made);
  }
  return h(
    "section",
    { class: "sheet" },
    h("h2", null, say("carry.title")),
    here,
    h("label", { class: "target", for: input.id }, input, h("span", { class: "face" }, h("span", null, say("carry.open")))),
    said,
  );
}

/** @param {number | null} count @param {string} made */
function hereWords(count, made) {
  return count === null ? say("carry.none") : say("carry.here", { n: count, day: shortDay(made) });
}
