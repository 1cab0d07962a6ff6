// One known defect at its place, and its three answers: a tap each, nothing typed twice.

import { h, refill } from "./dom.js";
import { choice } from "./choice.js";
import { ageWords, quantity, severityMark, severityWord } from "./phrases.js";
import { say, shortDay } from "../words/index.js";

/** @import {WalkEnv} from "./env.js" */
/** @import {FindingEntry, KnownDefect, Place, Verdict} from "../types.js" */

/**
 * @param {WalkEnv} env
 * @param {KnownDefect} defect
 * @param {Place} place
 * @returns {{node: HTMLElement, update: () => void}}
 */
export function knownCard(env, defect, place) {
  const more = h("div", { class: "row" });
  const answers = choice({
    name: say("known.name", { fault: place.spot ? `${defect.fault_name}, ${place.spot}` : defect.fault_name }),
    kind: "targets",
    options: [
      { value: "same", word: say("known.same") },
      { value: "worse", word: say("known.worse"), kind: "target-defect" },
      { value: "gone", word: say("known.gone"), kind: "target-gone" },
    ],
    lead: facts(env, defect),
    chosen: (value, again) => void answer(/** @type {Verdict} */ (value), again),
  });
  const node = h("div", { class: "known" }, answers.node, more);

  /**
   * @param {Verdict} verdict
   * @param {boolean} again
   */
  async function answer(verdict, again) {
    const before = answerTo(env, defect);
    answers.state("saving");
    await env.app.attempt(async () => {
      if (again && before) await env.app.log.unmark(env.walk, place, before.id);
      else await env.app.log.mark(env.walk, place, verdictOf(defect, verdict), { also: true, ...(before && { corrects: before.id }) });
    });
    answers.state("");
    await env.changed();
  }

  function update() {
    const said = answerTo(env, defect);
    answers.set(said?.verdict ?? null);
    refill(
      more,
      said &&
        said.verdict !== "gone" &&
        h(
          "button",
          { type: "button", class: "act act-quiet", on: { click: () => env.openForm({ place, corrects: said }) } },
          say(said.verdict === "worse" ? "known.say-worse" : "known.say-more"),
        ),
    );
    more.hidden = !said || said.verdict === "gone";
  }
  update();
  return { node, update };
}

/**
 * What this walk said of a known defect.
 * @param {WalkEnv} env
 * @param {KnownDefect} defect
 * @returns {FindingEntry | undefined}
 */
export function answerTo(env, defect) {
  return [...env.walk.marks.values(), env.walk.extras].flat().find((mark) => mark.defect === defect.defect);
}

/**
 * @param {KnownDefect} defect
 * @param {Verdict} verdict
 */
export function verdictOf(defect, verdict) {
  /** @type {"sound" | "defect"} */
  const result = verdict === "gone" ? "sound" : "defect";
  return {
    result,
    verdict,
    defect: defect.defect,
    ...(defect.fault && { fault: defect.fault }),
    ...(verdict !== "gone" && { severity: defect.severity }),
  };
}

/**
 * @param {WalkEnv} env
 * @param {KnownDefect} defect
 */
function facts(env, defect) {
  const known = [ageWords(defect, env.app.today()), defect.reading && quantity(defect.reading.value, defect.reading.unit)];
  const pictures = (defect.photos ?? []).map((sha) => env.pictures[sha]).filter(Boolean);
  return h(
    "div",
    { class: "known-facts" },
    h(
      "p",
      { class: "row" },
      severityMark(defect.severity),
      h("span", { class: "soft" }, known.filter(Boolean).join(" · ")),
    ),
    defect.note &&
      h(
        "p",
        { class: "kept-lines" },
        `“${defect.note}”`,
        defect.seen_by.length > 0 && h("span", { class: "soft" }, ` ${defect.seen_by.join(", ")}`),
      ),
    defect.temporary_until && h("p", null, say("known.temporary", { day: shortDay(defect.temporary_until) })),
    defect.conflict && h("p", null, say("known.conflict", { what: defect.conflict })),
    pictures.length > 0 &&
      h(
        "div",
        { class: "thumbs" },
        pictures.map((data) =>
          h("img", {
            src: `data:image/jpeg;base64,${data}`,
            alt: say("known.photo", { fault: defect.fault_name, severity: severityWord(defect.severity) }),
            class: "thumb",
          }),
        ),
      ),
  );
}
