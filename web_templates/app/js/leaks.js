/** The published leak table and its never-rules, read from the edition. Pure. */

/** @import {Leak, LeakRule, LeakRules, NeverRule, Round, Severity} from "./types.js" */

const GRAVEST_FIRST = ["dangerous", "major", "minor", "advisory"];

/**
 * @typedef {object} LeakCall
 * @property {Severity} severity
 * @property {LeakRule} rule `id` finds the instruction in another language
 * @property {NeverRule | null} never a floor that no helper can go below
 */

/**
 * What the table says of a leak.
 * @param {LeakRules} table
 * @param {string} fluid as the check's `leak` names it
 * @param {Leak} leak
 * @param {string} found "before", "during" or "after" running: foundOn(), or "during" from a driver
 * @returns {LeakCall}
 */
export function callLeak(table, fluid, leak, found) {
  const group = groupOf(table, fluid);
  const seen = {
    groups: group,
    classes: leak.stream ? 3 : leak.class,
    found,
    flows: leak.stream ? "stream" : "drops",
    levels: leak.level_ok === null ? "not looked at" : leak.level_ok ? "in range" : "low",
  };
  const rule = table.rules.find((candidate) => matches(candidate, seen));
  if (!rule) throw new RangeError(`the leak table has no rule for ${JSON.stringify(seen)}`);
  const never = neverRule(table, fluid);
  return { severity: never ? graver(rule.severity, never.floor) : rule.severity, rule, never };
}

/**
 * When a leak found on a round was found.
 * @param {LeakRules} table
 * @param {Round} round
 */
export function foundOn(table, round) {
  return table.found_on[round] ?? "after";
}

/**
 * @param {LeakRules} table
 * @param {string} fluid
 * @returns {NeverRule | null}
 */
export function neverRule(table, fluid) {
  const group = groupOf(table, fluid);
  return table.never.find((rule) => rule.groups.includes(group)) ?? null;
}

/**
 * @param {Severity} a
 * @param {Severity} b
 * @returns {Severity} the graver of the two
 */
export function graver(a, b) {
  return GRAVEST_FIRST.indexOf(a) <= GRAVEST_FIRST.indexOf(b) ? a : b;
}

/** The builder lets no fluid through that the table does not know. @param {LeakRules} table @param {string} fluid */
function groupOf(table, fluid) {
  return table.fluids[fluid.trim().toLowerCase()] ?? "other";
}

/** @param {LeakRule} rule @param {Record<"groups" | "classes" | "found" | "flows" | "levels", string | number>} seen */
function matches(rule, seen) {
  return /** @type {const} */ (["groups", "classes", "found", "flows", "levels"]).every((field) => {
    const wanted = /** @type {(string | number)[] | undefined} */ (rule[field]);
    return !wanted?.length || wanted.includes(seen[field]);
  });
}
