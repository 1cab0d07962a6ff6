/** Times as entries carry them: this phone's own clock, which is shown and decides nothing. */

/**
 * RFC 3339 with offset and milliseconds, "2026-10-18T08:31:02.120+01:00".
 * @param {Date} date
 * @returns {string}
 */
export function stamp(date) {
  const minutes = -date.getTimezoneOffset();
  const local = new Date(date.getTime() + minutes * 60_000);
  const sign = minutes < 0 ? "-" : "+";
  const ahead = Math.abs(minutes);
  const offset = `${two(Math.floor(ahead / 60))}:${two(ahead % 60)}`;
  return `${local.toISOString().slice(0, -1)}${sign}${offset}`;
}

/**
 * The calendar day where the phone is, "2026-10-18".
 * @param {Date} date
 */
export function dayOf(date) {
  return stamp(date).slice(0, 10);
}

/**
 * Whole days from one ISO date to a later one.
 * @param {string} from
 * @param {string} to
 */
export function daysBetween(from, to) {
  return Math.round((Date.parse(to) - Date.parse(from)) / 86_400_000);
}

/** @param {number} number */
function two(number) {
  return String(number).padStart(2, "0");
}
