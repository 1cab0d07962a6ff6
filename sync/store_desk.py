"""What the desk's pages ask beside the lists: one check's looks, what was said of a thing, what has no place yet.

looks_at(vehicle, check, spot="") -> tuple[Look, ...]      findings at one place, oldest day first
looks_of(vehicle, walks) -> tuple[Look, ...]               the findings of some of its walks
last_looks(vehicle, checks) -> {(check, spot): day}        when each was last looked at, sound or not
said_about(names) -> tuple[EntryRow, ...]                  rulings and work about a thing, as they came
latest(kind, limit) -> tuple[EntryRow, ...]                the newest of a kind that is no finding
at_check(vehicle, check, spot="") -> tuple[Defect, ...]    open and closed defects there
holding(vehicle) -> tuple[Defect, ...]                     open ones that stop an access step
to_place() -> tuple[Defect, ...]                           open, and at no check that the fleet knows
by_station(vehicle) -> tuple[StationCount, ...]            open defects by station and severity
came_back(vehicle) -> tuple[CameBack, ...]                 faults of one place that were closed and seen again
due(until, limit) -> tuple[DueRow, ...]                    waits and repairs for now that end by a day
conflict_page(vehicle, limit, offset) -> Page[Conflict]    open ones first, then those only listed
conflicts_of(devices) -> tuple[Conflict, ...]              those with a side by one of some devices
conflict_counts(vehicle="") -> (open, only listed)
pair_page(vehicle, joined, limit, offset) -> Page[Pair]    nobody said (None), joined, or parted
pairs_of(vehicle, openings) -> tuple[Pair, ...]            the pairs that a defect is in
walks_under(devices) -> tuple[WalkState, ...]              the walks of devices whose ids begin so
open_revivals() -> int                                     open defects of vehicles that do not run yet
device_names() -> {device: name}; aside_counts() -> {code: lines}; wanted_by_device() -> {device: photos}
"""

import json
from collections.abc import Iterable, Sequence
from typing import NamedTuple

import msgspec

from sync.entries import Finding
from sync.state import Conflict, Defect, Pair, WalkState
from sync.store_read import StoreRead
from sync.store_rows import EntryRow, Page
from sync.store_seen import ENTRY, STANDS, STILL_ASIDE, entry_row

#: More pairs than that nobody goes through.
PAIRS_COUNTED = 10_000
_finding = msgspec.json.Decoder(Finding).decode
_FOUND = "e.body, ifnull(w.day, ''), ifnull(w.round, '')"


class Look(NamedTuple):
    """One finding and the occasion of its walk; both empty where the walk has not come."""

    finding: Finding
    day: str
    round: str


class StationCount(NamedTuple):
    station: str  # id
    severity: str
    defects: int


class CameBack(NamedTuple):
    """A fault of one place, with how many times it was opened; `codes` newest first."""

    check: str
    spot: str
    fault: str
    times: int
    first_seen: str
    last_seen: str
    codes: tuple[str, ...]


class DueRow(NamedTuple):
    """What ends on a day: a wait (`waits_for` says for what) or a repair for now (then that is empty)."""

    day: str
    code: str
    vehicle_name: str
    fault: str
    waits_for: str


