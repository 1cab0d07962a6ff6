/** The shapes that cross a module's boundary; no code. Words of the wire are those of the hand-in format. */

/** @typedef {"dangerous" | "major" | "minor" | "advisory"} Severity */
/** @typedef {"before" | "hot" | "cold" | "full"} Round */
/** @typedef {"sound" | "defect" | "unchecked"} Result */
/** @typedef {"same" | "worse" | "gone"} Verdict */
/** @typedef {Record<string, number>} Knows device -> highest seq that its writer's state included */
/** @typedef {{value: number, unit: string}} Reading */
/** @typedef {{class: 1 | 2 | 3, stream: boolean, level_ok: boolean | null}} Leak */

/**
 * What every entry has. `at` is RFC 3339 with offset and milliseconds, by this phone's clock.
 * @typedef {object} EntryBase
 * @property {string} id UUIDv7
 * @property {string} device
 * @property {number} seq
 * @property {string} at
 * @property {string} by initials of who wrote it
 * @property {string} edition
 * @property {string} [corrects] id of an earlier entry of this device, taken back and replaced
 */

/** @typedef {{check: string, spot?: string, why?: string}} NotLookedAt */

/**
 * @typedef {object} WalkFields
 * @property {"walk"} kind
 * @property {string} walk
 * @property {string} vehicle
 * @property {Round} round
 * @property {string} day ISO date, confirmed by the walker
 * @property {"started" | "finished"} state
 * @property {Knows} knows
 * @property {number} covered
 * @property {number} of
 * @property {NotLookedAt[]} [unchecked]
 */

/**
 * Without `check` it is something else. `severity` always, of a defect.
 * @typedef {object} FindingFields
 * @property {"finding"} kind
 * @property {string} [walk]
 * @property {string} vehicle
 * @property {string} [check]
 * @property {string} [station]
 * @property {string} [spot]
 * @property {Result} result
 * @property {string} [why] mud, dark, hot, locked, time, or the walker's own words; none: the mark was taken back
 * @property {string} [fault]
 * @property {Severity} [severity]
 * @property {Reading} [reading]
 * @property {Leak} [leak]
 * @property {boolean} [put_right]
 * @property {string} [how] "rest of station"
 * @property {string} [note]
 * @property {string[]} photos
 * @property {Verdict} [verdict]
 * @property {string} [defect] opening id of the known defect a verdict speaks of
 */

/**
 * @typedef {object} ReportFields
 * @property {"report"} kind
 * @property {string} vehicle
 * @property {"driver" | "visitor" | "other"} source
 * @property {string} symptom
 * @property {string} [conditions]
 * @property {string[]} photos
 */

/**
 * @typedef {object} RunFields
 * @property {"run"} kind
 * @property {string} vehicle
 * @property {string} day
 * @property {number} [hours]
 * @property {number} [distance]
 * @property {number} [laps]
 * @property {string} [driver]
 * @property {number} [fuel]
 * @property {string} [conditions]
 */

/**
 * @typedef {object} FluidFields
 * @property {"fluid"} kind
 * @property {string} vehicle
 * @property {string} fluid
 * @property {number} litres
 * @property {string} [day]
 * @property {string} [level_before]
 * @property {string} [level_after]
 */

/** @typedef {WalkFields | FindingFields | ReportFields | RunFields | FluidFields} Fields what a caller says; the log adds the rest */
/** @typedef {EntryBase & WalkFields} WalkEntry */
/** @typedef {EntryBase & FindingFields} FindingEntry */
/** @typedef {EntryBase & ReportFields} ReportEntry */
/** @typedef {EntryBase & RunFields} RunEntry */
/** @typedef {EntryBase & FluidFields} FluidEntry */
/** @typedef {WalkEntry | FindingEntry | ReportEntry | RunEntry | FluidEntry} Entry */

/**
 * An entry as it is kept: its line is the bytes that leave the phone, for ever. Key: [device, seq].
 * @typedef {object} EntryRecord
 * @property {string} device
 * @property {number} seq
 * @property {string} id
 * @property {string} kind
 * @property {string} [walk]
 * @property {string} line JSON without line end
 */

/** @typedef {{sha256: string, type: "image/jpeg", bytes: ArrayBuffer | null, at: string}} PhotoRecord bytes null: let go, the workshop holds it */

/**
 * A form being filled in; kept at every pause. `key` from draftKey().
 * @typedef {object} Draft
 * @property {string} key
 * @property {string} at
 * @property {Record<string, unknown>} data the form's own fields
 */

/* ---- the edition, as builder/edition.py writes it ---- */

/** @typedef {{initials: string, lead?: boolean, signs_off?: string[]}} Person */

/**
 * @typedef {object} Limits
 * @property {string} quantity
 * @property {string} unit
 * @property {number | null} [low]
 * @property {number | null} [high]
 * @property {number} [tolerance]
 * @property {number | null} [least]
 * @property {number | null} [most]
 */

/**
 * @typedef {object} Fault
 * @property {string} id
 * @property {string} name
 * @property {Severity} severity
 * @property {string[]} [bars]
 */

/**
 * @typedef {object} EditionCheck
 * @property {string} id station/check
 * @property {string} ask
 * @property {Round[]} [rounds] default ["full"]
 * @property {string} [condition]
 * @property {string} [system]
 * @property {number} [seconds] default 20
 * @property {string} [how]
 * @property {string[]} [spots]
 * @property {string[]} [formerly]
 * @property {Limits} [reading]
 * @property {string} [reckon] the trade calculation its reading goes into
 * @property {string} [leak]
 * @property {string} [caution]
 * @property {Fault[]} faults
 */

/** @typedef {{id: string, name: string, order: number, at: [number, number], mirror?: string}} EditionStation */

