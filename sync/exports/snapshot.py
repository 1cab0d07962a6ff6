"""The frozen input of every export and of the printed papers: what the backlog said on one day.

Rows are re-iterable and may be read from the store anew each time, so that a backlog of any length is exported in
bounded memory: an export goes through them one by one, as often as it needs to, and keeps none.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Generic, TypeVar

import msgspec

from sync.rows import BacklogRow, StandingRow

Row_co = TypeVar("Row_co", covariant=True)


class Rows(Generic[Row_co]):
    """An iterable that asks for its rows afresh each time it is gone through."""

    def __init__(self, read: Callable[[], Iterator[Row_co]]) -> None:
        self._read = read

    def __iter__(self) -> Iterator[Row_co]:
        return self._read()


class SideRow(msgspec.Struct, frozen=True, kw_only=True):
    """What one person said in a conflict. `stands` is "stands meanwhile" on the safer claim, else empty."""

    says: str  # "defect, major, 61 mm"
    stands: str
    by: str
    device: str
    at: str  # RFC 3339, by that device's own clock
    clock: str  # a warning where that clock was more than 5 minutes off, else empty
    occasion: str  # "2026-10-18 cold"
    reading: str
    note: str
    photos: tuple[str, ...]  # SHA-256
    entry: str


class ConflictRow(msgspec.Struct, frozen=True, kw_only=True):
    """One conflict that no person has settled, with every side of it."""

    conflict: str
    kind: str
    vehicle: str
    vehicle_name: str
    station: str
    check_name: str
    spot: str
    fault: str
    why: str
    defect: str  # the code shown, empty where no defect is open
    sides: tuple[SideRow, ...]

    @property
    def subject(self) -> str:
        """Where it is, in words: "Left track, Sag of the top run, spot 2, Slack"."""
        spot = f"spot {self.spot}" if self.spot else ""
        return ", ".join(part for part in (self.station, self.check_name, spot, self.fault) if part)


class WaitRow(msgspec.Struct, frozen=True, kw_only=True):
    """Work that waits. `about` is the id of the defect, job or part: it never changes, whatever else does."""

    about: str
    vehicle: str
    vehicle_name: str
    defect: str  # the code shown; empty where a job or a part waits
    what: str  # the work
    waiting_for: str
    kind: str  # part, sent out, person, owner
    where: str
    due: str
    firm: str  # "promised" or nothing


class JobRow(msgspec.Struct, frozen=True, kw_only=True):
    """Work planned and signed off together. Lists are joined by "; "."""

    job: str
    title: str
    vehicle: str
    vehicle_name: str
    state: str
    defects: str  # codes
    steps: str
    tasks: str
    waiting_for: str
    due: str


class WalkRow(msgspec.Struct, frozen=True, kw_only=True):
    """One walk-round; `unchecked` names what was not looked at, and why not."""

    vehicle: str
    vehicle_name: str
    day: str
    round: str
    by: str
    device: str
    state: str  # started, finished
    covered: int
    of: int
    unchecked: str


class ReportRow(msgspec.Struct, frozen=True, kw_only=True):
    """What a driver felt or a visitor saw, and which defect explains it."""

    vehicle: str
    vehicle_name: str
    source: str
    by: str
    at: str
    symptom: str
    conditions: str
    explained: str


class PhotoRow(msgspec.Struct, frozen=True, kw_only=True):
    """One photo of one open defect; `file` is its path as seen from where the export is written."""

    defect: str
    vehicle: str
    photo: str  # SHA-256
    by: str
    day: str
    file: str


class DayRow(msgspec.Struct, frozen=True, kw_only=True):
    """A display day, or a planned work day with what is to be done on it, one line each."""

    day: str
    kind: str  # "display day" or "work day"
    name: str
    plan: tuple[str, ...] = ()


class EndedRow(msgspec.Struct, frozen=True, kw_only=True):
    """What had a date and no longer has: a calendar that holds it is told. `about` as the event was told by."""

    about: str
    day: str
    vehicle_name: str
    what: str


class AsideRow(msgspec.Struct, frozen=True, kw_only=True):
    """How many lines of hand-ins were kept but not understood, by reason."""

    reason: str
    lines: int


class FiguresRow(msgspec.Struct, frozen=True, kw_only=True):
    """What the figures of one defect come to, beside the view's columns; all empty where nothing was measured."""

    reading_value: float | None = None  # the view's `reading` as a number, and its unit
    reading_unit: str = ""
    limits: str = ""  # "15 to 35 mm"
    figures_verdict: str = ""  # dangerous, major, minor, advisory, in range, not judged: proposed, a person decides
    figures_say: str = ""  # the reading against its limits, and what was reckoned, in words
    reckoned: str = ""  # "to take up: 7.8 mm; idler moves: 3.9 mm; links to take out: 1"
    to_do: str = ""
    how_sure: str = ""  # what was assumed, and which facts are missing
    cautions: str = ""
    figures_source: str = ""


@dataclass(frozen=True, kw_only=True)
class Snapshot:
    """One backlog on one day.

    Args:
        fleet, code, edition: the collection's name and slug, and the edition in force.
        as_of: the day everything is told for.
        log_entries: how many entries the log holds; it only grows, so it orders two exports of one day.
        photo: where a photo's bytes lie by its SHA-256; None where it is not here.
        figures: what a backlog row's readings come to.
        ended: dates that no longer hold.
        plan_note: why no work is planned on any day; empty where it is.
    """

    fleet: str
    code: str
    edition: str
    as_of: date
    log_entries: int
    backlog: Iterable[BacklogRow]
    standing: Iterable[StandingRow]
    conflicts: Iterable[ConflictRow] = ()
    waits: Iterable[WaitRow] = ()
    jobs: Iterable[JobRow] = ()
    walks: Iterable[WalkRow] = ()
    reports: Iterable[ReportRow] = ()
    days: Iterable[DayRow] = ()
    photos: Iterable[PhotoRow] = ()
    set_aside: Iterable[AsideRow] = ()
    photo: Callable[[str], Path | None] = field(default=lambda _: None)
    figures: Callable[[BacklogRow], FiguresRow] = field(default=lambda _: FiguresRow())
    ended: Iterable[EndedRow] = ()
    plan_note: Callable[[], str] = field(default=str)