class StoreDesk(StoreRead):
    def looks_at(self, vehicle: str, check: str, spot: str = "") -> tuple[Look, ...]:
        """Every finding at a check (and spot), what was corrected left out, oldest day first."""
        rows = self.rows(
            f"SELECT {_FOUND} FROM places AS p JOIN placed AS l ON l.place = p.number"
            " JOIN entries AS e ON e.number = l.entry LEFT JOIN walks AS w ON w.walk = e.walk AND w.device = e.device"
            f" WHERE p.vehicle = :vehicle AND p.check_id = :check AND (:spot = '' OR p.spot = :spot)"
            f" AND {STANDS} ORDER BY 2, e.device, e.seq",
            {"vehicle": vehicle, "check": check, "spot": spot},
        )
        return tuple(Look(_finding(body), day, round_) for body, day, round_ in rows)

    def looks_of(self, vehicle: str, walks: Sequence[str]) -> tuple[Look, ...]:
        """The findings of some of a vehicle's walks, what was corrected left out, oldest day first."""
        rows = self.rows(
            f"SELECT {_FOUND} FROM entries AS e JOIN walks AS w ON w.walk = e.walk AND w.device = e.device"
            f" WHERE e.kind = 'finding' AND e.walk <> '' AND e.walk IN (SELECT value FROM json_each(:walks))"
            f" AND {STANDS} ORDER BY 2, e.device, e.seq",
            {"vehicle": vehicle, "walks": json.dumps(list(walks))},
        )
        return tuple(Look(_finding(body), day, round_) for body, day, round_ in rows)

    def last_looks(self, vehicle: str, checks: Sequence[str]) -> dict[tuple[str, str], str]:
        """(check, spot) -> the newest day on which it was looked at, of these checks; "unchecked" is no look."""
        rows = self.rows(
            "SELECT p.check_id, p.spot, max(w.day) FROM json_each(:checks) AS j"
            " JOIN places AS p ON p.vehicle = :vehicle AND p.check_id = j.value"
            " JOIN placed AS l ON l.place = p.number JOIN entries AS e ON e.number = l.entry"
            " JOIN walks AS w ON w.walk = e.walk AND w.device = e.device"
            f" WHERE json_extract(e.body, '$.result') <> 'unchecked' AND {STANDS} GROUP BY 1, 2",
            {"vehicle": vehicle, "checks": json.dumps(list(checks))},
        )
        return {(row[0], row[1]): row[2] for row in rows}

    def said_about(self, names: Sequence[str]) -> tuple[EntryRow, ...]:
        """Rulings and work about any of these ids or names, in the order in which they came."""
        rows = self.rows(
            f"SELECT {ENTRY} FROM entries WHERE kind IN ('ruling', 'work') AND +fold = 2"
            " AND json_extract(body, '$.about') IN (SELECT value FROM json_each(?)) ORDER BY number",
            (json.dumps(list(names)),),
        )
        return tuple(entry_row(row) for row in rows)

    def latest(self, kind: str, limit: int) -> tuple[EntryRow, ...]:
        """The entries of a kind that came last, the newest first."""
        rows = self.rows(
            f"SELECT {ENTRY} FROM entries WHERE kind = ? AND fold = 2 ORDER BY number DESC LIMIT ?", (kind, limit)
        )
        return tuple(entry_row(row) for row in rows)

    def at_check(self, vehicle: str, check: str, spot: str = "") -> tuple[Defect, ...]:
        """Open and closed defects at a check (and spot), the newest first."""
        return self._defects(
            "vehicle = :vehicle AND check_id = :check AND (:spot = '' OR spot = :spot)"
            " ORDER BY open DESC, last_seen DESC, opening",
            {"vehicle": vehicle, "check": check, "spot": spot},
        )

    def holding(self, vehicle: str) -> tuple[Defect, ...]:
        """A vehicle's open defects that stop an access step."""
        return self._defects("vehicle = :vehicle AND open AND holding ORDER BY opening", {"vehicle": vehicle})

    def due(self, until: str, limit: int) -> tuple[DueRow, ...]:
        """Waits and repairs for now of open defects that end by a day, the first to end first."""
        rows = self.rows(
            "SELECT d.due, d.code, v.name, d.fault, d.waiting_for FROM defects AS d"
            " JOIN vehicles AS v ON v.vehicle = d.vehicle WHERE d.open AND d.due <> '' AND d.due <= :until"
            " UNION ALL SELECT d.temporary_until, d.code, v.name, d.fault, '' FROM defects AS d"
            " JOIN vehicles AS v ON v.vehicle = d.vehicle"
            " WHERE d.open AND d.temporary_until <> '' AND d.temporary_until <= :until"
            " ORDER BY 1, 2 LIMIT :limit",
            {"until": until, "limit": limit},
        )
        return tuple(DueRow(*row) for row in rows)

    def conflict_counts(self, vehicle: str = "") -> tuple[int, int]:
        """How many are open, and how many are only listed."""
        where = "WHERE vehicle = :vehicle" if vehicle else ""
        kinds = dict(
            self.rows(f"SELECT kind = 'changed', count(*) FROM conflicts {where} GROUP BY 1", {"vehicle": vehicle})
        )
        return kinds.get(0, 0), kinds.get(1, 0)

    def conflicts_of(self, devices: Iterable[str]) -> tuple[Conflict, ...]:
        """Those with a side by one of some devices, open or only listed."""
        named = json.dumps(sorted(devices))
        return (
            self._bodies(
                Conflict,
                "SELECT body FROM conflicts AS c WHERE EXISTS (SELECT 1 FROM json_each(?) AS j"
                " WHERE instr(c.body, '\"' || j.value || '\"')) ORDER BY vehicle, id",
                (named,),
            )
            if named != "[]"
            else ()
        )

    def conflict_page(self, vehicle: str, limit: int, offset: int = 0) -> Page[Conflict]:
        """Open conflicts by vehicle and id, then those that are only listed."""
        where = "WHERE vehicle = :vehicle" if vehicle else ""
        found = self._bodies(
            Conflict,
            f"SELECT body FROM conflicts {where} ORDER BY kind = 'changed', vehicle, id LIMIT :limit OFFSET :offset",
            {"vehicle": vehicle, "limit": limit, "offset": offset},
        )
        return Page(found, sum(self.conflict_counts(vehicle)))

    def pair_page(self, vehicle: str, joined: bool | None, limit: int, offset: int = 0) -> Page[Pair]:
        """Pairs that nobody has spoken of (None), that were joined, or that were parted."""
        index = "states_open" if joined is None else "states_done"  # else all of the kind's bodies are gone through
        said = "open" if joined is None else f"NOT open AND json_extract(body, '$.joined') = {int(joined)}"
        where = f"FROM states INDEXED BY {index} WHERE kind = 'pair' AND {said}"
        where += " AND vehicle = :vehicle" if vehicle else ""
        values = {"vehicle": vehicle, "limit": limit, "offset": offset}
        found = self._bodies(Pair, f"SELECT body {where} ORDER BY key LIMIT :limit OFFSET :offset", values)
        counted = int(self.rows(f"SELECT count(*) FROM (SELECT 1 {where} LIMIT {PAIRS_COUNTED + 1})", values)[0][0])
        return Page(found, min(counted, PAIRS_COUNTED), counted > PAIRS_COUNTED)

    def pairs_of(self, vehicle: str, openings: Sequence[str]) -> tuple[Pair, ...]:
        """The pairs of a vehicle that one of these openings is in."""
        return self._bodies(
            Pair,
            "SELECT body FROM states WHERE (kind, key) IN (SELECT s.kind, s.key FROM states AS s, json_each(:openings)"
            " AS j WHERE s.kind = 'pair' AND s.vehicle = :vehicle AND instr(s.key, j.value)) ORDER BY key",
            {"vehicle": vehicle, "openings": json.dumps(list(openings))},
        )

    def walks_under(self, devices: str) -> tuple[WalkState, ...]:
        """The walks of devices whose ids begin so."""
        return self._bodies(
            WalkState, "SELECT body FROM walks WHERE substr(device, 1, length(?1)) = ?1 ORDER BY walk", (devices,)
        )

    def open_revivals(self) -> int:
        """How many open defects stand on vehicles that do not run yet."""
        rows = self.rows(
            "SELECT count(*) FROM vehicles AS v CROSS JOIN defects AS d ON d.vehicle = v.vehicle AND d.open"
            " WHERE v.state = 'revival'"
        )
        return int(rows[0][0])

    def device_names(self) -> dict[str, str]:
        """What each device that handed in calls itself, as it did last; this desk, too."""
        named = dict(self.rows("SELECT device, name FROM devices WHERE name <> '' ORDER BY batch"))
        return {**named, self.setting("device"): "this desk"}

    def taken_back(self, ids: Sequence[str]) -> set[str]:
        """Of these entries, those that count no more: corrected, or ruled void."""
        rows = self.rows(
            "SELECT entry FROM taken_back WHERE entry IN (SELECT value FROM json_each(?))", (json.dumps(list(ids)),)
        )
        return {row[0] for row in rows}

    def aside_counts(self) -> dict[str, int]:
        """How many lines were set aside, by their reasons' codes, the most first."""
        return dict(
            self.rows(f"SELECT code, count(*) FROM set_aside AS s WHERE {STILL_ASIDE} GROUP BY 1 ORDER BY 2 DESC, 1")
        )

    def wanted_by_device(self) -> dict[str, int]:
        """How many photos each device's entries name that have not come."""
        return dict(
            self.rows(
                "SELECT device, count(DISTINCT sha256) FROM photo_names"
                " WHERE sha256 NOT IN (SELECT sha256 FROM photos) AND sha256 NOT IN (SELECT sha256 FROM gone_photos)"
                " GROUP BY 1"
            )
        )

    def to_place(self) -> tuple[Defect, ...]:
        """Open defects that stand at no check the fleet knows: something else, and what is not placed."""
        return self._defects(
            "open AND json_extract(body, '$.placing') IS NOT NULL ORDER BY vehicle, opening", {},
            "defects INDEXED BY defects_to_place",
        )  # fmt: skip

    def by_station(self, vehicle: str) -> tuple[StationCount, ...]:
        rows = self.rows(
            "SELECT station_id, severity, count(*) FROM defects WHERE vehicle = ? AND open GROUP BY 1, 2", (vehicle,)
        )
        return tuple(StationCount(*row) for row in rows)

    def came_back(self, vehicle: str) -> tuple[CameBack, ...]:
        """Faults that were opened more than once at their place, the most often first."""
        rows = self.rows(
            "SELECT check_id, spot, fault_id, count(*), min(first_seen), max(last_seen),"
            " json_group_array(json_array(last_seen, code)) FROM defects"
            " WHERE vehicle = ? AND check_id <> '' GROUP BY 1, 2, 3 HAVING count(*) > 1"
            " ORDER BY 4 DESC, 6 DESC, 1, 2, 3",
            (vehicle,),
        )
        return tuple(
            CameBack(
                check, spot, fault, times, first, last, tuple(c for _, c in sorted(json.loads(codes), reverse=True))
            )
            for check, spot, fault, times, first, last, codes in rows
        )
