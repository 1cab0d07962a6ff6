// What was found at a station that fits no check.

import { draftKey } from "../drafts.js";
import { small } from "./buttons.js";
import { h, refill } from "./dom.js";
import { findingLine, severityMark } from "./phrases.js";
import { say } from "../words/index.js";

/** @import {WalkEnv} from "./env.js" */
/** @import {FindingEntry, StationView} from "../types.js" */

/**
 * @param {WalkEnv} env
 * @param {StationView} station
 */
export function extrasAt(env, station) {
  const node = h("section", { class: "sheet", "aria-label": say("else.title") });
  const place = { station: station.id };

  /** @param {FindingEntry} extra */
  const line = (extra) => {
    const words = findingLine(extra, null);
    const remove = async () => {
      await env.app.attempt(() => env.app.log.unmark(env.walk, place, extra.id));
      await env.changed();
    };
    return h(
      "div",
      { class: "found" },
      extra.severity && severityMark(extra.severity),
      h("p", null, words),
      h(
        "div",
        { class: "row" },
        small(say("slot.change"), words, () => env.openForm({ place, corrects: extra })),
        small(say("slot.remove"), words, () => void remove()),
      ),
    );
  };

  const update = () => {
    const own = env.walk.extras.filter((extra) => extra.station === station.id && !extra.verdict);
    const draft = env.drafts.has(draftKey("finding", env.walk.walk, place));
    refill(
      node,
      h("h3", null, say("else.title")),
      own.map(line),
      draft &&
        h(
          "div",
          { class: "notice" },
          h("p", null, say("slot.draft")),
          small(say("slot.draft-open"), say("else.title"), () => env.openForm({ place }), "plain"),
        ),
    );
    node.hidden = own.length === 0 && !draft;
  };
  update();
  return { node, update };
}
