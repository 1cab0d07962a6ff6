"""What is derived from the log, written: places, defects, conflicts, walks, standings, and the words to search."""

from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

import msgspec

from sync.fold.log import Place
from sync.state import Conflict, Defect, Standing, WalkState
from sync.store_log import StoreLog

_json = msgspec.json.Encoder().encode
_TABLES = (
    "marks",
    "placed",
    "places",
    "vehicles",
    "standings",
    "walks",
    "defects",
    "codes",
    "sightings",
    "conflicts",
    "jobs",
    "states",
    "texts",
)
#: The tables a refold is compared in, and the columns that mean the same in every copy of a backlog.
COMPARED = {
    "places": "vehicle, check_id, spot, memory",
    "vehicles": "*",
    "standings": "*",
    "walks": "*",
    "defects": "opening, code, vehicle, station_id, check_id, spot, fault_id, severity, status, open, holding, paired,"
    " station, check_name, fault, first_seen, last_seen, sightings, seen_by, note, reading, conflict, waiting_for,"
    " due, needs, held_by, rank_why, temporary_until, owner, hours, also_codes, rank_key, body",
    "codes": "*",
    "sightings": "opening, entry, vehicle, check_id, spot, fault_id, kind, by, at, day, round, present, severity,"
    " reading, unit, note",
    "conflicts": "id, kind, vehicle, check_id, spot, fault_id, field, why, stands, defect, body",
    "jobs": "*",
    "states": "*",
    "texts": "kind, key, vehicle, text",
    "marks": "*",
}


class DefectRow(NamedTuple):
    """A defect as the table has it, but for its number and body; see rows.BacklogRow for what people read."""

    opening: str
    place: int
    code: str
    vehicle: str
    station_id: str
    check_id: str
    spot: str
    fault_id: str
    severity: str
    status: str
    open: int
    holding: int
    paired: int
    station: str
    check_name: str
    fault: str
    first_seen: str
    last_seen: str
    sightings: int
    seen_by: str
    note: str
    reading: str
    conflict: str
    waiting_for: str
    due: str
    needs: str
    held_by: str
    rank_why: str
    temporary_until: str
    owner: str
    hours: str
    also_codes: str
    rank_key: str


#: What may change in a defect's row while its own place has not: what the rest of its vehicle makes of it.
LINE = ("code", "also_codes", "holding", "paired", "conflict", "needs", "held_by", "rank_why", "rank_key")


class StateRow(NamedTuple):
    """One of the fold's lesser states; `kind` is report, tag, part, pair, clone, clock, rulings or rest."""

    kind: str
    key: str
    vehicle: str
    open: bool
    body: bytes


