"""Which finding is folded at which place, and what the fold remembers of each place."""

import json
from collections.abc import Iterable, Iterator, Sequence

from sync.fold.log import Place
from sync.store_log import StoreLog


class StorePlaces(StoreLog):
    """Written inside `writing()`, by the service alone."""

    def place_number(self, place: Place) -> int:
        """A place's number in this file, given where it has none yet."""
        row = self.connection.execute(
            "SELECT number FROM places WHERE vehicle = ? AND check_id = ? AND spot = ?", place
        ).fetchone()
        if row is not None:
            return int(row[0])
        cursor = self.connection.execute(
            "INSERT INTO places (vehicle, check_id, spot, memory) VALUES (?, ?, ?, x'')", place
        )
        return int(cursor.lastrowid or 0)

    def place_entries(self, pairs: Iterable[tuple[int, int]]) -> None:
        """(entry number, place number) of findings."""
        self.connection.executemany("INSERT OR REPLACE INTO placed (entry, place) VALUES (?, ?)", pairs)

    def places_of(self, entries: Sequence[int]) -> set[Place]:
        """Where these findings (by entry number) have been folded so far."""
        rows = self.connection.execute(
            "SELECT DISTINCT p.vehicle, p.check_id, p.spot FROM json_each(?) AS j"
            " JOIN placed AS e ON e.entry = j.value JOIN places AS p ON p.number = e.place",
            (json.dumps(list(entries)),),
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

    def memories(self, numbers: Sequence[int]) -> dict[int, bytes]:
        """Place number -> what the fold remembers of it; empty before it was folded."""
        rows = self.connection.execute(
            "SELECT number, memory FROM places WHERE number IN (SELECT value FROM json_each(?))", (json.dumps(numbers),)
        )
        return dict(rows)

    def drop_empty_places(self, numbers: Sequence[int]) -> None:
        """Those of some places where no finding is any more, and nothing is claimed."""
        self.connection.execute(
            "DELETE FROM places WHERE number IN (SELECT value FROM json_each(?))"
            " AND NOT EXISTS (SELECT 1 FROM placed WHERE place = places.number)"
            " AND NOT EXISTS (SELECT 1 FROM defects WHERE place = places.number)"
            " AND NOT EXISTS (SELECT 1 FROM conflicts WHERE place = places.number)",
            (json.dumps(list(numbers)),),
        )
