// What is asked of a leak: its class, drops or a stream, and the level; the published table does the rest.

import { h } from "./dom.js";
import { choice } from "./choice.js";
import { say } from "../words/index.js";

/** @import {Leak} from "../types.js" */

const LEVELS = /** @type {const} */ ([
  ["ok", true],
  ["low", false],
  ["unseen", null],
]);

/**
 * @param {Partial<Leak>} first
 * @param {(leak: Partial<Leak>) => void} changed
 */
export function leakFields(first, changed) {
  let leak = { ...first };
  /** @param {Partial<Leak>} change */
  const change = (change) => {
    leak = { ...leak, ...change };
    flow.node.hidden = leak.class !== 3;
    changed(leak);
  };
  const flow = choice({
    name: say("leak.flow"),
    value: leak.stream === undefined ? null : leak.stream ? "stream" : "drops",
    options: [
      { value: "drops", word: say("leak.drops") },
      { value: "stream", word: say("leak.stream") },
    ],
    chosen: (value) => change({ stream: value === "stream" }),
  });
  flow.node.hidden = leak.class !== 3;
  const classes = choice({
    name: say("leak.class"),
    kind: "rows",
    value: leak.class ? String(leak.class) : null,
    options: /** @type {const} */ ([1, 2, 3]).map((number) => ({
      value: String(number),
      word: say("leak.class-number", { number }),
      small: say(`leak.class-${number}`),
    })),
    chosen: (value) => change({ class: /** @type {1 | 2 | 3} */ (Number(value)) }),
  });
  const level = choice({
    name: say("leak.level"),
    value: LEVELS.find(([, ok]) => ok === leak.level_ok)?.[0] ?? null,
    options: LEVELS.map(([value]) => ({ value, word: say(`leak.level-${value}`) })),
    chosen: (value) => change({ level_ok: LEVELS.find(([name]) => name === value)?.[1] ?? null }),
  });
  return h("div", { class: "stack-wide" }, classes.node, flow.node, level.node);
}
