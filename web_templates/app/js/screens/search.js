// A check by a word: every check and station of the round, narrowed as one types.

import { fresh, h, refill } from "../ui/dom.js";
import { anchor } from "../ui/check.js";
import { sheet } from "../ui/dialog.js";
import { say } from "../words/index.js";

/** @import {WalkEnv} from "../ui/env.js" */

/** @param {WalkEnv} env */
export function openSearch(env) {
  const word = h("input", { id: fresh("search"), type: "search", autocomplete: "off", enterkeyhint: "search" });
  const list = h("ul", { class: "links" });
  const count = h("p", { class: "hint", role: "status" });
  const all = env.stations.flatMap((station, index) => station.checks.map((check) => ({ check, station, number: index + 1 })));
  const shelf = sheet({ title: say("search.title"), note: env.vehicle.name, closed: () => {} });

  function show() {
    const words = word.value.toLocaleLowerCase().split(/\s+/).filter(Boolean);
    const found = all.filter(({ check, station }) => {
      const text = [check.ask, station.name, check.system, ...check.faults.map((fault) => fault.name)].join(" ").toLocaleLowerCase();
      return words.every((part) => text.includes(part));
    });
    count.textContent = say("search.found", { n: found.length });
    refill(list, found.map(({ check, station, number }) => h("li", null, h("button", { type: "button", class: "link-row", on: { click: () => go(station.id, check.id) } }, h("strong", null, check.ask), h("span", { class: "soft" }, `${number} ${station.name}`)))));
  }

  /**
   * @param {string} station
   * @param {string} check
   */
  function go(station, check) {
    shelf.close();
    env.app.go(`#/walk/${env.walk.walk}/${station}`);
    window.addEventListener("shown", () => {
      const card = document.getElementById(anchor(check));
      card?.scrollIntoView({ block: "center" });
      card?.focus({ preventScroll: true });
    }, { once: true });
  }

  word.addEventListener("input", show);
  refill(shelf.body, h("div", { class: "field" }, h("label", { for: word.id }, say("search.word")), word, count), list);
  word.focus();
  show();
}