class StoreDerived(StoreLog):
    """Written inside `writing()`, by the service alone."""

    def clear_derived(self) -> None:
        for table in _TABLES:
            self.connection.execute(f"DELETE FROM {table}")

    # --- places

    def place_numbers(self, places: Iterable[Place]) -> dict[Place, int]:
        """Each place's number in this file, given where it has none yet."""
        numbers: dict[Place, int] = {}
        for place in places:
            row = self.connection.execute(
                "SELECT number FROM places WHERE vehicle = ? AND check_id = ? AND spot = ?", place
            ).fetchone()
            if row is None:
                cursor = self.connection.execute(
                    "INSERT INTO places (vehicle, check_id, spot, memory) VALUES (?, ?, ?, x'')", place
                )
                numbers[place] = int(cursor.lastrowid or 0)
            else:
                numbers[place] = row[0]
        return numbers

    def place_entries(self, pairs: Iterable[tuple[int, int]]) -> None:
        """(entry number, place number) of findings."""
        self.connection.executemany("INSERT OR REPLACE INTO placed (entry, place) VALUES (?, ?)", pairs)

    def places_of(self, entries: Sequence[int]) -> set[Place]:
        """Where these findings (by entry number) have been folded so far."""
        rows = self.connection.execute(
            "SELECT DISTINCT p.vehicle, p.check_id, p.spot FROM json_each(?) AS j"
            " JOIN placed AS e ON e.entry = j.value JOIN places AS p ON p.number = e.place",
            (_json(list(entries)).decode(),),
        )
        return {Place(*row) for row in rows}

    def all_places(self) -> Iterator[Place]:
        return (Place(*row) for row in self.rows("SELECT vehicle, check_id, spot FROM places ORDER BY 1, 2, 3"))

    def at_place(self, number: int, *, above: int = 0) -> list[tuple[str, str]]:
        """(hash, line) of the findings at a place; of those with a higher entry number only, where asked."""
        return self.connection.execute(
            "SELECT lower(hex(e.hash)), e.body FROM placed AS p JOIN entries AS e ON e.number = p.entry"
            " WHERE p.place = ? AND p.entry > ?",
            (number, above),
        ).fetchall()

    def memory(self, number: int) -> bytes:
        return bytes(self.connection.execute("SELECT memory FROM places WHERE number = ?", (number,)).fetchone()[0])

    def folded_at(self, number: int) -> tuple[list[str], list[str]]:
        """(defects, conflicts) of a place, as bodies, in the fold's order."""
        defects = self.connection.execute("SELECT body FROM defects WHERE place = ? ORDER BY opening", (number,))
        conflicts = self.connection.execute("SELECT body FROM conflicts WHERE place = ? ORDER BY id", (number,))
        return [row[0] for row in defects], [row[0] for row in conflicts]

    def drop_place(self, number: int) -> None:
        self.connection.execute("DELETE FROM places WHERE number = ?", (number,))

    def write_place(self, number: int, memory: bytes, conflicts: Sequence[Conflict]) -> None:
        self.connection.execute("UPDATE places SET memory = ? WHERE number = ?", (memory, number))
        self.connection.execute("DELETE FROM conflicts WHERE place = ?", (number,))
        self._put_conflicts(number, conflicts)

    def _put_conflicts(self, place: int, conflicts: Iterable[Conflict]) -> None:
        self.connection.executemany(
            "INSERT OR REPLACE INTO conflicts (id, place, kind, vehicle, check_id, spot, fault_id, field, why, stands,"
            " defect, body) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                (
                    c.id,
                    place,
                    c.kind,
                    c.vehicle,
                    c.check,
                    c.spot,
                    c.fault,
                    c.field,
                    c.why,
                    c.stands,
                    c.defect,
                    _json(c).decode(),
                )
                for c in conflicts
            ),
        )

    # --- defects

    def defect_bodies(self, vehicle: str) -> list[tuple[int, str]]:
        """(place number, body) of all a vehicle's defects, open and closed."""
        return self.connection.execute(
            "SELECT place, body FROM defects WHERE vehicle = ? ORDER BY opening", (vehicle,)
        ).fetchall()

    def defect_lines(self, vehicle: str) -> dict[str, tuple[object, ...]]:
        """Opening id -> the columns of LINE, of all a vehicle's defects."""
        cursor = self.connection.execute(
            f"SELECT opening, {', '.join(LINE)} FROM defects WHERE vehicle = ?", (vehicle,)
        )
        return {row[0]: tuple(row[1:]) for row in cursor}

    def drop_defects(self, places: Sequence[int]) -> None:
        """Defects of these places, which are written anew."""
        asked = (_json(list(places)).decode(),)
        at = "SELECT opening FROM defects WHERE place IN (SELECT value FROM json_each(?))"
        self.connection.execute(f"DELETE FROM texts WHERE kind = 'defect' AND key IN ({at})", asked)
        self.connection.execute(f"DELETE FROM codes WHERE opening IN ({at})", asked)
        self.connection.execute(f"DELETE FROM sightings WHERE opening IN ({at})", asked)
        self.connection.execute("DELETE FROM defects WHERE place IN (SELECT value FROM json_each(?))", asked)

    def put_defects(self, rows: Sequence[tuple[DefectRow, Defect, str]]) -> None:
        """(row, defect, words to search) of places whose defects were dropped before."""
        names = ", ".join(DefectRow._fields)
        marks = ", ".join("?" * (len(DefectRow._fields) + 1))
        self.connection.executemany(
            f"INSERT INTO defects ({names}, body) VALUES ({marks})",
            ((*row, _json(defect).decode()) for row, defect, _ in rows),
        )
        self.connection.executemany(
            "INSERT OR REPLACE INTO texts (kind, key, vehicle, text) VALUES ('defect', ?, ?, ?)",
            ((row.opening, row.vehicle, text) for row, _, text in rows),
        )
        self._put_codes((row, defect) for row, defect, _ in rows)
        self._put_sightings((row, defect) for row, defect, _ in rows)

    def _put_codes(self, rows: Iterable[tuple[DefectRow, Defect]]) -> None:
        self.connection.executemany(
            "INSERT OR IGNORE INTO codes (code, opening) VALUES (?, ?)",
            (
                (code, row.opening)
                for row, defect in rows
                for code in (row.code, row.opening, *filter(None, row.also_codes.split("; ")), *defect.also)
            ),
        )

    def _put_sightings(self, rows: Iterable[tuple[DefectRow, Defect]]) -> None:
        self.connection.executemany(
            "INSERT OR REPLACE INTO sightings (opening, entry, place, vehicle, check_id, spot, fault_id, kind, by, at,"
            " day, round, present, severity, reading, unit, note)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                (
                    row.opening,
                    s.entry,
                    row.place,
                    row.vehicle,
                    row.check_id,
                    row.spot,
                    row.fault_id,
                    s.kind,
                    s.by,
                    s.at,
                    s.day,
                    s.round,
                    s.present,
                    s.severity or "",
                    s.reading.value if s.reading else None,
                    s.reading.unit if s.reading else "",
                    s.note,
                )
                for row, defect in rows
                for s in defect.sightings
            ),
        )

    def change_lines(self, rows: Sequence[DefectRow]) -> None:
        """What the rest of the vehicle makes of defects whose own place stays as it was."""
        sets = ", ".join(f"{name} = ?" for name in LINE)
        self.connection.executemany(
            f"UPDATE defects SET {sets} WHERE opening = ?",
            ((*(getattr(row, name) for name in LINE), row.opening) for row in rows),
        )
        self.connection.executemany("DELETE FROM codes WHERE opening = ?", ((row.opening,) for row in rows))

    def put_codes(self, rows: Iterable[tuple[DefectRow, Defect]]) -> None:
        self._put_codes(rows)

    # --- vehicles and the rest

    def put_vehicle(self, row: tuple[str, str, str, str, str, float, bytes]) -> None:
        """(id, name, kind, location, state, display weight, the edition's own words)"""
        self.connection.execute(
            "INSERT OR REPLACE INTO vehicles (vehicle, name, kind, location, state, display_weight, body)"
            " VALUES (?, ?, ?, ?, ?, ?, ?)",
            (*row[:-1], row[-1].decode()),
        )

    def put_standings(self, vehicle: str, spans: Iterable[tuple[str, str, Standing]]) -> None:
        """(from day, until day, standing): together they cover every day there is."""
        self.connection.execute("DELETE FROM standings WHERE vehicle = ?", (vehicle,))
        self.connection.executemany(
            "INSERT INTO standings (vehicle, from_day, until_day, standing, barred, moves, why, open_defects,"
            " last_round, not_walked, permit, body) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                (
                    vehicle,
                    start,
                    end,
                    s.standing,
                    "; ".join(s.barred),
                    "; ".join(s.moves),
                    "; ".join(s.why),
                    s.open_defects,
                    f"{s.last_day} {s.last_round}".strip(),
                    "not walked" if s.not_walked else "",
                    "; ".join(s.permits),
                    _json(s).decode(),
                )
                for start, end, s in spans
            ),
        )

    def put_walks(self, walks: Iterable[WalkState]) -> None:
        self.connection.executemany(
            "INSERT OR REPLACE INTO walks (walk, vehicle, day, round, by, device, finished, covered, of, body)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                (w.walk, w.vehicle, w.day, w.round, w.by, w.device, w.finished, w.covered, w.of, _json(w).decode())
                for w in walks
            ),
        )

    def drop_walks(self, walks: Sequence[str]) -> None:
        self.connection.execute(
            "DELETE FROM walks WHERE walk IN (SELECT value FROM json_each(?))", (_json(list(walks)).decode(),)
        )

    def put_jobs(self, rows: Iterable[tuple[str, str, str, str, bytes]]) -> None:
        """(job, vehicle, title, state, body): all there are."""
        self.connection.execute("DELETE FROM jobs")
        self.connection.executemany(
            "INSERT INTO jobs (job, vehicle, title, state, body) VALUES (?, ?, ?, ?, ?)",
            ((*row[:-1], row[-1].decode()) for row in rows),
        )

    def put_states(self, kinds: Sequence[str], vehicle: str | None, rows: Iterable[StateRow]) -> None:
        """All states of these kinds: of one vehicle, or (None) of the whole backlog."""
        asked = _json(list(kinds)).decode()
        where = "kind IN (SELECT value FROM json_each(?))"
        if vehicle is None:
            self.connection.execute(f"DELETE FROM states WHERE {where}", (asked,))
        else:
            self.connection.execute(f"DELETE FROM states WHERE {where} AND vehicle = ?", (asked, vehicle))
        self.connection.executemany(
            "INSERT OR REPLACE INTO states (kind, key, vehicle, open, body) VALUES (?, ?, ?, ?, ?)",
            ((r.kind, r.key, r.vehicle, int(r.open), r.body.decode()) for r in rows),
        )

    def put_conflicts_of_vehicle(self, vehicle: str, conflicts: Iterable[Conflict]) -> None:
        """Conflicts about a vehicle's own fields, its reports and pairs; "" for those about jobs and parts."""
        self.connection.execute("DELETE FROM conflicts WHERE vehicle = ? AND place = 0", (vehicle,))
        self._put_conflicts(0, conflicts)

    def put_texts(self, kind: str, vehicle: str, rows: Iterable[tuple[str, str]]) -> None:
        """(key, words) of all of a vehicle's things of a kind."""
        self.connection.execute("DELETE FROM texts WHERE kind = ? AND vehicle = ?", (kind, vehicle))
        self.connection.executemany(
            "INSERT OR REPLACE INTO texts (kind, key, vehicle, text) VALUES (?, ?, ?, ?)",
            ((kind, key, vehicle, text) for key, text in rows if text),
        )

    def put_note(self, key: str, vehicle: str, text: str) -> None:
        """A note that belongs to no defect."""
        self.connection.execute(
            "INSERT OR IGNORE INTO texts (kind, key, vehicle, text) VALUES ('note', ?, ?, ?)", (key, vehicle, text)
        )

    # --- comparing

    def derived_rows(self, table: str) -> Iterator[tuple[object, ...]]:
        """A derived table's rows in an order of their own, without what means something in this file only."""
        columns = COMPARED[table]
        return iter(self.connection.execute(f"SELECT {columns} FROM {table} ORDER BY {_order(columns)}"))


def _order(columns: str) -> str:
    return "1, 2" if columns == "*" else ", ".join(str(n + 1) for n in range(min(4, columns.count(",") + 1)))
