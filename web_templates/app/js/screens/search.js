// A check by a word: every check and station of the round, narrowed as one types.

import { anchor } from "../ui/check.js";
import { fresh, h, refill } from "../ui/dom.js";
import { sheet } from "../ui/dialog.js";
import { say } from "../words/index.js";

/** @import {WalkEnv} from "../ui/env.js" */
/** @import {CheckView, StationView} from "../types.js" */
/** @typedef {{check: CheckView, station: StationView, number: number, text: string}} Findable */

/** @param {WalkEnv} env */
export function openSearch(env) {
  const word = h("input", { id: fresh("search"), type: "search", autocomplete: "off", enterkeyhint: "search" });
  const list = h("ul", { class: "links" });
  const count = h("p", { class: "hint", role: "status" });
  const all = findable(env.stations);
  const shelf = sheet({ title: say("search.title"), note: env.vehicle.name, closed: () => {} });
  const show = () => {
    const found = matching(all, word.value);
    count.textContent = found.length > 0 ? say("search.found", { n: found.length }) : say("search.none");
    refill(
      list,
      found.map((one) => row(one, () => go(env, shelf.close, one))),
    );
  };
  word.addEventListener("input", show);
  refill(shelf.body, h("div", { class: "field" }, h("label", { for: word.id }, say("search.word")), word, count), list);
  word.focus();
  show();
}

/** @param {StationView[]} stations @returns {Findable[]} */
function findable(stations) {
  return stations.flatMap((station, index) =>
    station.checks.map((check) => {
      const words = [check.ask, station.name, check.system, ...check.faults.map((fault) => fault.name)];
      return { check, station, number: index + 1, text: words.join(" ").toLocaleLowerCase() };
    }),
  );
}

/** @param {Findable[]} all @param {string} asked */
function matching(all, asked) {
  const words = asked.toLocaleLowerCase().split(/\s+/).filter(Boolean);
  return all.filter(({ text }) => words.every((word) => text.includes(word)));
}

/** @param {Findable} one @param {() => void} click */
function row({ check, station, number }, click) {
  const where = h("span", { class: "soft" }, `${number} ${station.name}`);
  return h("li", null, h("button", { type: "button", class: "link-row", on: { click } }, h("strong", null, check.ask), where));
}

/** @param {WalkEnv} env @param {() => void} close @param {Findable} to */
function go(env, close, { station, check }) {
  close();
  env.app.go(`#/walk/${env.walk.walk}/${station.id}`);
  const stand = () => {
    const card = document.getElementById(anchor(check.id));
    card?.scrollIntoView({ block: "center" });
    card?.focus({ preventScroll: true });
  };
  window.addEventListener("shown", stand, { once: true });
}
