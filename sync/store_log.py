"""The log in the backlog file: entries, lines set aside, editions, devices, photos, batches. Only ever added to."""

import json
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from typing import Any, NamedTuple

from sync.state import Clone
from sync.store_own import StoreOwn
from sync.store_rows import AsideRow, BatchRow, EntryRow, PhotoRow

_ENTRY = "id, hash, device, seq, kind, vehicle, body, trusted, batch"
_ALIVE = 900  # values bound in one statement


class LogRow(NamedTuple):
    """One new entry as the table has it; `hash` is the raw digest of `body`, the line."""

    id: str
    hash: bytes
    device: str
    seq: int
    kind: str
    vehicle: str
    walk: str
    corrects: str
    trusted: int
    batch: int
    body: str


class Kept(NamedTuple):
    """One entry of the log as the fold wants it. `number` is its place in the table."""

    number: int
    hash: str
    body: str


class StoreLog(StoreOwn):
    """What is written here is written inside `writing()`, by the service alone."""

    def open_batch(self, at: str, source: str) -> int:
        cursor = self.connection.execute(
            "INSERT INTO batches (at, source, device, device_name, edition, taken, already, set_aside, photos, trouble)"
            " VALUES (?, ?, '', '', '', 0, 0, 0, 0, '')",
            (at, source),
        )
        return int(cursor.lastrowid or 0)

    def close_batch(self, row: BatchRow, edition: str) -> None:
        self.connection.execute(
            "UPDATE batches SET device = ?, device_name = ?, edition = ?, taken = ?, already = ?, set_aside = ?,"
            " photos = ?, trouble = ? WHERE batch = ?",
            (
                row.device,
                row.device_name,
                edition,
                row.taken,
                row.already,
                row.set_aside,
                row.photos,
                row.trouble,
                row.batch,
            ),
        )

    def last_batch(self) -> int:
        return int(self.rows("SELECT ifnull(max(batch), 0) FROM batches")[0][0])

    def append(self, rows: Sequence[LogRow]) -> list[int | None]:
        """Put entries in, sorted by id; per row its new number, None where the log had it already."""
        before = int(self.rows("SELECT ifnull(max(number), 0) FROM entries")[0][0])
        changes = self.connection.total_changes
        self.connection.executemany(
            "INSERT OR IGNORE INTO entries (id, hash, device, seq, kind, vehicle, walk, corrects, trusted, batch, body)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
            rows,
        )
        added = self.connection.total_changes - changes
        if added == len(rows):
            return list(range(before + 1, before + 1 + added))
        new = {
            (entry_id, digest): number
            for number, entry_id, digest in self.connection.execute(
                "SELECT number, id, hash FROM entries WHERE number > ?", (before,)
            )
        }
        return [new.pop((row.id, row.hash), None) for row in rows]

    def trust(self, ids: Iterable[str]) -> None:
        """Entries known from a phone's file that have now come from a desk that may write them."""
        self.connection.executemany("UPDATE entries SET trusted = 1 WHERE id = ? AND NOT trusted", ((i,) for i in ids))

    def clones_among(self, rows: Sequence[LogRow]) -> tuple[Clone, ...]:
        """Two contents under one (device, seq) or one id, where one of the two is among these."""
        if not rows:
            return ()
        spans: dict[str, tuple[int, int]] = {}
        for row in rows:
            low, high = spans.get(row.device, (row.seq, row.seq))
            spans[row.device] = (min(low, row.seq), max(high, row.seq))
        keys: set[tuple[str, int]] = set()
        for device, (low, high) in spans.items():
            keys.update(
                (device, seq)
                for (seq,) in self.connection.execute(
                    "SELECT seq FROM entries WHERE device = ? AND seq BETWEEN ? AND ? GROUP BY seq HAVING count(*) > 1",
                    (device, low, high),
                )
            )
        return tuple(self._clone(device, seq) for device, seq in sorted(keys)) + self._same_ids(rows)

    def _same_ids(self, rows: Sequence[LogRow]) -> tuple[Clone, ...]:
        """One id with two contents under different (device, seq): only an edited file or a broken phone makes that."""
        ids = json.dumps(sorted({row.id for row in rows}))
        found = self.rows(
            "SELECT id FROM json_each(?) AS wanted JOIN entries AS e ON e.id = wanted.value GROUP BY id"
            " HAVING count(DISTINCT hash) > 1 AND count(DISTINCT device || ' ' || seq) > 1",
            (ids,),
        )
        return tuple(
            Clone(device=device, seq=seq, entries=(entry_id,) * len(hashes), hashes=hashes)
            for (entry_id,) in found
            for device, seq, hashes in [self._contents(entry_id)]
        )

    def _contents(self, entry_id: str) -> tuple[str, int, tuple[str, ...]]:
        rows = self.rows("SELECT device, seq, lower(hex(hash)) FROM entries WHERE id = ? ORDER BY 1, 2, 3", (entry_id,))
        return rows[0][0], rows[0][1], tuple(row[2] for row in rows)

    def _clone(self, device: str, seq: int) -> Clone:
        rows = self.rows(
            "SELECT id, lower(hex(hash)) FROM entries WHERE device = ? AND seq = ? ORDER BY 1, 2", (device, seq)
        )
        return Clone(
            device=device, seq=seq, entries=tuple(row[0] for row in rows), hashes=tuple(row[1] for row in rows)
        )

    def all_clones(self) -> tuple[Clone, ...]:
        pairs = self.rows("SELECT device, seq FROM entries GROUP BY device, seq HAVING count(*) > 1")
        twice = self.rows(
            "SELECT id FROM entries GROUP BY id HAVING count(*) > 1 AND count(DISTINCT device || ' ' || seq) > 1"
        )
        same = tuple(
            Clone(device=device, seq=seq, entries=(entry_id,) * len(hashes), hashes=hashes)
            for (entry_id,) in twice
            for device, seq, hashes in [self._contents(entry_id)]
        )
        return tuple(self._clone(device, seq) for device, seq in sorted(pairs)) + same

    def put_aside(self, rows: Iterable[AsideRow], bodies: Iterable[bytes]) -> int:
        """Lines set aside, once each; how many of them are new."""
        changes = self.connection.total_changes
        self.connection.executemany(
            "INSERT OR IGNORE INTO set_aside (hash, batch, line, code, why, id, device, seq, body)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)",
            (
                (r.hash, r.batch, r.line, r.code, r.why, r.id, r.device, r.seq, body)
                for r, body in zip(rows, bodies, strict=True)
            ),
        )
        return self.connection.total_changes - changes

    def put_edition(self, fingerprint: str, body: bytes) -> None:
        self.connection.execute("INSERT OR IGNORE INTO editions (edition, body) VALUES (?, ?)", (fingerprint, body))

    def put_device(self, device: str, name: str, batch: int) -> None:
        self.connection.execute(
            "INSERT INTO devices (device, name, batch) VALUES (?, ?, ?)"
            " ON CONFLICT (device, name) DO UPDATE SET batch = excluded.batch",
            (device, name, batch),
        )

    def put_photo(self, row: PhotoRow) -> bool:
        """Name a photo whose file is in its place; whether it was new."""
        cursor = self.connection.execute(
            "INSERT OR IGNORE INTO photos (sha256, type, size) VALUES (?, ?, ?)", (row.sha256, row.type, row.size)
        )
        return cursor.rowcount > 0

    def redact(self, entry_id: str, digest: bytes, body: str) -> None:
        """The one change the log allows: an entry's content without what a person took out. Its hash stays."""
        self.connection.execute("UPDATE entries SET body = ? WHERE id = ? AND hash = ?", (body, entry_id, digest))

    def forget_photo(self, sha256: str) -> None:
        self.connection.execute("DELETE FROM photos WHERE sha256 = ?", (sha256,))

    # --- reading the log

    def entry(self, entry_id: str) -> tuple[EntryRow, ...]:
        """All contents under an id: one, or more where a device was cloned."""
        rows = self.rows(f"SELECT {_ENTRY} FROM entries WHERE id = ? ORDER BY hash", (entry_id,))
        return tuple(_entry_row(row) for row in rows)

    def entries(self, *, after: int = 0, kinds: Sequence[str] = (), vehicle: str = "") -> Iterator[EntryRow]:
        """The log in the order of arrival; of some kinds or of one vehicle only, where asked."""
        where, values = ["number > ?"], [after, *kinds]
        if kinds:
            where.append(f"kind IN ({', '.join('?' * len(kinds))})")
        if vehicle:
            where.append("vehicle = ?")
            values.append(vehicle)  # type: ignore[arg-type]
        cursor = self.connection.execute(
            f"SELECT {_ENTRY} FROM entries WHERE {' AND '.join(where)} ORDER BY number", values
        )
        return (_entry_row(row) for row in cursor)

    def highest_number(self) -> int:
        return int(self.rows("SELECT ifnull(max(number), 0) FROM entries")[0][0])

    def kept(self, where: str, values: Sequence[Any] = ()) -> Iterator[Kept]:
        """Trusted reading for the service: `where` is one of its own constants."""
        sql = f"SELECT number, lower(hex(hash)), body FROM entries WHERE {where}"
        return (Kept(*row) for row in self.connection.execute(sql, values))

    def kept_for_context(self) -> Iterator[Kept]:
        """Every entry but the findings that correct nothing."""
        return self.kept("kind <> 'finding' OR corrects <> ''")

    def kept_by_ids(self, ids: Sequence[str]) -> list[Kept]:
        return list(self.kept("id IN (SELECT value FROM json_each(?))", (json.dumps(list(ids)),)))

    def findings_of(self, *, walks: Sequence[str] = (), devices: Sequence[str] = ()) -> list[Kept]:
        """Findings of some walks and of some devices."""
        by_walk = "kind = 'finding' AND walk <> '' AND walk IN (SELECT value FROM json_each(?))"
        by_device = "device IN (SELECT value FROM json_each(?)) AND kind = 'finding'"
        found = list(self.kept(by_walk, (json.dumps(list(walks)),))) if walks else []
        return found + (list(self.kept(by_device, (json.dumps(list(devices)),))) if devices else [])

    def findings(self) -> Iterator[Kept]:
        return self.kept("kind = 'finding' ORDER BY number")

    def advance(self, devices: Iterable[str]) -> None:
        """Bring each device's mark forward: the seq up to which all has come, lines set aside counted."""
        for device in devices:
            mark = self._mark(device)
            upto = mark
            for seq in self._seqs_after(device, mark):
                if seq > upto + 1:
                    break
                upto = seq
            if upto > mark:
                self.connection.execute(
                    "INSERT INTO marks (device, upto) VALUES (?, ?)"
                    " ON CONFLICT (device) DO UPDATE SET upto = excluded.upto",
                    (device, upto),
                )

    def knows(self) -> dict[str, int]:
        """Device -> the seq up to which all of it is here: what may be said to be known. A gap ends it."""
        return dict(self.rows("SELECT device, upto FROM marks ORDER BY device"))

    def missing(self, device: str) -> tuple[tuple[int, int], ...]:
        """Ranges of seq below the device's highest that have not come, lines set aside counted as here."""
        mark = self._mark(device)
        seqs = [mark, *self._seqs_after(device, mark)]
        return tuple((low + 1, high - 1) for low, high in pairwise(seqs) if high - low > 1)

    def _mark(self, device: str) -> int:
        rows = self.rows("SELECT upto FROM marks WHERE device = ?", (device,))
        return int(rows[0][0]) if rows else 0

    def _seqs_after(self, device: str, mark: int) -> Iterator[int]:
        cursor = self.connection.execute(
            "SELECT seq FROM entries WHERE device = ?1 AND seq > ?2 UNION"
            " SELECT seq FROM set_aside WHERE device = ?1 AND seq > ?2 ORDER BY seq",
            (device, mark),
        )
        return (row[0] for row in cursor)

    def lacking(self, items: Sequence[tuple[int, str, str]]) -> tuple[tuple[int, str, str], ...]:
        """Of (seq, id, hash) those that are not here; lines set aside are here."""
        asked = json.dumps([[item_id, digest] for _, item_id, digest in items])
        here = {
            (row[0], row[1])
            for row in self.rows(
                "SELECT e.id, lower(hex(e.hash)) FROM json_each(?1) AS j JOIN entries AS e"
                " ON e.id = json_extract(j.value, '$[0]') UNION ALL"
                " SELECT json_extract(j.value, '$[0]'), s.hash FROM json_each(?1) AS j JOIN set_aside AS s"
                " ON s.hash = json_extract(j.value, '$[1]')",
                (asked,),
            )
        }
        return tuple(item for item in items if (item[1], item[2]) not in here)

    def lines(self, ids: Sequence[str]) -> Iterator[tuple[str, str, str]]:
        """(id, hash, line) of some entries, for handing on."""
        for start in range(0, len(ids), _ALIVE):
            yield from self.rows(
                "SELECT id, lower(hex(hash)), body FROM entries WHERE id IN (SELECT value FROM json_each(?))",
                (json.dumps(list(ids[start : start + _ALIVE])),),
            )

    def lacking_photos(self, sha256s: Sequence[str]) -> tuple[str, ...]:
        here = {
            row[0]
            for row in self.rows(
                "SELECT sha256 FROM photos WHERE sha256 IN (SELECT value FROM json_each(?))",
                (json.dumps(list(sha256s)),),
            )
        }
        return tuple(sha for sha in sha256s if sha not in here)

    def editions(self) -> tuple[str, ...]:
        return tuple(row[0] for row in self.rows("SELECT edition FROM editions ORDER BY edition"))

    def edition_bytes(self, fingerprint: str) -> bytes:
        rows = self.rows("SELECT body FROM editions WHERE edition = ?", (fingerprint,))
        return bytes(rows[0][0]) if rows else b""

    def set_aside(self, limit: int | None = None) -> tuple[AsideRow, ...]:
        """Lines set aside, newest batch first."""
        rows = self.rows(
            "SELECT hash, batch, line, code, why, id, device, seq, body FROM set_aside"
            " ORDER BY batch DESC, line, hash LIMIT ?",
            (-1 if limit is None else limit,),
        )
        return tuple(
            AsideRow(
                hash=r[0],
                batch=r[1],
                line=r[2],
                code=r[3],
                why=r[4],
                id=r[5],
                device=r[6],
                seq=r[7],
                body=bytes(r[8]).decode("utf-8", "replace"),
            )
            for r in rows
        )

    def batches(self, limit: int = 50) -> tuple[BatchRow, ...]:
        """Takings in, newest first."""
        rows = self.rows(
            "SELECT batch, at, source, device, device_name, taken, already, set_aside, photos, trouble FROM batches"
            " ORDER BY batch DESC LIMIT ?",
            (limit,),
        )
        return tuple(BatchRow(**dict(zip(BatchRow.__struct_fields__, row, strict=True))) for row in rows)

    def photo(self, sha256: str) -> PhotoRow | None:
        rows = self.rows("SELECT sha256, type, size FROM photos WHERE sha256 = ?", (sha256,))
        return PhotoRow(sha256=rows[0][0], type=rows[0][1], size=rows[0][2]) if rows else None

    def photos(self) -> tuple[PhotoRow, ...]:
        rows = self.rows("SELECT sha256, type, size FROM photos ORDER BY sha256")
        return tuple(PhotoRow(sha256=r[0], type=r[1], size=r[2]) for r in rows)


def _entry_row(row: tuple[Any, ...]) -> EntryRow:
    return EntryRow(
        id=row[0],
        hash=bytes(row[1]).hex(),
        device=row[2],
        seq=row[3],
        kind=row[4],
        vehicle=row[5],
        body=row[6],
        trusted=bool(row[7]),
        batch=row[8],
    )
