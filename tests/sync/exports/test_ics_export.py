"""The calendar, read back by icalendar."""

from collections.abc import Callable
from dataclasses import replace
from datetime import UTC, date, datetime

import msgspec
from icalendar import Calendar
from icalendar.cal import Component

from sync.exports import as_ics
from sync.exports.snapshot import EndedRow, Snapshot

Export = Callable[..., bytes]


def events(data: bytes) -> dict[str, Component]:
    return {str(event["SUMMARY"]): event for event in Calendar.from_ical(data).walk("VEVENT")}


def uids(data: bytes) -> list[str]:
    return sorted(str(event["UID"]) for event in events(data).values())


def test_a_wait_is_a_whole_day_on_its_due_date(snapshot: Snapshot, export: Export) -> None:
    event = events(export(as_ics.write, snapshot))["Badger: union, 3/8 due"]
    assert (event["DTSTART"].dt, event["DTEND"].dt) == (date(2026, 11, 7), date(2026, 11, 8))
    assert "Brass merchant" in event["DESCRIPTION"]


def test_a_wait_without_a_date_is_no_event(snapshot: Snapshot, export: Export) -> None:
    assert not [title for title in events(export(as_ics.write, snapshot)) if "radiator" in title]


def test_work_days_display_days_and_lapsing_repairs_are_dated(snapshot: Snapshot, export: Export) -> None:
    found = events(export(as_ics.write, snapshot))
    assert found["Workshop Saturday"]["DTSTART"].dt == date(2026, 10, 24)
    assert found["Frost Run"]["DTSTART"].dt == date(2026, 12, 12)
    assert found["Badger: last day of a temporary repair, Slack"]["DTSTART"].dt == date(2026, 11, 20)


def test_how_every_vehicle_stands_is_told_on_the_day(snapshot: Snapshot, export: Export) -> None:
    event = events(export(as_ics.write, snapshot))["Kestrel Lane Yard: 1 stopped, 1 limited, 2 fit"]
    assert event["DTSTART"].dt == snapshot.as_of
    told = event["DESCRIPTION"]
    assert all(row.name in told for row in snapshot.standing)
    assert "Stoat: fit. not walked" in told


def test_a_conflict_and_what_stands_meanwhile_are_told(snapshot: Snapshot, export: Export) -> None:
    event = events(export(as_ics.write, snapshot))["Kestrel Lane Yard: 1 stopped, 1 limited, 2 fit"]
    assert "Meanwhile stands: defect, major, 61 mm." in event["DESCRIPTION"]


def test_a_later_export_moves_the_same_events(snapshot: Snapshot, export: Export) -> None:
    moved = tuple(msgspec.structs.replace(row, due="2026-12-01" if row.due else "") for row in snapshot.waits)
    later = replace(snapshot, waits=moved, as_of=date(2026, 10, 26), log_entries=500)
    before, after = export(as_ics.write, snapshot), export(as_ics.write, later)
    assert uids(before) == uids(after)
    event = events(after)["Badger: union, 3/8 due"]
    assert event["DTSTART"].dt == date(2026, 12, 1)
    assert event["SEQUENCE"] > events(before)["Badger: union, 3/8 due"]["SEQUENCE"]


def test_no_two_events_share_a_uid(snapshot: Snapshot, export: Export) -> None:
    found = uids(export(as_ics.write, snapshot))
    assert len(found) == len(set(found)) == 5


def test_the_stamp_is_the_day_told_of_and_not_the_clock(snapshot: Snapshot, export: Export) -> None:
    stamps = {event["DTSTAMP"].dt for event in events(export(as_ics.write, snapshot)).values()}
    assert stamps == {datetime(2026, 10, 19, tzinfo=UTC)}


def test_lines_are_folded_as_the_rfc_has_it(hostile: Snapshot, export: Export) -> None:
    lines = export(as_ics.write, hostile).split(b"\r\n")
    assert max(map(len, lines)) <= 75
    assert b"\n" not in b"".join(lines)


def test_hostile_text_forges_no_event(hostile: Snapshot, export: Export) -> None:
    data = export(as_ics.write, hostile)
    kinds = {str(event["CATEGORIES"].cats[0]) for event in Calendar.from_ical(data).walk("VEVENT")}
    assert kinds == {"Fleet", "Work day", "Display day", "Wait"}
    assert len(Calendar.from_ical(data).walk("VEVENT")) == len(tuple(hostile.waits)) + 3


def test_an_empty_backlog_is_a_calendar_all_the_same(empty: Snapshot, export: Export) -> None:
    assert list(events(export(as_ics.write, empty))) == ["Kestrel Lane Yard: no vehicles"]


def test_what_no_longer_has_its_date_is_cancelled_under_the_uid_it_had(snapshot: Snapshot, export: Export) -> None:
    waiting = next(iter(snapshot.waits))
    gone = EndedRow(about=f"wait:{waiting.about}", day=waiting.due, vehicle_name="Badger", what="Slack")
    before = events(export(as_ics.write, snapshot))["Badger: union, 3/8 due"]
    after = events(export(as_ics.write, replace(snapshot, waits=(), ended=(gone,), log_entries=500)))
    ended = after["Badger: no longer due, Slack"]
    assert (ended["UID"], ended["STATUS"]) == (before["UID"], "CANCELLED")
    assert ended["SEQUENCE"] > before["SEQUENCE"]
    assert before["STATUS"] == "CONFIRMED"


def test_a_work_day_says_what_is_planned_and_by_whom(snapshot: Snapshot, export: Export) -> None:
    assert "Badger: union" in events(export(as_ics.write, snapshot))["Workshop Saturday"]["DESCRIPTION"]


def test_without_a_plan_each_open_day_says_why(snapshot: Snapshot, export: Export) -> None:
    days = tuple(msgspec.structs.replace(row, plan=()) for row in snapshot.days)
    found = events(export(as_ics.write, replace(snapshot, days=days, plan_note=lambda: "No days are planned: why.")))
    assert found["Workshop Saturday"]["DESCRIPTION"].startswith("No days are planned: why.")
    free = events(export(as_ics.write, replace(snapshot, days=days)))
    assert free["Workshop Saturday"]["DESCRIPTION"].startswith("Nothing is planned on this day.")
