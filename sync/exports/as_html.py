"""The backlog as one HTML page that needs nothing else: style and photos are in it, it reads offline and prints."""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from typing import BinaryIO

from sync.exports.columns import VIEW, Column, Subject, Value, subjects, values
from sync.exports.photos import embedded
from sync.exports.snapshot import PhotoRow, Snapshot
from sync.pages import environment
from sync.rows import BacklogRow

#: Mail servers commonly refuse more than 25 MB, and mail grows an attachment by a third (common practice, no source).
PHOTO_BYTES_MOST = 16_000_000
PHOTOS_A_DEFECT = 4
#: Told in a card's head, so not again among its facts.
TOLD = frozenset({"rank", "defect", "vehicle_name", "fault", "severity", "status", "station", "check_name", "spot"}) | {
    "note",
    "conflict",
}
#: The subjects told as plain tables, and where on the page.
TABLES = ("waits", "jobs", "days", "walks", "reports", "set_aside")
OURS = frozenset({"about", "job", "entry", "opening"})


@dataclass(frozen=True)
class Shown:
    src: str
    told: str


@dataclass(frozen=True)
class Counts:
    standings: Counter[str]
    defects: int
    conflicts: int


@dataclass(frozen=True)
class Table:
    anchor: str
    title: str
    columns: tuple[Column, ...]
    rows: Iterator[tuple[Value, ...]]


def write(snapshot: Snapshot, out: BinaryIO) -> None:
    """Writes the page to `out`, a row at a time."""
    album = Album(snapshot)
    page = environment().get_template("export/backlog.html")
    pieces = page.generate(
        snap=snapshot,
        counts=_counts(snapshot),
        facts=_facts,
        figures=snapshot.figures,
        photos_of=album.of,
        embed=album.embed,
        left_out=lambda: album.left_out,
        tables=(_table(one) for one in subjects(snapshot) if one.name in TABLES),
    )
    for piece in pieces:
        out.write(piece.encode())


class Album:
    """Hands out photos as the page goes down the backlog, up to what a mail can carry.

    The photos come in the backlog's order, so one look ahead finds a defect's own, and none are kept.
    """

    def __init__(self, snapshot: Snapshot) -> None:
        self._snapshot = snapshot
        self._coming = iter(snapshot.photos)
        self._next = next(self._coming, None)
        self._room = PHOTO_BYTES_MOST
        self.left_out = 0

    def of(self, defect: str) -> list[Shown]:
        """The defect's photos; to be asked once, in the backlog's order."""
        shown: list[Shown] = []
        while self._next is not None and self._next.defect == defect:
            if len(shown) == PHOTOS_A_DEFECT:
                self.left_out += 1
            elif src := self.embed(self._next.photo):
                shown.append(Shown(src, _told(self._next)))
            self._next = next(self._coming, None)
        return shown

    def embed(self, photo: str) -> str:
        """One photo as a data address; empty where it is not here or there is no more room."""
        src = embedded(self._snapshot.photo(photo))
        if len(src) > self._room:
            self.left_out += 1
            return ""
        self._room -= len(src)
        return src


def _told(row: PhotoRow) -> str:
    return ", ".join(part for part in (row.by, row.day) if part)


def _counts(snapshot: Snapshot) -> Counts:
    defects = conflicts = 0
    for row in snapshot.backlog:
        defects += 1
        conflicts += bool(row.conflict)
    return Counts(Counter(row.standing for row in snapshot.standing), defects, conflicts)


def _facts(row: BacklogRow) -> Iterator[tuple[Column, Value]]:
    for column, value in zip(VIEW, values(row), strict=True):
        if column.name not in TOLD and value:
            yield column, value


def _table(subject: Subject) -> Table:
    keep = [place for place, column in enumerate(subject.columns) if column.name not in OURS]
    rows = (tuple(row[place] for place in keep) for row in subject.rows)
    return Table(subject.name, subject.title, tuple(subject.columns[place] for place in keep), rows)
