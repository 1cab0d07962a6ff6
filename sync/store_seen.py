"""What the log holds, read: entries, what is missing of a device, what another lacks, lines set aside, batches."""

import json
from collections.abc import Iterable, Iterator, Sequence
from typing import Any, NamedTuple

from sync.store_own import StoreOwn
from sync.store_rows import AsideRow, BatchRow, EntryRow, PhotoRow

ENTRY = "id, hash, device, seq, kind, vehicle, body, trusted, batch"
_ALIVE = 900  # values bound in one statement


class Kept(NamedTuple):
    """One entry of the log as the fold wants it. `number` is its place in the table."""

    number: int
    hash: str
    body: str


#: Of lines set aside (`s`): not read since, nor come from one who may say them.
STILL_ASIDE = "NOT EXISTS (SELECT 1 FROM entries AS e WHERE e.id = s.id AND lower(hex(e.hash)) = s.hash)"

#: Of entries (`e`): neither corrected nor ruled void.
STANDS = "NOT EXISTS (SELECT 1 FROM taken_back AS t WHERE t.entry = e.id AND t.device = e.device)"


class StoreSeen(StoreOwn):
    """Reading the log; `advance` alone writes, for its caller's transaction."""

    def known_devices(self) -> tuple[str, ...]:
        return tuple(row[0] for row in self.rows("SELECT DISTINCT device FROM entries ORDER BY device"))

    def entry(self, entry_id: str) -> tuple[EntryRow, ...]:
        """All contents under an id: one, or more where a device was cloned."""
        rows = self.rows(f"SELECT {ENTRY} FROM entries WHERE id = ? ORDER BY hash", (entry_id,))
        return tuple(entry_row(row) for row in rows)

    def entries(self, *, after: int = 0, kinds: Sequence[str] = (), vehicle: str = "") -> Iterator[EntryRow]:
        """The log in the order of arrival; of some kinds or of one vehicle only, where asked."""
        where, values = ["number > ?"], [after, *kinds]
        if kinds:
            where.append(f"kind IN ({', '.join('?' * len(kinds))})")
        if vehicle:
            where.append("vehicle = ?")
            values.append(vehicle)
        cursor = self.connection.execute(
            f"SELECT {ENTRY} FROM entries WHERE {' AND '.join(where)} ORDER BY number", values
        )
        return (entry_row(row) for row in cursor)

    def highest_number(self) -> int:
        return int(self.rows("SELECT ifnull(max(number), 0) FROM entries")[0][0])

    def kept(self, where: str, values: Sequence[Any] = ()) -> Iterator[Kept]:
        """Trusted reading for the service: `where` is one of its own constants."""
        sql = f"SELECT number, lower(hex(hash)), body FROM entries WHERE {where}"
        return (Kept(*row) for row in self.connection.execute(sql, values))

    def kept_for_context(self) -> Iterator[Kept]:
        """Every entry but the findings that correct nothing."""
        return self.kept("fold = 2 ORDER BY number")

    def kept_by_ids(self, ids: Sequence[str]) -> list[Kept]:
        return list(self.kept("id IN (SELECT value FROM json_each(?))", (json.dumps(list(ids)),)))

    def findings_about(self, ids: Sequence[str]) -> list[Kept]:
        """The findings with some ids, and those that speak of a defect by one of them."""
        among = "IN (SELECT value FROM json_each(?))"
        by_id = self.kept(f"kind = 'finding' AND id {among}", (json.dumps(list(ids)),))
        by_defect = self.kept(f"kind = 'finding' AND defect <> '' AND defect {among}", (json.dumps(list(ids)),))
        return list({kept.number: kept for kept in (*by_id, *by_defect)}.values())

    def findings_of(self, upto: int, *, walks: Sequence[str] = (), devices: Sequence[str] = ()) -> list[Kept]:
        """Findings of some walks and of some devices, of those that have a number up to one."""
        here = "kind = 'finding' AND number <= ?"
        by_walk = f"{here} AND walk <> '' AND walk IN (SELECT value FROM json_each(?))"
        by_device = f"{here} AND device IN (SELECT value FROM json_each(?))"
        found = list(self.kept(by_walk, (upto, json.dumps(list(walks))))) if walks else []
        return found + (list(self.kept(by_device, (upto, json.dumps(list(devices))))) if devices else [])

    def findings(self) -> Iterator[Kept]:
        return self.kept("kind = 'finding' AND fold > 0 ORDER BY number")

    def advance(self, devices: Iterable[str]) -> None:
        """Bring each device's mark forward: the seq up to which all has come. Inside `writing()`."""
        for device in devices:
            mark = self._mark(device)
            upto = mark
            for low, high in self._spans_after(device, mark):
                if low > upto + 1:
                    break
                upto = max(upto, high)
            if upto > mark:
                self.connection.execute(
                    "INSERT INTO marks (device, upto) VALUES (?, ?)"
                    " ON CONFLICT (device) DO UPDATE SET upto = excluded.upto",
                    (device, upto),
                )

    def knows(self) -> dict[str, int]:
        """Device -> the seq up to which all of it is here: what may be said to be known. A gap ends it."""
        return dict(self.rows("SELECT device, upto FROM marks ORDER BY device"))

    def ahead(self) -> tuple[str, ...]:
        """Devices with an entry past the mark that `knows` gives: of them something has not come."""
        rows = self.rows(
            "WITH RECURSIVE d (device) AS (SELECT min(device) FROM entries UNION ALL"  # a step of the index each
            " SELECT (SELECT min(e.device) FROM entries AS e WHERE e.device > d.device) FROM d"
            " WHERE d.device IS NOT NULL)"
            " SELECT d.device FROM d LEFT JOIN marks AS m ON m.device = d.device WHERE d.device IS NOT NULL"
            " AND EXISTS (SELECT 1 FROM entries AS e WHERE e.device = d.device AND e.seq > ifnull(m.upto, 0))"
        )
        return tuple(row[0] for row in rows)

    def missing(self, device: str) -> tuple[tuple[int, int], ...]:
        """Ranges of seq below the device's highest that have not come, both ends in them."""
        upto = self._mark(device)
        gaps: list[tuple[int, int]] = []
        for low, high in self._spans_after(device, upto):
            if low > upto + 1:
                gaps.append((upto + 1, low - 1))
            upto = max(upto, high)
        return tuple(gaps)

    def _mark(self, device: str) -> int:
        rows = self.rows("SELECT upto FROM marks WHERE device = ?", (device,))
        return int(rows[0][0]) if rows else 0

    def _spans_after(self, device: str, mark: int) -> list[tuple[int, int]]:
        """Ranges of seq past a mark that are here, are set aside, or were given up, in their order."""
        found = self.rows(
            "SELECT seq, seq FROM entries WHERE device = ?1 AND seq > ?2 UNION"
            " SELECT seq, seq FROM set_aside WHERE device = ?1 AND seq > ?2 UNION"
            " SELECT low, high FROM given_up WHERE device = ?1 AND high > ?2 ORDER BY 1, 2",
            (device, mark),
        )
        return [(row[0], row[1]) for row in found]

    def held_seqs(self, device: str) -> list[int]:
        """A device's seqs that are here, lines set aside counted."""
        found = self.rows(
            "SELECT seq FROM entries WHERE device = ?1 UNION"
            " SELECT seq FROM set_aside WHERE device = ?1 AND seq > 0 ORDER BY 1",
            (device,),
        )
        return [row[0] for row in found]

    def contents(self, device: str) -> list[tuple[int, tuple[str, str]]]:
        """(seq, (id, hash)) of a device's entries."""
        found = self.rows("SELECT seq, id, lower(hex(hash)) FROM entries WHERE device = ? ORDER BY seq", (device,))
        return [(row[0], (row[1], row[2])) for row in found]

    def highest_seq(self, device: str) -> int:
        return int(self.rows("SELECT ifnull(max(seq), 0) FROM entries WHERE device = ?", (device,))[0][0])

    def own_after(self, device: str, seq: int) -> tuple[EntryRow, ...]:
        rows = self.rows(f"SELECT {ENTRY} FROM entries WHERE device = ? AND seq > ? ORDER BY seq", (device, seq))
        return tuple(entry_row(row) for row in rows)

    def wanted_photos(self, device: str = "") -> tuple[str, ...]:
        """Photos that entries (of a device) name and that have not come."""
        rows = self.rows(
            "SELECT DISTINCT sha256 FROM photo_names WHERE (?1 = '' OR device = ?1)"
            " AND sha256 NOT IN (SELECT sha256 FROM photos) AND sha256 NOT IN (SELECT sha256 FROM gone_photos)"
            " ORDER BY sha256",
            (device,),
        )
        return tuple(row[0] for row in rows)

    def is_redacted_photo(self, sha256: str) -> bool:
        return bool(self.rows("SELECT 1 FROM gone_photos WHERE sha256 = ?", (sha256,)))

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

    def editions(self) -> tuple[str, ...]:
        return tuple(row[0] for row in self.rows("SELECT edition FROM editions ORDER BY edition"))

    def edition_bytes(self, fingerprint: str) -> bytes:
        rows = self.rows("SELECT body FROM editions WHERE edition = ?", (fingerprint,))
        return bytes(rows[0][0]) if rows else b""

    def set_aside(self, limit: int | None = None) -> tuple[AsideRow, ...]:
        """Lines set aside, newest batch first; not those that could be read since, or came from one who may."""
        rows = self.rows(
            f"SELECT hash, batch, line, code, why, id, device, seq, body FROM set_aside AS s WHERE {STILL_ASIDE}"
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

    def count(self, table: str) -> int:
        """How many rows a table has; `table` is a name of our own."""
        return int(self.rows(f"SELECT count(*) FROM {table}")[0][0])

    def redacted_entries(self) -> set[str]:
        """Ids of entries that a person took something out of, so that their lines are no longer what was written."""
        rows = self.rows("SELECT json_extract(body, '$.entry') FROM entries WHERE fold = 2 AND kind = 'redact'")
        return {row[0] for row in rows}

    def backed_up(self) -> tuple[str, ...]:
        """Photos that a backup holds."""
        return tuple(row[0] for row in self.rows("SELECT sha256 FROM backed_up ORDER BY sha256"))

    def photos(self) -> tuple[PhotoRow, ...]:
        rows = self.rows("SELECT sha256, type, size FROM photos ORDER BY sha256")
        return tuple(PhotoRow(sha256=r[0], type=r[1], size=r[2]) for r in rows)


def entry_row(row: tuple[Any, ...]) -> EntryRow:
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
