/** Known defects from the workshop: kept by vehicle, matched to today's checks, with what a new walk then knows. */

import { AppError } from "./errors.js";
import { stamp } from "./clock.js";
import { checkOf, placeKey, placesOf, stationsOf } from "./fleet.js";

/** @import {Carry, CarriedStanding, CarryHead, KnownDefect, Knows, Round, StationView, VehicleView} from "./types.js" */
/** @import {Storage} from "./storage.js" */

/** @typedef {{vehicle: string, defects: KnownDefect[], standing: CarriedStanding | null, pictures: Record<string, string>}} Carried */

const SEVERITIES = ["dangerous", "major", "minor", "advisory"];

/**
 * Reads a carry. Throws AppError "carry-unreadable", or "carry-foreign" where it is another fleet's.
 * @param {string} text
 * @param {string} code this fleet's
 * @returns {Carry}
 */
export function readCarry(text, code) {
  /** @type {Partial<Carry> | null} */
  let carry = null;
  try {
    carry = JSON.parse(text);
  } catch {
    // Told below, as anything else that is no carry.
  }
  if (carry?.carry !== true || !Array.isArray(carry.defects) || typeof carry.knows !== "object" || carry.knows === null) {
    throw new AppError("carry-unreadable");
  }
  if (carry.fleet !== code) throw new AppError("carry-foreign", { found: String(carry.fleet), expected: code });
  return /** @type {Carry} */ ({ ...carry, defects: carry.defects.filter(isDefect) });
}

/**
 * Where each known defect is asked: at its check's place today, at its station, or for the vehicle as a whole.
 * @param {VehicleView} vehicle
 * @param {KnownDefect[]} defects
 * @returns {{at: Map<string, KnownDefect[]>, stations: Map<string, KnownDefect[]>, rest: KnownDefect[]}} `at` by placeKey()
 */
export function placed(vehicle, defects) {
  /** @type {Map<string, KnownDefect[]>} */
  const at = new Map();
  /** @type {Map<string, KnownDefect[]>} */
  const stations = new Map();
  const rest = [];
  for (const defect of defects) {
    const check = defect.check ? checkOf(vehicle, defect.check) : null;
    const spot = defect.spot ?? "";
    const station = check?.station ?? defect.station;
    if (check && (spot ? check.spots.includes(spot) : check.spots.length === 0)) {
      add(at, placeKey({ check: check.id, spot }), defect);
    } else if (vehicle.stations.some(({ id }) => id === station)) add(stations, String(station), defect);
    else rest.push(defect);
  }
  return { at, stations, rest };
}

/**
 * The stations of a walk: what its round asks, and each temporary repair, whether or not the round asks its check.
 * @param {VehicleView} vehicle
 * @param {Round} round
 * @param {KnownDefect[]} defects
 * @returns {StationView[]} in walking order, each with only the checks asked
 */
export function askedOn(vehicle, round, defects) {
  const asked = new Set(stationsOf(vehicle, round).flatMap((station) => station.checks.map((check) => check.id)));
  const { at } = placed(
    vehicle,
    defects.filter((defect) => defect.temporary_until),
  );
  return vehicle.stations
    .map((station) => ({
      ...station,
      checks: station.checks.filter((check) => asked.has(check.id) || placesOf(check).some((place) => at.has(placeKey(place)))),
    }))
    .filter((station) => station.checks.length > 0);
}

/**
 * A vehicle's standing today: as the workshop last gave it, and stopped where a temporary repair has lapsed since.
 * @param {Carried | null} carried
 * @param {string} today ISO date; a repair holds through the day it names
 * @returns {{standing: CarriedStanding | null, lapsed: KnownDefect[]}} standing null: nothing has come from the workshop
 */
