"""The log as it is handed to another workshop PC: what there is, its lines, and lines set aside with reasons."""

import json
from collections.abc import Sequence
from typing import NamedTuple

from sync.store_own import StoreOwn


class RelayRow(NamedTuple):
    """One entry's content; `body` is its line, without what a person took out of it."""

    id: str
    hash: str
    device: str
    trusted: bool
    body: str


class AsideBytes(NamedTuple):
    """One line set aside, with its own bytes."""

    hash: str
    line: int
    code: str
    why: str
    id: str
    device: str
    seq: int
    body: bytes


class StoreRelay(StoreOwn):
    def relay_items(self) -> list[tuple[str, str, bool]]:
        """(id, hash, trusted) of every entry; those that take content away come first."""
        found = self.rows("SELECT id, lower(hex(hash)), trusted FROM entries ORDER BY kind <> 'redact', number")
        return [(row[0], row[1], bool(row[2])) for row in found]

    def relay_rows(self, ids: Sequence[str]) -> list[RelayRow]:
        """All contents under some ids, in the order of the ids."""
        found = self.rows(
            "SELECT e.id, lower(hex(e.hash)), e.device, e.trusted, e.body FROM json_each(?) AS j"
            " JOIN entries AS e ON e.id = j.value ORDER BY j.key, e.hash",
            (json.dumps(list(ids)),),
        )
        return [RelayRow(row[0], row[1], row[2], bool(row[3]), row[4]) for row in found]

    def aside_hashes(self) -> list[str]:
        return [row[0] for row in self.rows("SELECT hash FROM set_aside ORDER BY hash")]

    def aside_bytes(self, hashes: Sequence[str]) -> list[AsideBytes]:
        found = self.rows(
            "SELECT hash, line, code, why, id, device, seq, body FROM set_aside"
            " WHERE hash IN (SELECT value FROM json_each(?)) ORDER BY hash",
            (json.dumps(list(hashes)),),
        )
        return [
            AsideBytes(h, line, code, why, id_, dev, seq, bytes(body))
            for h, line, code, why, id_, dev, seq, body in found
        ]

    def gone_photos(self) -> set[str]:
        return {row[0] for row in self.rows("SELECT sha256 FROM gone_photos")}

    def latest_names(self) -> dict[str, str]:
        """Device -> what its latest hand-in called it."""
        found = self.rows("SELECT device, name FROM devices WHERE name <> '' ORDER BY batch")
        return {row[0]: row[1] for row in found}
