"""What is derived from the log, written: places, defects, conflicts, walks, standings, and the words to search."""

from collections.abc import Collection, Iterable, Iterator, Sequence
from typing import NamedTuple

import msgspec
from sqlite_utils import Database

from sync.state import Conflict, Defect, Standing, WalkState
from sync.store_places import StorePlaces
from sync.store_rows import DefectRow, Line, OldDefect, RankRow

_json = msgspec.json.Encoder().encode
_TABLES = (
    "marks",
    "placed",
    "places",
    "vehicles",
    "standings",
    "walks",
    "defects",
    "ranks",
    "codes",
    "sightings",
    "conflicts",
    "jobs",
    "states",
    "taken_back",
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
    " due, needs, held_by, temporary_until, owner, hours, also_codes, body",
    "ranks": "*",
    "codes": "*",
    "sightings": "opening, entry, vehicle, check_id, spot, fault_id, kind, by, at, day, round, present, severity,"
    " reading, unit, note",
    "conflicts": "id, kind, vehicle, check_id, spot, fault_id, field, why, stands, defect, body",
    "jobs": "*",
    "states": "*",
    "taken_back": "*",
    "texts": "kind, key, vehicle, text",
    "marks": "*",
}


class StateRow(NamedTuple):
    """One of the fold's lesser states; `kind` is report, tag, part, pair, task, clone, clock, rulings or rest."""

    kind: str
    key: str
    vehicle: str
    open: bool
    body: bytes


class DefectWritten(NamedTuple):
    """A defect to be written: its row, itself, its body, and the words to search."""

    row: DefectRow
    defect: Defect
    body: str
    words: str