export function standingOn(carried, today) {
  const lapsed = (carried?.defects ?? []).filter(({ temporary_until }) => temporary_until && temporary_until < today);
  const given = carried?.standing ?? null;
  if (lapsed.length === 0) return { standing: given, lapsed };
  const barred = [...new Set([...(given?.barred ?? []), "start", "drive"])];
  const moves = (given?.moves ?? []).filter((move) => move !== "own power");
  return { standing: { standing: "stopped", barred, moves }, lapsed };
}

export class Carries {
  /** @param {Storage} storage @param {string} code @param {() => Date} [now] */
  constructor(storage, code, now = () => new Date()) {
    this.storage = storage;
    this.code = code;
    this.now = now;
  }

  /**
   * Keeps a carry in place of the one before; one that knows less than what is kept changes nothing.
   * @param {string} text
   * @param {string} [etag]
   * @returns {Promise<{kept: boolean, head: CarryHead}>}
   */
  async take(text, etag = "") {
    const { defects, pictures = {}, standing = {}, ...rest } = readCarry(text, this.code);
    const head = { ...rest, count: defects.length, kept: stamp(this.now()), etag };
    return this.storage.write(["state", "carry"], async (work) => {
      const before = await work.get("state", "carry");
      if (before && isOlder(head.knows, before.knows)) return { kept: false, head: before };
      await work.clear("carry");
      for (const carried of byVehicle(defects, standing, pictures)) await work.put("carry", carried);
      await work.put("state", head, "carry");
      return { kept: true, head };
    });
  }

  /** @returns {Promise<(CarryHead & {etag: string}) | null>} */
  async head() {
    return (await this.storage.read(["state"], (work) => work.get("state", "carry"))) ?? null;
  }

  /** What a walk that starts now knows. @returns {Promise<Knows>} */
  async knows() {
    return (await this.head())?.knows ?? {};
  }

  /** @param {string} vehicle @returns {Promise<Carried>} */
  async of(vehicle) {
    const carried = await this.storage.read(["carry"], (work) => work.get("carry", vehicle));
    return carried ?? { vehicle, defects: [], standing: null, pictures: {} };
  }

  /** Standing and number of known defects of every vehicle, for the board. @returns {Promise<Map<string, Carried>>} */
  async all() {
    /** @type {Carried[]} */
    const all = await this.storage.read(["carry"], (work) => work.getAll("carry"));
    return new Map(all.map((carried) => [carried.vehicle, carried]));
  }
}

/** @param {unknown} value */
function isDefect(value) {
  const defect = /** @type {Partial<KnownDefect>} */ (value);
  return typeof defect?.defect === "string" && typeof defect.vehicle === "string" && SEVERITIES.includes(String(defect.severity));
}

/** True where `knows` is nowhere ahead of `before`, and somewhere behind. @param {Knows} knows @param {Knows} before */
function isOlder(knows, before) {
  const devices = [...Object.keys(knows), ...Object.keys(before)];
  const gains = devices.map((device) => (knows[device] ?? 0) - (before[device] ?? 0));
  return gains.every((gain) => gain <= 0) && gains.some((gain) => gain < 0);
}

/**
 * @param {KnownDefect[]} defects @param {Record<string, CarriedStanding>} standing @param {Record<string, string>} pictures
 * @returns {Carried[]}
 */
function byVehicle(defects, standing, pictures) {
  const vehicles = new Set([...Object.keys(standing), ...defects.map(({ vehicle }) => vehicle)]);
  return [...vehicles].map((vehicle) => {
    const own = defects.filter((defect) => defect.vehicle === vehicle);
    const hashes = own.flatMap((defect) => defect.photos ?? []).filter((sha) => pictures[sha]);
    const shown = Object.fromEntries(hashes.map((sha) => [sha, /** @type {string} */ (pictures[sha])]));
    return { vehicle, defects: own, standing: standing[vehicle] ?? null, pictures: shown };
  });
}

/** @template T @param {Map<string, T[]>} map @param {string} key @param {T} item */
function add(map, key, item) {
  map.set(key, [...(map.get(key) ?? []), item]);
}
