"""The backlog as Markdown that reads well as it stands: a table of the fleet, then a short list a defect.

A line for every column that says something, under the view's own names. What people wrote is escaped, so that it
shows as they wrote it.
"""

import re
from collections.abc import Iterable, Iterator
from typing import BinaryIO

from sync.exports.columns import BACKLOG, backlog_values
from sync.exports.guard import printable
from sync.exports.snapshot import ConflictRow, JobRow, ReportRow, SideRow, Snapshot, WaitRow, WalkRow
from sync.rows import StandingRow

#: Told in a defect's heading and first line, so not again below.
TOLD = frozenset(
    {"rank", "defect", "vehicle_name", "fault", "severity", "status", "station", "check_name", "spot", "conflict"}
    | {"reading_value", "reading_unit"}
)
SPECIAL = re.compile(r"([\\`*_\[\]<|~]|&(?=[#\w]))")
STARTS = re.compile(r"^(\d+(?=[.)])|(?=[-+=#>]))")


def write(snapshot: Snapshot, out: BinaryIO) -> None:
    """Writes the Markdown to `out`, a defect at a time."""
    for line in _lines(snapshot):
        out.write(f"{line}\n".encode())


def _lines(snapshot: Snapshot) -> Iterator[str]:
    yield f"# {said(snapshot.fleet)}: backlog as of {snapshot.as_of}"
    yield ""
    yield f"Edition {said(snapshot.edition)}."
    yield "Where a conflict is open, the safer claim stands until a person settles it."
    yield from _section("Fleet", _fleet(snapshot.standing))
    yield from ("", *_reasons(snapshot.standing))
    yield from _section("Conflicts", _conflicts(snapshot.conflicts))
    yield from _section("Backlog", _backlog(snapshot))
    yield from _section("Waits", map(_wait, snapshot.waits))
    yield from _section("Jobs", map(_job, snapshot.jobs))
    yield from _section("Days", _days(snapshot))
    yield from _section("Walks", map(_walk, snapshot.walks))
    yield from _section("Reports", map(_report, snapshot.reports))
    yield from _section("Set aside", (f"- {row.lines} x {said(row.reason)}" for row in snapshot.set_aside))


def _section(title: str, lines: Iterable[str]) -> Iterator[str]:
    yield from ("", f"## {title}", "")
    empty = True
    for line in lines:
        empty = False
        yield line
    if empty:
        yield "None."


def _fleet(rows: Iterable[StandingRow]) -> Iterator[str]:
    """Padded, so that the table is one to the eye too; a fleet is small enough to be measured first."""
    titles = ("Vehicle", "Standing", "Barred", "How it may be moved", "Open", "Last round")
    cells = [titles, *(_vehicle(row) for row in rows)]
    if len(cells) == 1:
        return
    widths = [min(36, max(len(line[place]) for line in cells)) for place in range(len(titles))]
    rule = tuple("-" * width for width in widths)
    for line in (cells[0], rule, *cells[1:]):
        yield "| " + " | ".join(cell.ljust(width) for cell, width in zip(line, widths, strict=True)) + " |"


def _vehicle(row: StandingRow) -> tuple[str, ...]:
    name = f"{row.name} ({row.vehicle})" if row.name != row.vehicle else row.vehicle
    standing = f"**{row.standing}**" if row.standing == "stopped" else row.standing
    last = row.not_walked or row.last_round
    open_now = str(row.open_defects) if row.open_defects else "nothing open"
    return (said(name), standing, said(row.barred), said(row.moves), open_now, said(last))


def _reasons(rows: Iterable[StandingRow]) -> Iterator[str]:
    """Why a vehicle stands as it does, below the table: too long for a cell."""
    for row in rows:
        if row.why:
            yield f"- {said(row.name)} is {row.standing}: {said(row.why)}"
        if row.permit:
            yield f"- {said(row.name)} has a move permit: {said(row.permit)}"


def _conflicts(rows: Iterable[ConflictRow]) -> Iterator[str]:
    for place, row in enumerate(rows):
        yield from ("",) if place else ()
        defect = f" ({row.defect})" if row.defect else ""
        yield f"### {said(row.vehicle_name)}: {said(row.subject)}{defect}"
        yield ""
        yield f"{said(row.why)}. Conflict {said(row.conflict)}, {said(row.kind)}."
        yield ""
        yield from map(_side, row.sides)


def _side(side: SideRow) -> str:
    says = f"**{said(side.says)}, stands meanwhile**" if side.stands else said(side.says)
    more = (side.occasion, f"written {side.at} on {side.device}", side.clock, side.note)
    return f"- {said(side.by)}: {says}; {'; '.join(said(one) for one in more if one)}"


def _backlog(snapshot: Snapshot) -> Iterator[str]:
    for place, row in enumerate(snapshot.backlog):
        yield from ("",) if place else ()
        where = ", ".join(one for one in (row.station, row.check_name, row.spot and f"spot {row.spot}") if one)
        yield f"### {row.rank}. {said(row.defect)}: {said(row.vehicle_name)}, {said(row.fault)}"
        yield ""
        conflict = f". **In conflict**: {said(row.conflict)}" if row.conflict else ""
        yield f"**{row.severity}**, {row.status}, at {said(where)}{conflict}"
        yield ""
        told = zip(BACKLOG, backlog_values(snapshot, row), strict=True)
        yield from (f"- {col.name}: {said(str(value))}" for col, value in told if col.name not in TOLD and value)


def _wait(row: WaitRow) -> str:
    due = f"due {row.due}{', promised' if row.firm else ''}" if row.due else "no date"
    where = f" at {said(row.where)}" if row.where else ""
    return f"- {said(row.vehicle_name)}, {said(row.what)}: {said(row.waiting_for)} ({row.kind}){where}, {due}"


def _job(row: JobRow) -> str:
    return f"- {said(row.title)} ({said(row.vehicle_name)}): {row.state}; {said(row.defects)}"


def _days(snapshot: Snapshot) -> Iterator[str]:
    yield from (f"- {row.day} {said(row.name)}{_plan(row.plan)}" for row in snapshot.days)
    if note := snapshot.plan_note():
        yield from ("", said(note))


def _plan(lines: tuple[str, ...]) -> str:
    return "".join(f"\n  - {said(line)}" for line in lines)


def _walk(row: WalkRow) -> str:
    missed = f"; not looked at: {said(row.unchecked)}" if row.unchecked else ""
    head = f"- {row.day} {row.round}: {said(row.vehicle_name)} by {said(row.by)}, {row.state}"
    return f"{head}, {row.covered} of {row.of} checks{missed}"


def _report(row: ReportRow) -> str:
    conditions = f" ({said(row.conditions)})" if row.conditions else ""
    explained = f"explained by {said(row.explained)}" if row.explained else "not explained yet"
    return f"- {said(row.vehicle_name)}, {row.source} {said(row.by)}: {said(row.symptom)}{conditions}; {explained}"


def said(text: str) -> str:
    """What a person wrote, on one line and with no mark of it taken for markup."""
    line = " ".join(printable(text).split())
    return STARTS.sub(r"\1\\", SPECIAL.sub(r"\\\1", line))
