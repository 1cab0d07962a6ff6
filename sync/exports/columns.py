"""The columns of every subject, once for all formats: their names as in the views, titles, kinds and widths."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from functools import partial
from typing import Literal

import msgspec

from sync.exports.snapshot import (
    AsideRow,
    ConflictRow,
    DayRow,
    FiguresRow,
    JobRow,
    PhotoRow,
    ReportRow,
    Rows,
    Snapshot,
    WaitRow,
    WalkRow,
)
from sync.rows import BacklogRow, StandingRow

Kind = Literal["text", "day", "count", "number", "photo"]
Value = str | int | float | None


@dataclass(frozen=True)
class Column:
    """`width` is in characters, for a spreadsheet."""

    name: str
    title: str
    kind: Kind = "text"
    width: int = 14


@dataclass(frozen=True)
class Subject:
    """One sheet's worth: the columns, and rows of as many values."""

    name: str
    title: str
    columns: tuple[Column, ...]
    rows: Iterable[tuple[Value, ...]]


#: What is not plain text of usual width.
DAYS = frozenset({"first_seen", "last_seen", "due", "temporary_until", "day", "as_of"})
NUMBERS = frozenset({"reading_value"})
COUNTS = frozenset({"rank", "sightings", "open_defects", "covered", "of", "lines", "side", "sides"})
WIDTHS = {
    "rank": 6, "defect": 17, "vehicle_name": 18, "name": 18, "station": 20, "check_name": 30, "fault": 30,
    "severity": 11, "status": 11, "standing": 10, "barred": 18, "sightings": 10, "note": 48, "conflict": 44,
    "why": 44, "waiting_for": 28, "needs": 24, "held_by": 24, "rank_why": 44, "also_codes": 18, "opening": 38,
    "title": 36, "unchecked": 60, "symptom": 48, "plan": 60, "says": 30, "entry": 38, "location": 20, "what": 36,
    "reading_value": 10, "reading_unit": 8, "limits": 16, "figures_verdict": 12, "figures_say": 80, "reckoned": 60,
    "to_do": 80, "how_sure": 80, "cautions": 80, "figures_source": 60, "moves": 24,
    "reason": 44, "file": 36, "photo": 20, "at": 26, "clock": 26, "permit": 30, "not_walked": 12,
}  # fmt: skip
TITLES = {
    "vehicle_name": "Name", "check_name": "Check", "rank_why": "Why this rank", "held_by": "Held by",
    "reading_value": "Value", "reading_unit": "Unit", "figures_verdict": "By the figures", "to_do": "To do",
    "figures_say": "What the figures say", "figures_source": "Source of the figures", "of": "Of",
    "open_defects": "Open defects", "as_of": "As of", "opening": "Opening entry",
}  # fmt: skip


def column(name: str) -> Column:
    kinds: dict[Kind, frozenset[str]] = {"day": DAYS, "count": COUNTS, "number": NUMBERS, "photo": frozenset({"file"})}
    kind: Kind = next((kind for kind, names in kinds.items() if name in names), "text")
    title = TITLES.get(name, name.replace("_", " ").capitalize())
    return Column(name, title, kind, WIDTHS.get(name, 12 if kind == "day" else 14))


def columns_of(row: type[msgspec.Struct]) -> tuple[Column, ...]:
    return tuple(column(name) for name in row.__struct_fields__)


VIEW = columns_of(BacklogRow)
FIGURES = columns_of(FiguresRow)
#: The view's columns in its order, then what the figures come to.
BACKLOG = VIEW + FIGURES
STANDING = columns_of(StandingRow)
CONFLICT = tuple(
    column(name)
    for name in (
        "conflict", "vehicle", "vehicle_name", "station", "check_name", "spot", "fault", "kind", "why", "defect",
        "side", "sides", "stands", "says", "by", "occasion", "at", "clock", "device", "note", "entry",
    )
)  # fmt: skip


def values(row: msgspec.Struct) -> tuple[Value, ...]:
    """A row's values in its columns' order; a list is joined as the views join, a day's plan by lines."""
    given = ((name, getattr(row, name)) for name in row.__struct_fields__)
    return tuple(("\n" if name == "plan" else "; ").join(one) if isinstance(one, tuple) else one for name, one in given)


def backlog_values(snapshot: Snapshot, row: BacklogRow) -> tuple[Value, ...]:
    """A defect's values, one for each of BACKLOG."""
    return values(row) + values(snapshot.figures(row))


def conflict_lines(conflicts: Iterable[ConflictRow]) -> Iterator[tuple[Value, ...]]:
    """A line for every side of every conflict."""
    for one in conflicts:
        for place, side in enumerate(one.sides, 1):
            known = {name: getattr(one, name) for name in one.__struct_fields__}
            said = {name: getattr(side, name) for name in side.__struct_fields__}
            line = {**known, **said, "side": place, "sides": len(one.sides)}
            yield tuple(line[col.name] for col in CONFLICT)


def subjects(snapshot: Snapshot) -> tuple[Subject, ...]:
    """Everything a snapshot holds, a subject at a time, in the order a reader wants it."""
    shown = (
        ("fleet_standing", "Fleet", StandingRow, snapshot.standing),
        ("waits", "Waits", WaitRow, snapshot.waits),
        ("jobs", "Jobs", JobRow, snapshot.jobs),
        ("walks", "Walks", WalkRow, snapshot.walks),
        ("reports", "Reports", ReportRow, snapshot.reports),
        ("days", "Days", DayRow, snapshot.days),
        ("photos", "Photos", PhotoRow, snapshot.photos),
        ("set_aside", "Set aside", AsideRow, snapshot.set_aside),
    )
    fleet, *rest = (
        Subject(name, title, columns_of(row), Rows(partial(map, values, rows))) for name, title, row, rows in shown
    )
    whole = partial(backlog_values, snapshot)
    backlog = Subject("backlog", "Backlog", BACKLOG, Rows(lambda: map(whole, snapshot.backlog)))
    conflicts = Subject("conflicts", "Conflicts", CONFLICT, Rows(partial(conflict_lines, snapshot.conflicts)))
    return (backlog, fleet, conflicts, *rest)
