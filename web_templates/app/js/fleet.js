/** The edition as the screens need it: one vehicle with its pools looked up, and what a round asks of it. */

/** @import {CheckView, Edition, Place, Round, StationView, VehicleView} from "./types.js" */

/**
 * @param {Edition} edition
 * @param {string} id
 * @returns {VehicleView | null} null where the edition has no such vehicle
 */
export function vehicleView(edition, id) {
  const vehicle = edition.vehicles.find((candidate) => candidate.id === id);
  if (!vehicle) return null;
  const stations = vehicle.stations.map(([number, checks]) => ({
    ...at(edition.stations, number),
    checks: checks.map((place) => checkView(at(edition.checks, place))),
  }));
  return {
    id: vehicle.id,
    name: vehicle.name,
    kind: vehicle.kind,
    location: vehicle.location,
    state: vehicle.state ?? "runner",
    fluids: vehicle.fluids ?? {},
    facts: vehicle.facts ?? {},
    stations,
  };
}

/**
 * The stations of a round in walking order, each with only that round's checks; a station without any is left out.
 * @param {VehicleView} vehicle
 * @param {Round} round
 * @returns {StationView[]}
 */
export function stationsOf(vehicle, round) {
  return vehicle.stations
    .map((station) => ({ ...station, checks: station.checks.filter((check) => asks(check, round)) }))
    .filter((station) => station.checks.length > 0);
}

/**
 * Every place a check is marked at: one for each spot, or one.
 * @param {CheckView} check
 * @returns {Place[]}
 */
export function placesOf(check) {
  const place = { station: check.station, check: check.id };
  return check.spots.length ? check.spots.map((spot) => ({ ...place, spot })) : [place];
}

/**
 * Seconds that these stations should take.
 * @param {StationView[]} stations
 */
export function secondsOf(stations) {
  return stations.flatMap((station) => station.checks).reduce((sum, check) => sum + check.seconds, 0);
}

/**
 * One text for a place, to look marks up by.
 * @param {{station?: string, check?: string, spot?: string}} place
 */
export function placeKey(place) {
  return `${place.check ?? place.station ?? ""}\n${place.spot ?? ""}`;
}

/**
 * Today's check for an id of an earlier edition.
 * @param {VehicleView} vehicle
 * @param {string} id
 * @returns {CheckView | null}
 */
export function checkOf(vehicle, id) {
  const checks = vehicle.stations.flatMap((station) => station.checks);
  return checks.find((check) => check.id === id) ?? checks.find((check) => check.formerly?.includes(id)) ?? null;
}

/**
 * @param {CheckView} check
 * @param {Round} round `full` asks every check
 */
function asks(check, round) {
  return round === "full" || check.rounds.includes(round);
}

/**
 * @param {import("./types.js").EditionCheck} check
 * @returns {CheckView}
 */
function checkView(check) {
  return {
    ...check,
    station: check.id.slice(0, check.id.indexOf("/")),
    rounds: check.rounds ?? ["full"],
    seconds: check.seconds ?? 20,
    spots: check.spots ?? [],
  };
}

/**
 * @template T
 * @param {T[]} pool
 * @param {number} number
 * @returns {T}
 */
function at(pool, number) {
  const item = pool[number];
  if (item === undefined) throw new RangeError(`the edition has no item ${number}`);
  return item;
}
