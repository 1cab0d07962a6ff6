// The strip of stations at the foot: a tray for each, filling as it is looked at; a tap goes there.

import { h, unseen } from "./dom.js";
import { mark } from "./marks.js";
import { stencil } from "./stencil.js";
import { tallyOf } from "./tally.js";
import { tray } from "./tray.js";
import { say } from "../words/index.js";

/** @import {WalkEnv} from "./env.js" */

/** @param {WalkEnv} env */
export function strip(env) {
  const list = h("ol", { class: "strip" });
  const node = h("nav", { "aria-label": say("strip.name"), class: "strip-frame" }, list);
  const update = () => {
    const items = env.stations.map((station, index) => {
      const { answered, of, defects } = tallyOf(env.walk, station);
      const here = station.id === env.station;
      const words = [station.name, say("walk.count", { done: answered, of }), defects > 0 && say("strip.defects", { n: defects })]
        .filter(Boolean)
        .join(", ");
      return h(
        "li",
        null,
        h(
          "a",
          { class: "strip-place", href: `#/walk/${env.walk.walk}/${station.id}`, "aria-current": here ? "step" : null },
          h("span", { class: "strip-number", "aria-hidden": "true" }, stencil(index + 1), defects > 0 && mark("defect")),
          tray(answered, of, "tray-strip"),
          unseen(`${index + 1}. ${words}`),
        ),
      );
    });
    const scroll = list.scrollLeft;
    list.replaceChildren(...items);
    list.scrollLeft = scroll;
  };
  // Once it is on the page: the current station in the middle.
  requestAnimationFrame(() => {
    const here = list.querySelector("[aria-current]");
    if (here instanceof HTMLElement) list.scrollLeft = here.offsetLeft - (list.clientWidth - here.offsetWidth) / 2;
  });
  return { node, update };
}
