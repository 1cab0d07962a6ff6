// The four severities to choose from, one proposed, none below what a published rule allows.

import { h, refill } from "./dom.js";
import { choice } from "./choice.js";
import { severityMark, severityWord } from "./phrases.js";
import { say } from "../words/index.js";

/** @import {Severity} from "../types.js" */

const GRAVEST_FIRST = /** @type {const} */ (["dangerous", "major", "minor", "advisory"]);

/**
 * @param {Severity | null} value
 * @param {(severity: Severity) => void} chosen
 * @returns {{node: HTMLElement, show: (value: Severity | null, proposed: Severity | null, floor: Severity | null) => void}}
 */
export function severityChoice(value, chosen) {
  const node = h("div", null);
  /** @param {Severity | null} now @param {Severity | null} proposed @param {Severity | null} floor */
  const show = (now, proposed, floor) => {
    const least = floor ? GRAVEST_FIRST.indexOf(floor) : GRAVEST_FIRST.length;
    const plates = choice({
      name: say("form.severity"),
      kind: "rows severities",
      value: now,
      options: GRAVEST_FIRST.map((severity, place) => ({
        value: severity,
        word: severityWord(severity),
        note: severity === proposed ? say("form.proposed") : "",
        small: place > least ? say("severity.below-floor") : say(`severity.${severity}-means`),
        barred: place > least,
        end: severityMark(severity).firstChild,
      })),
      chosen: (severity) => chosen(/** @type {Severity} */ (severity)),
    });
    const focused = node.contains(document.activeElement);
    refill(node, plates.node);
    if (focused) /** @type {HTMLElement | null} */ (node.querySelector("input:checked"))?.focus();
  };
  show(value, null, null);
  return { node, show };
}