/**
 * @typedef {object} EditionVehicle
 * @property {string} id
 * @property {string} name
 * @property {string} kind
 * @property {string} location
 * @property {number} [display_weight]
 * @property {string} [state]
 * @property {string} [first_used]
 * @property {string} [owner]
 * @property {Record<string, string>} [fluids]
 * @property {Record<string, number | string>} [facts]
 * @property {[number, number[]][]} stations
 */

/**
 * @typedef {object} LeakRule
 * @property {string} id
 * @property {Severity} severity
 * @property {string} instruction
 * @property {string} source
 * @property {string[]} [groups]
 * @property {number[]} [classes]
 * @property {string[]} [found]
 * @property {string[]} [flows]
 * @property {string[]} [levels]
 * @property {string[]} [bars]
 */

/** @typedef {{id: string, groups: string[], floor: Severity, words: string, source: string}} NeverRule */

/**
 * @typedef {object} LeakRules
 * @property {[string, string, string]} classes
 * @property {Record<string, string>} fluids
 * @property {Record<Round, string>} found_on
 * @property {LeakRule[]} rules
 * @property {NeverRule[]} never
 */

/** @typedef {Record<string, Record<string, [number, number]>>} Conversions quantity -> unit -> [factor, offset] to the base unit */

/**
 * @typedef {object} Edition
 * @property {string} edition fingerprint
 * @property {string} code
 * @property {string} name
 * @property {string} language
 * @property {"metric" | "imperial"} units
 * @property {Person[]} people
 * @property {{name: string, date: string}[]} display_days
 * @property {Conversions} conversions
 * @property {Record<string, [number | null, number | null]>} plausible quantity -> least and most in its base unit
 * @property {LeakRules} leak_rules
 * @property {EditionStation[]} stations
 * @property {EditionCheck[]} checks
 * @property {EditionVehicle[]} vehicles
 */

/* ---- views ---- */

/** @typedef {EditionCheck & {station: string, rounds: Round[], seconds: number, spots: string[]}} CheckView */
/** @typedef {EditionStation & {checks: CheckView[]}} StationView */

/**
 * One vehicle with its pools looked up, stations in walking order.
 * @typedef {object} VehicleView
 * @property {string} id
 * @property {string} name
 * @property {string} kind
 * @property {string} location
 * @property {string} state
 * @property {Record<string, string>} fluids
 * @property {Record<string, number | string>} facts
 * @property {StationView[]} stations
 */

/** @typedef {{station: string, check?: string, spot?: string}} Place where a finding is; no check: something else at the station */

/**
 * One walk as this phone's log has it: corrected entries are gone.
 * @typedef {object} WalkView
 * @property {string} walk
 * @property {string} vehicle
 * @property {Round} round
 * @property {string} day
 * @property {string} by
 * @property {Knows} knows
 * @property {WalkEntry} started
 * @property {WalkEntry | null} finished
 * @property {Map<string, FindingEntry[]>} marks placeKey() -> the findings that hold there, oldest first
 * @property {FindingEntry[]} extras something else
 */

/** @typedef {{done: number, of: number, unchecked: NotLookedAt[], seconds: number}} Coverage `seconds`: what is left should take */

/**
 * One open defect as the workshop sends it back.
 * @typedef {object} KnownDefect
 * @property {string} defect opening entry's id
 * @property {string} code as shown
 * @property {string} vehicle
 * @property {string} [station]
 * @property {string} [check]
 * @property {string} [spot]
 * @property {string} [fault]
 * @property {string} fault_name
 * @property {Severity} severity in force
 * @property {string} status
 * @property {string} first_day
 * @property {string} last_day
 * @property {string[]} seen_by initials
 * @property {string} [note]
 * @property {Reading} [reading]
 * @property {string[]} [photos]
 * @property {boolean} [worse]
 * @property {string} [conflict] in words
 * @property {string} [temporary_until]
 * @property {string[]} [bars]
 */

/** @typedef {{standing: "fit" | "limited" | "stopped", barred: string[], moves: string[]}} CarriedStanding */

/**
 * Known defects of every vehicle, as GET /door/carry and a carry file give them.
 * @typedef {object} Carry
 * @property {1} driptray
 * @property {true} carry
 * @property {string} fleet
 * @property {string} edition
 * @property {string} made
 * @property {Knows} knows
 * @property {KnownDefect[]} defects
 * @property {Record<string, CarriedStanding>} [standing]
 * @property {Record<string, string>} [pictures] sha256 -> base64 of a small JPEG
 */

/** @typedef {Omit<Carry, "defects" | "pictures" | "standing"> & {count: number, kept: string}} CarryHead */

/** @typedef {{entries: number, photos: number}} Pending not yet at the workshop */

/**
 * What the workshop said it holds, when it was last asked. Ranges of seq, both ends in.
 * @typedef {object} Workshop
 * @property {string} seen when, by this phone's clock
 * @property {string} url
 * @property {string} name
 * @property {string} edition
 * @property {number} offset_s this phone's clock minus the workshop's
 * @property {Record<string, [number, number][]>} entries by device
 * @property {string[]} photos
 * @property {string[]} backed_up photos that a backup holds
 */

/**
 * One line of "Ready for the field". `ok` null: cannot be told here. Words for `id` and `state` are in the catalogue.
 * @typedef {object} ReadyItem
 * @property {"secure" | "worker" | "files" | "home" | "persistent" | "room" | "private" | "clock" | "camera" | "workshop" | "known" | "saving"} id
 * @property {boolean | null} ok
 * @property {string} state a word for the catalogue, e.g. "missing-files"
 * @property {Record<string, string | number>} values to fill into the words
 */

export {};
