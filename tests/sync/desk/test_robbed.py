"""A part taken from another vehicle opens a defect there, which says where it went; both pages lead to each other."""

from collections.abc import Sequence
from typing import Any

import pytest

from sync.desk.plan import EFFORTS
from sync.desk.robbing import station_for
from sync.errors import StoreError
from sync.service import Draft
from sync.state import Defect
from tests.sync.desk.window import TODAY, Window, words

PART = "Lock plate, new"


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """These tests ask what the plan's page says of parts, not how good the plan is."""
    monkeypatch.setitem(EFFORTS, "", 0.02)


@pytest.fixture
def defect(window: Window) -> Defect:
    """Some open defect of Hobnail."""
    return next(one for one in window.service.store.defects("hobnail") if one.placing == "check")


def says(window: Window, defect: Defect, change: str, **fields: Any) -> str:
    window.open(f"/defect/{defect.code}")
    return window.say(f"/defect/{defect.code}/{change}", fields)


def takes(window: Window, defect: Defect, **more: str) -> str:
    given = {"part": PART, "part_state": "here", "taken_from": "kettle", **more}
    return says(window, defect, "part", **given)


def missing(window: Window) -> list[Defect]:
    return [one for one in window.service.store.defects("kettle") if one.note.startswith(PART)]


def test_a_part_taken_from_another_vehicle_opens_a_defect_there(window: Window, defect: Defect) -> None:
    assert "On Kettle it is missing now" in takes(window, defect)
    (found,) = missing(window)
    assert found.note.splitlines()[0] == f"{PART} missing: taken for {defect.code}"
    assert found.note.splitlines()[1].startswith("It went to hobnail, ")
    assert (found.severity, found.seen_by, found.placing) == ("major", ("MF",), "something else")
    assert found.station in window.service.store.edition().by_vehicle["kettle"].stations


def test_it_is_a_finding_and_two_parts_by_this_desk(window: Window, defect: Defect) -> None:
    before = len(window.written())
    takes(window, defect)
    assert [row.kind for row in window.written()[before:]] == ["part", "finding", "part"]


def test_the_part_is_needed_there_and_here_it_lies_at_the_other_vehicle(window: Window, defect: Defect) -> None:
    takes(window, defect)
    (found,) = missing(window)
    parts = {one.for_: (one.part, one.state, one.where) for one in window.service.store.parts()}
    assert parts[defect.opening] == (PART, "here", "Kettle")
    assert parts[found.opening] == (f"{PART} (for {found.code})", "needed", "")


def test_each_page_leads_to_the_other_defect(window: Window, defect: Defect) -> None:
    takes(window, defect)
    (found,) = missing(window)
    here, there = window.open(f"/defect/{defect.code}"), window.open(f"/defect/{found.code}")
    assert f"was taken from Kettle , where it is {found.code}" in words(here)
    assert f"What is missing here was taken for {defect.code}" in words(there)
    assert f'href="/defect/{defect.code}"' in there


def test_the_vehicle_that_gave_it_is_limited_from_then_on(window: Window, defect: Defect) -> None:
    store = window.service.store
    before = store.standing_of("kettle", TODAY).open_defects
    takes(window, defect)
    assert store.standing_of("kettle", TODAY).open_defects == before + 1


def test_a_part_that_lies_at_another_vehicle_and_is_not_entered_there_is_offered(
    window: Window, defect: Defect
) -> None:
    says(window, defect, "part", part=PART, part_state="here", part_where="Kettle")
    assert missing(window) == []
    for page in (f"/defect/{defect.code}", "/plan"):
        assert "It is not entered there, and would be forgotten" in words(window.open(page))
    window.open("/plan")
    fields = {"part": PART, "vehicle": "kettle", "station": "left-track", "severity": "dangerous"}
    assert "dangerous" in window.say(f"/defect/{defect.code}/robbed", fields)
    (found,) = missing(window)
    assert (found.severity, found.station) == ("dangerous", "left-track")
    assert f"where it is {found.code}" in words(window.open("/plan"))


def test_it_is_not_offered_again_when_the_defect_there_is_closed(window: Window, defect: Defect) -> None:
    takes(window, defect)
    (found,) = missing(window)
    says(window, found, "close", reason="a new one is fitted")
    assert f"where it is {found.code} , closed" in words(window.open(f"/defect/{defect.code}"))


def test_what_fails_in_the_middle_leaves_nothing_written(
    window: Window, defect: Defect, monkeypatch: pytest.MonkeyPatch
) -> None:
    before, whole = len(window.written()), window.service.write_all

    def failing(drafts: Sequence[Draft], **given: Any) -> tuple[str, ...]:
        if any(draft.fields.get("state") == "needed" for draft in drafts):
            raise StoreError("the disk is full")
        return whole(drafts, **given)

    monkeypatch.setattr(window.service, "write_all", failing)
    assert "the disk is full" in takes(window, defect)
    assert window.written()[before:] == []


def test_it_is_entered_only_once(window: Window, defect: Defect) -> None:
    takes(window, defect)
    said = says(window, defect, "robbed", part=PART, vehicle="kettle")
    assert "entered on Kettle already" in said
    assert len(missing(window)) == 1


@pytest.mark.parametrize(
    ("fields", "why"),
    [
        ({"taken_from": "hobnail"}, "which it is for; name the other vehicle"),
        ({"taken_from": "no-such"}, "there is no vehicle 'no-such'"),
        ({"part_state": "needed"}, "so it is here; choose that"),
    ],
)
def test_what_cannot_be_is_refused_and_nothing_is_written(
    window: Window, defect: Defect, fields: dict[str, str], why: str
) -> None:
    before = len(window.written())
    assert why.lower() in takes(window, defect, **fields).lower()
    assert len(window.written()) == before


@pytest.mark.parametrize(
    ("fields", "why"),
    [({"station": "attic"}, "has no station 'attic'"), ({"severity": "bad"}, "'bad' is no severity")],
)
def test_a_place_or_severity_that_is_none_is_refused(
    window: Window, defect: Defect, fields: dict[str, str], why: str
) -> None:
    assert why in says(window, defect, "robbed", part=PART, vehicle="kettle", **fields)


def test_a_part_is_missing_where_a_usual_fault_takes_it(window: Window, defect: Defect) -> None:
    kettle = window.service.store.edition().by_vehicle["kettle"]
    check, part = next((c, part) for c in kettle.checks.values() for fault in c.faults for part in fault.parts)
    assert station_for(kettle, part, defect) == next(
        c.station for c in kettle.checks.values() if any(part in fault.parts for fault in c.faults)
    )
    assert check.station in kettle.stations


def test_what_no_fault_takes_is_missing_where_it_was_fitted(window: Window, defect: Defect) -> None:
    kettle = window.service.store.edition().by_vehicle["kettle"]
    assert defect.station in kettle.stations
    assert station_for(kettle, "something quite else", defect) == defect.station
