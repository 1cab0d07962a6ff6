"""Dates as an iCalendar file (RFC 5545): waits due, planned work days, display days, what lapses, how the fleet stands.

An event's UID comes from what it is about, so importing a newer export moves and rewrites events and never doubles
them; what no longer has its date comes as cancelled. DTSTAMP is the day the export tells of; SEQUENCE is the length of
the log, which only grows.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import BinaryIO
from uuid import NAMESPACE_URL, uuid5

from icalendar import Calendar, Event

from sync.exports.guard import printable
from sync.exports.snapshot import Snapshot
from sync.rows import StandingRow

PRODUCT = "-//Driptray//Backlog export 1//EN"


@dataclass(frozen=True)
class Dated:
    """One whole-day event; `about` never changes for the same thing, whatever its date."""

    about: str
    day: str
    title: str
    said: tuple[str, ...]
    category: str
    status: str = "CONFIRMED"


def write(snapshot: Snapshot, out: BinaryIO) -> None:
    """Writes the calendar to `out`, an event at a time."""
    head, tail = _calendar(snapshot).to_ical().split(b"END:VCALENDAR")
    out.write(head)
    for one in _dated(snapshot):
        if (day := _day(one.day)) is not None:
            out.write(_event(one, day, snapshot).to_ical())
    out.write(b"END:VCALENDAR" + tail)


def _calendar(snapshot: Snapshot) -> Calendar:
    calendar = Calendar()
    title = f"{snapshot.fleet}: workshop"
    for name, value in (("prodid", PRODUCT), ("version", "2.0"), ("method", "PUBLISH"), ("name", title)):
        calendar.add(name, value)
    calendar.add("x-wr-calname", title)
    calendar.add("description", f"As of {snapshot.as_of}. Edition {snapshot.edition}.")
    return calendar


def _event(one: Dated, day: date, snapshot: Snapshot) -> Event:
    event = Event()
    event.add("uid", str(uuid5(NAMESPACE_URL, f"driptray:{snapshot.code}:{one.about}")))
    event.add("dtstamp", datetime.combine(snapshot.as_of, time(), UTC))
    event.add("sequence", snapshot.log_entries)
    event.add("dtstart", day)
    event.add("dtend", day + timedelta(days=1))
    event.add("summary", " ".join(printable(one.title).split()))
    lines = (*(printable(line) for line in one.said if line), f"As of {snapshot.as_of}.")
    event.add("description", "\n".join(lines))
    event.add("categories", [one.category])
    event.add("status", one.status)
    event.add("transp", "TRANSPARENT")
    return event


def _dated(snapshot: Snapshot) -> Iterator[Dated]:
    yield from _fleet(snapshot)
    yield from _days(snapshot)
    yield from _waits(snapshot)
    yield from _lapses(snapshot)
    yield from _ended(snapshot)


def _fleet(snapshot: Snapshot) -> Iterator[Dated]:
    """How every vehicle stands, on the day the export tells of: one event, that moves with each export."""
    counts = Counter(row.standing for row in snapshot.standing)
    told = ", ".join(f"{counts[name]} {name}" for name in ("stopped", "limited", "fit") if counts[name])
    lines = (*(_stands(row) for row in snapshot.standing), *_conflicts(snapshot), snapshot.plan_note())
    yield Dated("fleet", snapshot.as_of.isoformat(), f"{snapshot.fleet}: {told or 'no vehicles'}", lines, "Fleet")


def _stands(row: StandingRow) -> str:
    barred = f", barred: {row.barred}" if row.barred else ""
    return f"{row.name}: {row.standing}{barred}. {row.not_walked or f'Last round {row.last_round}'}"


def _conflicts(snapshot: Snapshot) -> Iterator[str]:
    for one in snapshot.conflicts:
        stands = next((side.says for side in one.sides if side.stands), "nothing")
        yield f"In conflict: {one.vehicle_name}, {one.subject}: {one.why}. Meanwhile stands: {stands}."


def _days(snapshot: Snapshot) -> Iterator[Dated]:
    for row in snapshot.days:
        if row.kind == "display day":
            unfit = tuple(_stands(one) for one in snapshot.standing if one.standing != "fit")
            yield Dated(f"display day:{row.name}:{row.day}", row.day, row.name, (*row.plan, *unfit), "Display day")
        else:
            plan = row.plan or (snapshot.plan_note() or "Nothing is planned on this day.",)
            yield Dated(f"work day:{row.day}", row.day, row.name, plan, "Work day")


def _waits(snapshot: Snapshot) -> Iterator[Dated]:
    for row in snapshot.waits:
        said = (
            f"{row.vehicle_name}: {row.what}",
            f"Waits for {row.waiting_for} ({row.kind})",
            f"At {row.where}" if row.where else "",
            "Promised" if row.firm else "Not promised",
        )
        title = f"{row.vehicle_name}: {row.waiting_for} due"
        yield Dated(f"wait:{row.about}", row.due, title, said, "Wait", "CONFIRMED" if row.firm else "TENTATIVE")


def _lapses(snapshot: Snapshot) -> Iterator[Dated]:
    """Temporary repairs that run out: they hold through that day, and from the next the vehicle is stopped."""
    for row in snapshot.backlog:
        if row.temporary_until:
            title = f"{row.vehicle_name}: last day of a temporary repair, {row.fault}"
            said = (f"{row.defect}, {row.severity}: {row.check_name}, {row.fault}", row.note, row.conflict)
            yield Dated(f"temporary:{row.opening}", row.temporary_until, title, said, "Lapses")


def _ended(snapshot: Snapshot) -> Iterator[Dated]:
    for row in snapshot.ended:
        title = f"{row.vehicle_name}: no longer due, {row.what}"
        yield Dated(row.about, row.day, title, ("It waits no longer, or not until a day.",), "Ended", "CANCELLED")


def _day(value: str) -> date | None:
    try:
        return date.fromisoformat(value)
    except ValueError:
        return None