class StoreDerived(StorePlaces):
    """Written inside `writing()`, by the service alone."""

    def clear_derived(self) -> None:
        for table in _TABLES:
            self.connection.execute(f"DELETE FROM {table}")

    def write_places(self, places: Sequence[tuple[int, bytes, Sequence[Conflict]]]) -> None:
        """(place number, what the fold remembers of it, its conflicts) of places newly folded."""
        self.remember([(number, memory) for number, memory, _ in places])
        asked = _json([number for number, *_ in places]).decode()
        self.connection.execute("DELETE FROM conflicts WHERE place IN (SELECT value FROM json_each(?))", (asked,))
        self._put_conflicts((number, conflict) for number, _, conflicts in places for conflict in conflicts)

    def remember(self, places: Sequence[tuple[int, bytes]]) -> None:
        """(place number, what the fold remembers of it)"""
        self.connection.executemany(
            "UPDATE places SET memory = ? WHERE number = ?", [(memory, number) for number, memory in places]
        )

    def _put_conflicts(self, conflicts: Iterable[tuple[int, Conflict]]) -> None:
        """(place number, conflict); 0 for those of no place."""
        self.connection.executemany(
            "INSERT OR REPLACE INTO conflicts (id, place, kind, vehicle, check_id, spot, fault_id, field, why, stands,"
            " defect, body) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                (c.id, place, c.kind, c.vehicle, c.check, c.spot, c.fault, c.field, c.why, c.stands, c.defect,
                 _json(c).decode())
                for place, c in conflicts
            ),
        )  # fmt: skip

    def conflict_whys(self, vehicle: str) -> dict[str, str]:
        """Conflict id -> why, of a vehicle's open conflicts."""
        return dict(self.connection.execute("SELECT id, why FROM conflicts WHERE vehicle = ?", (vehicle,)))

    # --- defects

    def old_defects(self, vehicle: str) -> list[OldDefect]:
        """All a vehicle's defects as they stand, open and closed."""
        cursor = self.connection.execute(
            f"SELECT opening, place, open, length(code) > length(vehicle) + 6 OR also_codes <> '', body,"
            f" {', '.join(Line._fields)} FROM defects WHERE vehicle = ? ORDER BY opening",
            (vehicle,),
        )
        return [OldDefect(row[0], row[1], bool(row[2]), bool(row[3]), row[4], Line(*row[5:])) for row in cursor]

    def drop_defects(self, openings: Sequence[str]) -> None:
        """Defects that are no more."""
        if openings:
            asked = (_json(list(openings)).decode(),)
            among = "IN (SELECT value FROM json_each(?))"
            self.connection.execute(f"DELETE FROM texts WHERE kind = 'defect' AND key {among}", asked)
            for table in ("codes", "sightings", "defects"):
                self.connection.execute(f"DELETE FROM {table} WHERE opening {among}", asked)

    def put_defects(self, written: Sequence[DefectWritten]) -> None:
        """Defects that are new, or not as they were."""
        if not written:
            return
        asked = (_json([one.row.opening for one in written]).decode(),)
        for table in ("codes", "sightings", "defects"):
            self.connection.execute(f"DELETE FROM {table} WHERE opening IN (SELECT value FROM json_each(?))", asked)
        names = ", ".join(DefectRow._fields)
        marks = ", ".join("?" * (len(DefectRow._fields) + 1))
        self.connection.executemany(
            f"INSERT INTO defects ({names}, body) VALUES ({marks})", ((*one.row, one.body) for one in written)
        )
        self.connection.executemany(  # the search index is written where the words are others
            "INSERT INTO texts (kind, key, vehicle, text) VALUES ('defect', ?, ?, ?) ON CONFLICT (kind, key)"
            " DO UPDATE SET vehicle = excluded.vehicle, text = excluded.text"
            " WHERE text <> excluded.text OR vehicle <> excluded.vehicle",
            [(one.row.opening, one.row.vehicle, one.words) for one in written],
        )
        self._put_codes((one.row, one.defect) for one in written)
        self._put_sightings((one.row, one.defect) for one in written)

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

    def change_lines(self, rows: Sequence[tuple[DefectRow, Defect]]) -> None:
        """What the rest of the vehicle makes of defects that are themselves as they were."""
        if rows:
            sets = ", ".join(f"{name} = ?" for name in Line._fields)
            self.connection.executemany(
                f"UPDATE defects SET {sets} WHERE opening = ?",
                [(*(getattr(row, name) for name in Line._fields), row.opening) for row, _ in rows],
            )
            self.connection.executemany("DELETE FROM codes WHERE opening = ?", [(row.opening,) for row, _ in rows])
            self._put_codes(rows)

    def put_ranks(self, vehicle: str, rows: Sequence[RankRow], openings: Collection[str] | None) -> None:
        """The ranks of a vehicle's open defects, or of some (open or not); what stays as it was is not written."""
        if openings is None:
            found = self.connection.execute("SELECT * FROM ranks WHERE vehicle = ?", (vehicle,))
        else:
            asked = (_json(sorted(openings)).decode(),)
            found = self.connection.execute(
                "SELECT * FROM ranks WHERE opening IN (SELECT value FROM json_each(?))", asked
            )
        have = {RankRow(*row) for row in found}
        want = set(rows)
        self.connection.executemany(
            "DELETE FROM ranks WHERE opening = ? AND from_day = ?", ((r.opening, r.from_day) for r in have - want)
        )
        self.connection.executemany(
            "INSERT INTO ranks (opening, from_day, until_day, vehicle, rank_key, rank_why) VALUES (?, ?, ?, ?, ?, ?)",
            sorted(want - have),
        )

    # --- vehicles and the rest

    def drop_vehicles(self, *, keep: Sequence[str]) -> None:
        """Vehicles that neither the edition in force nor any entry names any more."""
        for table in ("vehicles", "standings"):
            self.connection.execute(
                f"DELETE FROM {table} WHERE vehicle NOT IN (SELECT value FROM json_each(?))", (_json(keep).decode(),)
            )
        self.connection.execute(
            "DELETE FROM states WHERE vehicle <> '' AND vehicle NOT IN (SELECT value FROM json_each(?))",
            (_json(keep).decode(),),
        )

    def put_vehicle(self, row: tuple[str, str, str, str, str, float]) -> None:
        """(id, name, kind, location, state, display weight)"""
        self.connection.execute(
            "INSERT OR REPLACE INTO vehicles (vehicle, name, kind, location, state, display_weight)"
            " VALUES (?, ?, ?, ?, ?, ?)",
            row,
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

    def take_back(self, entry_id: str, device: str, *, back: bool) -> None:
        """Whether what a device wrote under an id counts no more: corrected, or ruled void."""
        sql = "INSERT OR IGNORE INTO taken_back (entry, device) VALUES (?, ?)"
        self.connection.execute(
            sql if back else "DELETE FROM taken_back WHERE entry = ? AND device = ?", (entry_id, device)
        )

    def drop_walks(self, walks: Sequence[str] | None) -> None:
        """Some walks, or (None) all."""
        if walks is None:
            self.connection.execute("DELETE FROM walks")
            return
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
        where = "kind IN (SELECT value FROM json_each(?))" + ("" if vehicle is None else " AND vehicle = ?")
        asked = (_json(list(kinds)).decode(), *(() if vehicle is None else (vehicle,)))
        found = self.connection.execute(f"SELECT kind, key, vehicle, open, body FROM states WHERE {where}", asked)
        have = {(kind, key): row for kind, key, *row in found}
        want = {(r.kind, r.key): [r.vehicle, int(r.open), r.body.decode()] for r in rows}
        self._drop_states([key for key in have if key not in want])
        self._write_states([(*key, *row) for key, row in want.items() if have.get(key) != row])

    def change_states(self, kind: str, gone: Iterable[str], rows: Iterable[StateRow]) -> None:
        """Some states of a kind that are gone, and some that are new or others now."""
        self._drop_states([(kind, key) for key in gone])
        self._write_states([(r.kind, r.key, r.vehicle, int(r.open), r.body.decode()) for r in rows])

    def _drop_states(self, keys: Sequence[tuple[str, str]]) -> None:
        self.connection.executemany("DELETE FROM states WHERE kind = ? AND key = ?", keys)

    def _write_states(self, rows: Sequence[tuple[object, ...]]) -> None:
        self.connection.executemany(
            "INSERT OR REPLACE INTO states (kind, key, vehicle, open, body) VALUES (?, ?, ?, ?, ?)", rows
        )

    def put_conflicts_of_vehicle(self, vehicle: str, conflicts: Iterable[Conflict]) -> None:
        """Conflicts about a vehicle's own fields, its reports and pairs; "" for those about jobs and parts."""
        self.connection.execute("DELETE FROM conflicts WHERE vehicle = ? AND place = 0", (vehicle,))
        self._put_conflicts((0, conflict) for conflict in conflicts)

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

    def forget_note(self, key: str) -> None:
        self.connection.execute("DELETE FROM texts WHERE kind = 'note' AND key = ?", (key,))

    # --- comparing

    def derived_rows(self, table: str) -> Iterator[dict[str, object]]:
        """A derived table's rows in an order of their own, without what means something in this file only."""
        columns = COMPARED[table]
        plain = Database(self.connection, recursive_triggers=False, execute_plugins=False)
        return iter(plain.table(table).rows_where(select=columns, order_by=_order(columns)))


def _order(columns: str) -> str:
    return "1, 2" if columns == "*" else ", ".join(str(n + 1) for n in range(min(4, columns.count(",") + 1)))
