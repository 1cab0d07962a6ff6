"""The log in the backlog file: entries, lines set aside, editions, devices, photos, batches. Only ever added to."""

from collections.abc import Iterable, Mapping, Sequence

from sync.fold.clones import find_clones
from sync.state import Clone
from sync.store_rows import AsideRow, BatchRow, EntryRow, PhotoRow
from sync.store_seen import ENTRY, StoreSeen, entry_row

#: One new entry as the table has it: id, digest, device, seq, kind, vehicle, walk, defect, trusted, fold,
#: batch, line. A plain tuple: a million of them are made.
LogRow = tuple[str, bytes, str, int, str, str, str, str, int, int, int, str]


class StoreLog(StoreSeen):
    """What is written here is written inside `writing()`, by the service alone."""

    def open_batch(self, at: str, source: str) -> int:
        cursor = self.connection.execute(
            "INSERT INTO batches (at, source, device, device_name, edition, taken, already, set_aside, photos, trouble)"
            " VALUES (?, ?, '', '', '', 0, 0, 0, 0, '')",
            (at, source),
        )
        return int(cursor.lastrowid or 0)

    def drop_batch(self, batch: int) -> None:
        """A batch of which nothing was taken."""
        self.connection.execute("DELETE FROM batches WHERE batch = ?", (batch,))

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

    def append(self, rows: Sequence[LogRow]) -> list[int | None]:
        """Put entries in, sorted by id; per row its new number, None where the log had it already."""
        before = self.highest_number()
        changes = self.connection.total_changes
        self.connection.executemany(
            "INSERT OR IGNORE INTO entries"
            " (id, hash, device, seq, kind, vehicle, walk, defect, trusted, fold, batch, body)"
            " VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)",
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
        return [new.pop((row[0], row[1]), None) for row in rows]

    def trust(self, ids: Iterable[str]) -> None:
        """Entries known from a phone's file that have now come from a desk that may write them."""
        self.connection.executemany("UPDATE entries SET trusted = 1 WHERE id = ? AND NOT trusted", ((i,) for i in ids))

    def unfolded(self) -> tuple[EntryRow, ...]:
        """Entries that could not be read, or might not count, when they came."""
        return tuple(entry_row(row) for row in self.rows(f"SELECT {ENTRY} FROM entries WHERE fold = 0 ORDER BY number"))

    def set_fold(self, entry_id: str, digest: bytes, fold: int) -> None:
        self.connection.execute("UPDATE entries SET fold = ? WHERE id = ? AND hash = ?", (fold, entry_id, digest))

    def clones_above(self, number: int, spans: Mapping[str, tuple[int, int]]) -> tuple[Clone, ...]:
        """Two contents under one (device, seq) or one id, where one of the two is an entry numbered above.

        `spans` are the lowest and the highest seq of those entries, by device.
        """
        keys: set[tuple[str, int]] = set()
        for device, (low, high) in spans.items():
            keys.update(
                (device, seq)
                for (seq,) in self.connection.execute(
                    "SELECT seq FROM entries WHERE device = ? AND seq BETWEEN ? AND ? GROUP BY seq HAVING count(*) > 1",
                    (device, low, high),
                )
            )
        # One id under two seqs: only an edited file or a broken phone makes that.
        # Along the new entries' numbers: by an index of the ids, all that is here would be gone through.
        twice = self.rows(
            "SELECT DISTINCT e.id FROM entries AS e NOT INDEXED JOIN entries AS o ON o.id = e.id"
            " AND o.number <> e.number WHERE e.number > ? AND (o.device <> e.device OR o.seq <> e.seq) ORDER BY e.id",
            (number,),
        )
        by_key = tuple(self._clone("device = ? AND seq = ?", key) for key in sorted(keys))
        return by_key + tuple(self._clone("id = ?", key) for key in twice)

    def all_clones(self) -> tuple[Clone, ...]:
        keys = self.rows("SELECT device, seq FROM entries GROUP BY device, seq HAVING count(*) > 1 ORDER BY 1, 2")
        ids = self.rows(
            "SELECT id FROM entries GROUP BY id HAVING count(*) > 1 AND count(DISTINCT device || ' ' || seq) > 1"
            " ORDER BY 1"
        )
        by_key = tuple(self._clone("device = ? AND seq = ?", key) for key in keys)
        return by_key + tuple(self._clone("id = ?", key) for key in ids)

    def _clone(self, where: str, key: Sequence[object]) -> Clone:
        """All contents under one (device, seq) or one id, as one case."""
        rows = self.rows(f"SELECT device, seq, id, lower(hex(hash)) FROM entries WHERE {where}", key)
        return next(clone for clone in find_clones(rows) if len(clone.hashes) == len(rows))

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

    def name_photos(self, entry_id: str, device: str, sha256s: Iterable[str]) -> None:
        """Photos that an entry names, whether or not they have come."""
        self.connection.executemany(
            "INSERT OR IGNORE INTO photo_names (sha256, entry, device) VALUES (?, ?, ?)",
            ((sha, entry_id, device) for sha in sha256s),
        )

    def put_given_up(self, device: str, low: int, high: int, why: str) -> None:
        self.connection.execute(
            "INSERT OR IGNORE INTO given_up (device, low, high, why) VALUES (?, ?, ?, ?)", (device, low, high, why)
        )

    def forget_photo(self, sha256: str) -> None:
        self.connection.execute("DELETE FROM photos WHERE sha256 = ?", (sha256,))
        self.connection.execute("INSERT OR IGNORE INTO gone_photos (sha256) VALUES (?)", (sha256,))
