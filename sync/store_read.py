"""What people ask the backlog file: lists, one thing by its name, the search. Every answer is frozen rows.

The list of what can be asked stands at the top of store_rows.py.
"""

import json
from collections.abc import Sequence
from datetime import date
from pathlib import Path
from typing import Any, TypeVar

import msgspec

from builder.edition import Edition, read_edition
from sync.entries import Fluid, Run
from sync.errors import NotHereError, StoreError
from sync.rows import StandingRow
from sync.state import (
    Clock,
    Clone,
    Conflict,
    Defect,
    JobState,
    Pair,
    PartState,
    ReportState,
    Sighting,
    Standing,
    State,
    TagState,
    TaskState,
    VehicleRulings,
    WalkState,
)
from sync.store_backlog import StoreBacklog, matching
from sync.store_rows import DeviceRow, Hit
from sync.store_seen import STANDS

Kind = TypeVar("Kind")
_DECODERS: dict[type, msgspec.json.Decoder[Any]] = {
    kind: msgspec.json.Decoder(kind)
    for kind in (Clone, Clock, Conflict, Defect, JobState, Pair, PartState, ReportState, Standing, TagState,
                 TaskState, VehicleRulings, WalkState, Run, Fluid)
}  # fmt: skip


class StoreRead(StoreBacklog):
    """The read API."""

    def __init__(self, path: Path, *, create: bool = True) -> None:
        self._editions: dict[str, Edition] = {}
        self._counts: tuple[int, dict[str, int]] = (0, {})  # entries by device, up to a number
        super().__init__(path, create=create)

    # --- lists

    def standing(self, as_of: date) -> tuple[StandingRow, ...]:
        """Every vehicle, by id: also those where nothing is open, and those that were not walked."""
        rows = self.rows(f"{self._view('fleet_standing')} ORDER BY v.vehicle", {"today": as_of.isoformat()})
        return tuple(StandingRow(**dict(zip(StandingRow.__struct_fields__, row, strict=True))) for row in rows)

    def standing_of(self, vehicle: str, as_of: date) -> Standing:
        """One vehicle's standing, whole. Raises DeskError where there is no such vehicle."""
        day = as_of.isoformat()
        found = self._bodies(
            Standing, "SELECT body FROM standings WHERE vehicle = ? AND from_day <= ? AND until_day > ?",
            (vehicle, day, day),
        )  # fmt: skip
        if not found:
            raise NotHereError(f"there is no vehicle {vehicle!r} in this backlog")
        return found[0]

    def defects(self, vehicle: str = "", *, closed: bool = False) -> tuple[Defect, ...]:
        """Open defects (closed ones too, where asked) of one vehicle or of all, by opening id."""
        where = ["1"] if closed else ["open"]
        if vehicle:
            where.append("vehicle = :vehicle")
        return self._defects(f"{' AND '.join(where)} ORDER BY opening", {"vehicle": vehicle})

    def defect(self, key: str) -> Defect:
        """By the code shown, any of its other codes, or the id of any of its opening entries."""
        found = self._defects(
            "opening IN (SELECT opening FROM codes WHERE code = :key) ORDER BY open DESC, last_seen DESC, opening",
            {"key": key.strip().lower()},
        )
        if not found:
            raise NotHereError(f"there is no defect {key!r} in this backlog", "`driptray backlog` lists the open ones")
        return found[0]

    def conflicts(self, vehicle: str = "") -> tuple[Conflict, ...]:
        """Open conflicts by vehicle and id; what is only listed has the kind "changed"."""
        where = "WHERE vehicle = ?" if vehicle else ""
        return self._bodies(
            Conflict, f"SELECT body FROM conflicts {where} ORDER BY vehicle, id", (vehicle,) if vehicle else ()
        )

    def conflicts_of_no_vehicle(self) -> tuple[Conflict, ...]:
        """Those over jobs and parts, by id."""
        return self._bodies(Conflict, "SELECT body FROM conflicts WHERE vehicle = '' ORDER BY id")

    def conflict(self, conflict_id: str) -> Conflict:
        found = self._bodies(Conflict, "SELECT body FROM conflicts WHERE id = ?", (conflict_id.strip().lower(),))
        if not found:
            raise NotHereError(
                f"there is no open conflict {conflict_id!r}: it is settled, or its name is mistyped",
                "`driptray conflicts` lists the open ones",
            )
        return found[0]

    def walks(self, vehicle: str = "") -> tuple[WalkState, ...]:
        """Newest day first."""
        where = "WHERE vehicle = ?" if vehicle else ""
        order = "ORDER BY day DESC, walk DESC"
        return self._bodies(WalkState, f"SELECT body FROM walks {where} {order}", (vehicle,) if vehicle else ())

    def reports(self, vehicle: str = "", *, closed: bool = False) -> tuple[ReportState, ...]:
        return self._states(ReportState, "report", vehicle, closed=closed)

    def tags(self, vehicle: str = "") -> tuple[TagState, ...]:
        """Tags that are on."""
        return self._states(TagState, "tag", vehicle)

    def pairs(self, vehicle: str = "") -> tuple[Pair, ...]:
        """Perhaps the same: nobody has said yet, or a person joined or parted them."""
        return self._states(Pair, "pair", vehicle, closed=True)

    def tasks(self, vehicle: str = "") -> tuple[TaskState, ...]:
        """While-open, service and first-start work that was begun or done."""
        return self._states(TaskState, "task", vehicle, closed=True)

    def parts(self) -> tuple[PartState, ...]:
        return self._states(PartState, "part", closed=True)

    def clones(self) -> tuple[Clone, ...]:
        return self._states(Clone, "clone", closed=True)

    def clocks(self) -> tuple[Clock, ...]:
        return self._states(Clock, "clock", closed=True)

    def rulings(self, vehicle: str) -> VehicleRulings:
        found = self._states(VehicleRulings, "rulings", vehicle, closed=True)
        return found[0] if found else VehicleRulings(vehicle=vehicle)

    def all_rulings(self) -> tuple[VehicleRulings, ...]:
        return self._states(VehicleRulings, "rulings", closed=True)

    def jobs(self) -> tuple[JobState, ...]:
        return self._bodies(JobState, "SELECT body FROM jobs ORDER BY job")

    def runs(self, vehicle: str = "") -> tuple[Run, ...]:
        """As entered, in the order of their devices' seq; what was corrected away is left out."""
        return self._entered(Run, "run", vehicle)

    def fluids(self, vehicle: str = "") -> tuple[Fluid, ...]:
        return self._entered(Fluid, "fluid", vehicle)

    def history(self, vehicle: str, check: str = "", spot: str = "") -> tuple[Sighting, ...]:
        """Every sighting of a vehicle's defects, open and closed, at a check (and spot), oldest day first."""
        where = ["vehicle = :vehicle", *(["check_id = :check"] if check else []), *(["spot = :spot"] if spot else [])]
        values = {"vehicle": vehicle, "check": check, "spot": spot}
        seen = {s.entry: s for d in self._defects(" AND ".join(where), values) for s in d.sightings}
        return tuple(sorted(seen.values(), key=lambda s: (s.day, s.at, s.entry)))

    def search(self, text: str, limit: int = 50) -> tuple[Hit, ...]:
        """Best first; every word has to be there, the last may be a beginning."""
        match = matching(text)
        if not match:
            return ()
        rows = self.rows(
            "SELECT t.key, t.kind, t.vehicle, snippet(words, 0, '[', ']', '…', 20) FROM words"
            " JOIN texts AS t ON t.number = words.rowid WHERE words MATCH ? ORDER BY rank, t.key LIMIT ?",
            (match, limit),
        )
        return tuple(Hit(id=row[0], kind=row[1], vehicle=row[2], text=row[3]) for row in rows)

    def state(self) -> State:
        """All of it, as the fold would give it for the whole log."""
        with self.reading():
            adopted = self.rows("SELECT body FROM states WHERE kind = 'rest' AND key = 'adopted'")
            return State(
                edition=self.setting("edition"),
                adopted=msgspec.json.decode(adopted[0][0], type=tuple[str, ...]) if adopted else (),
                walks=tuple(sorted(self.walks(), key=lambda w: w.walk)),
                defects=tuple(sorted(self.defects(closed=True), key=lambda d: (d.vehicle, d.opening))),
                conflicts=tuple(sorted(self.conflicts(), key=lambda c: c.id)),
                reports=tuple(sorted(self.reports(closed=True), key=lambda r: (r.vehicle, r.entry))),
                tags=self._states(TagState, "tag", closed=True),
                vehicles=self.all_rulings(),
                pairs=tuple(sorted(self.pairs(), key=lambda p: (p.first, p.second))),
                tasks=tuple(sorted(self.tasks(), key=lambda t: (t.vehicle, t.about))),
                jobs=self.jobs(),
                parts=self.parts(),
                clones=tuple(sorted(self.clones(), key=lambda c: (c.device, c.seq, c.entries, c.hashes))),
                clocks=self.clocks(),
            )

    # --- editions and devices

    def edition(self) -> Edition:
        """The edition in force. Raises StoreError where there is none yet."""
        in_force = self.setting("edition")
        if not in_force:
            raise StoreError(f"{self.path}: no fleet is known to this backlog yet; name it with --fleet FLEET")
        return self.edition_of(in_force)

    def edition_of(self, fingerprint: str) -> Edition:
        held = self._editions.get(fingerprint)
        if held is None:
            body = self.edition_bytes(fingerprint)
            if not body:
                raise StoreError(f"{self.path}: it does not hold the edition {fingerprint}")
            held = self._editions[fingerprint] = read_edition(body)
        return held

    def fleet(self) -> str:
        """The fleet's code; "" before the first edition."""
        return self.edition().code if self.setting("edition") else ""

    def devices(self) -> tuple[DeviceRow, ...]:
        """Every device whose entries are here, by id."""
        clocks = {clock.device: clock.offset_s for clock in self.clocks()}
        own = self.setting("device")
        counts = self._counted()
        rows = self.rows(
            "SELECT value, value IN (SELECT device FROM entries INDEXED BY entries_trusted WHERE trusted),"
            " (SELECT name FROM devices AS d WHERE d.device = value ORDER BY d.batch DESC LIMIT 1),"
            " (SELECT max(b.at) FROM batches AS b WHERE b.device = value),"
            " (SELECT max(t.revoked) FROM tokens AS t WHERE t.device = value) FROM json_each(?) ORDER BY value",
            (json.dumps(list(counts)),),
        )
        return tuple(
            DeviceRow(device=r[0], name=r[2] or "", desk=bool(r[1]), entries=counts[r[0]],
                      highest=self.highest_seq(r[0]), missing=self.missing(r[0]), last_seen=r[3] or "",
                      offset_s=clocks.get(r[0]), revoked=r[4] or "", own=r[0] == own)
            for r in rows
        )  # fmt: skip

    def _counted(self) -> dict[str, int]:
        """Device -> its entries. The log only grows, so what was counted once is not counted again."""
        upto, counts = self._counts
        newest = self.highest_number()
        if newest < upto:  # what was counted was never committed
            upto, counts = 0, {}
        if newest > upto:
            number = "number" if upto else "+number"  # all of them by the devices' index, a few by their numbers
            grown = self.rows(
                f"SELECT device, count(*) FROM entries WHERE {number} > ? AND {number} <= ? GROUP BY 1", (upto, newest)
            )
            counts = {**counts, **{device: counts.get(device, 0) + count for device, count in grown}}
            self._counts = (newest, counts)
        return counts

    # --- how

    def _defects(self, where: str, values: dict[str, Any], source: str = "defects") -> tuple[Defect, ...]:
        rows = self.rows(f"SELECT body, code, also_codes FROM {source} WHERE {where}", values)
        return tuple(_coded(_DECODERS[Defect].decode(row[0]), row[1], row[2]) for row in rows)

    def _states(self, kind: type[Kind], name: str, vehicle: str = "", *, closed: bool = False) -> tuple[Kind, ...]:
        where = "kind = :kind" + (" AND vehicle = :vehicle" if vehicle else "") + ("" if closed else " AND open")
        return self._bodies(
            kind, f"SELECT body FROM states WHERE {where} ORDER BY key", {"kind": name, "vehicle": vehicle}
        )

    def _entered(self, kind: type[Kind], name: str, vehicle: str) -> tuple[Kind, ...]:
        return self._bodies(
            kind,
            "SELECT body FROM entries AS e WHERE fold = 2 AND kind = :kind AND (:vehicle = '' OR vehicle = :vehicle)"
            f" AND {STANDS} ORDER BY device, seq",
            {"kind": name, "vehicle": vehicle},
        )

    def _bodies(self, kind: type[Kind], sql: str, values: Sequence[Any] | dict[str, Any] = ()) -> tuple[Kind, ...]:
        decode = _DECODERS[kind].decode
        return tuple(decode(row[0]) for row in self.rows(sql, values))


def _coded(defect: Defect, code: str, also: str) -> Defect:
    """A defect under its final codes, where those are longer than the fold's five letters."""
    codes = tuple(filter(None, also.split("; ")))
    if defect.code == code and defect.also_codes == codes:
        return defect
    return msgspec.structs.replace(defect, code=code, also_codes=codes)
