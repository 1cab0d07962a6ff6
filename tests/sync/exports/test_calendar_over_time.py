"""A calendar imported again and again: what was said at the desk moves, ends and never doubles."""

import os
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from icalendar import Calendar
from icalendar.cal import Component

from sync.exports import as_ics
from sync.exports.gather import gather
from sync.service import Draft, Service
from sync.store import Store
from tests.sync.measured_day import Measured, compiled, take_in

AS_OF = date(2026, 10, 19)
Import = Callable[[], dict[str, Component]]
WAITING = {"state": "waiting", "wait": {"for": "links", "kind": "part", "due": "2026-11-07", "firm": True}}


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store(tmp_path / "backlog.db") as opened:
        take_in(
            opened,
            compiled(tmp_path / "fleet"),
            "2026-10-18",
            Measured("left/sag", 61, fault="slack"),
        )
        yield opened


@pytest.fixture
def say(store: Store) -> Callable[..., None]:
    service = Service(store, lambda: datetime(2026, 10, 19, 9, tzinfo=UTC), os.urandom)

    def said(kind: str, **fields: Any) -> None:
        service.write(Draft(kind, {"about": store.defects("otter")[0].opening, **fields}), by="RM")

    return said


@pytest.fixture
def imported(store: Store, tmp_path: Path) -> Import:
    """UID -> event of an export made now."""

    def run() -> dict[str, Component]:
        out = BytesIO()
        as_ics.write(gather(store, AS_OF, tmp_path), out)
        return {str(event["UID"]): event for event in Calendar.from_ical(out.getvalue()).walk("VEVENT")}

    return run


def one_new(before: dict[str, Component], after: dict[str, Component]) -> str:
    (uid,) = after.keys() - before.keys()
    return uid


def test_a_wait_appears_moves_and_is_cancelled_under_one_uid(say: Callable[..., None], imported: Import) -> None:
    empty = imported()
    say("work", **WAITING)
    first = imported()
    uid = one_new(empty, first)
    say("work", **{**WAITING, "wait": {**WAITING["wait"], "due": "2026-11-21"}})  # type: ignore[dict-item]
    second = imported()
    say("work", state="in hand")
    third = imported()
    days = [found[uid]["DTSTART"].dt for found in (first, second, third)]
    assert days == [date(2026, 11, 7), date(2026, 11, 21), date(2026, 11, 21)]
    assert [str(found[uid]["STATUS"]) for found in (first, second, third)] == ["CONFIRMED", "CONFIRMED", "CANCELLED"]
    assert first[uid]["SEQUENCE"] < second[uid]["SEQUENCE"] < third[uid]["SEQUENCE"]
    assert third.keys() == second.keys()


def test_a_wait_that_loses_its_date_is_cancelled(say: Callable[..., None], imported: Import) -> None:
    before = imported()
    say("work", **WAITING)
    uid = one_new(before, imported())
    say("work", state="waiting", wait={"for": "links", "kind": "part"})
    assert str(imported()[uid]["STATUS"]) == "CANCELLED"


def test_a_repair_for_now_that_is_mended_for_good_is_cancelled(say: Callable[..., None], imported: Import) -> None:
    before = imported()
    say("ruling", set={"temporary": {"what": "shortened", "until": "2026-11-30", "undo": "put it back"}})
    first = imported()
    uid = one_new(before, first)
    assert str(first[uid]["STATUS"]) == "CONFIRMED"
    say("ruling", set={"closed": {"reason": "new links in"}})
    assert str(imported()[uid]["STATUS"]) == "CANCELLED"
