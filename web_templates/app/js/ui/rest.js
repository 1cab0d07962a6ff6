// "The rest of this station is sound": two steps, and written down as such.

import { h } from "./dom.js";
import { askRestSound } from "./questions.js";
import { restOf } from "./tally.js";
import { say } from "../words/index.js";

/** @import {WalkEnv} from "./env.js" */
/** @import {CheckView, Place, StationView} from "../types.js" */

/**
 * @param {WalkEnv} env
 * @param {StationView} station
 */
export function restSound(env, station) {
  const button = h("button", { type: "button", class: "act act-plain act-wide", on: { click: () => void speak() } });
  async function speak() {
    const places = restOf(env.walk, station, env.known, env.drafts);
    const checks = station.checks.filter((check) => places.some((place) => place.check === check.id));
    const names = checks.map((check) => namesOf(check, places));
    if (places.length === 0 || !(await askRestSound(names, places.length))) return;
    const { walk, vehicle } = env.walk;
    await env.app.attempt(() =>
      env.app.log.appendAll(
        places.map(({ check, spot }) => ({
          kind: /** @type {const} */ ("finding"),
          walk,
          vehicle,
          ...(check && { check }),
          ...(spot && { spot }),
          result: /** @type {const} */ ("sound"),
          how: "rest of station",
          photos: [],
        })),
      ),
    );
    await env.changed();
  }

  const update = () => {
    const n = restOf(env.walk, station, env.known, env.drafts).length;
    button.textContent = say("rest.open", { n });
    button.hidden = n < 2;
  };
  return { node: button, update };
}

/**
 * A check with those of its spots that are meant: "Top rollers: 2, 3".
 * @param {CheckView} check
 * @param {Place[]} places
 */
function namesOf(check, places) {
  const spots = places.filter((place) => place.check === check.id && place.spot).map((place) => place.spot);
  return spots.length > 0 ? `${check.ask}: ${spots.join(", ")}` : check.ask;
}
