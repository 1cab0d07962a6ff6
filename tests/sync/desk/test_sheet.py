"""A paper walk-round sheet typed in: a walk and its findings by this desk's device, or every mistake at once."""

import json
from typing import Any

import pytest

from builder.edition import EditionCheck
from sync.desk.typed import asked
from sync.state import Defect
from tests.sync.desk.window import Window, words

SAG = "left-track/sag|"
OPENED = "/sheet?vehicle=kettle&round=cold"
HEAD = {"vehicle": "kettle", "round": "cold", "day": "2026-10-18", "by": "OG"}


def typed(window: Window, fields: dict[str, Any]) -> tuple[int, str]:
    """Status and words of the answer to a sheet with these fields."""
    window.open(OPENED)
    answer = window.post("/sheet", {**HEAD, **fields})
    return answer.status_code, words(answer.text)


def entries(window: Window) -> list[dict[str, Any]]:
    """What was written of sheets, in order: by devices that begin as this desk's does."""
    store = window.service.store
    papers = (device for device in store.known_devices() if device.startswith(f"{window.service.device}-"))
    return [json.loads(row.body) for device in papers for row in store.own_after(device, 0)]


def test_the_form_has_the_checks_numbered_as_on_the_paper(window: Window) -> None:
    paper = words(window.open("/papers/sheet/kettle/cold"))
    form = words(window.open(OPENED))
    view = window.service.store.edition().by_vehicle["kettle"]
    rows = [f"{number} {check.ask}" for _, _, checks in asked(view, "cold") for number, check in checks]
    assert len(rows) == 23
    assert [row for row in rows if row not in paper or row not in form] == []


def test_a_sheet_becomes_a_walk_and_its_findings(window: Window) -> None:
    nose = next(c for c in window.service.store.edition().by_vehicle["kettle"].checks if c.startswith("nose/"))
    status, text = typed(window, {f"result|{nose}|": "S", f"result|{SAG}": "D", f"reading|{SAG}": "58,5",
                                  f"fault|{SAG}": "slack", f"note|{SAG}": "straight edge"})  # fmt: skip
    assert (status, "Typed in: 2 findings of OG's walk." in text) == (200, True)
    start, one, two, end = entries(window)
    assert (start["kind"], start["state"], start["by"], start["day"]) == ("walk", "started", "OG", "2026-10-18")
    assert {one["result"], two["result"]} == {"sound", "defect"}
    defect = one if one["result"] == "defect" else two
    assert (defect["reading"], defect["severity"]) == ({"value": 58.5, "unit": "mm"}, "major")
    assert (end["state"], end["covered"], len(end["unchecked"])) == ("finished", 2, end["of"] - 2)
    assert len({entry["walk"] for entry in (start, one, two, end)}) == 1
    assert [entry["seq"] for entry in (start, one, two, end)] == [1, 2, 3, 4]


def test_the_walk_knows_nothing_that_the_paper_did_not(window: Window) -> None:
    typed(window, {f"result|{SAG}": "S"})
    assert [entry["knows"] for entry in entries(window)] == [{}, {}, {}]
    assert window.service.store.defect("kettle-ewcvh").closed is None


def sheet_of(window: Window, by: str, fields: dict[str, Any], **head: str) -> None:
    window.open(OPENED)
    assert window.post("/sheet", {**HEAD, "by": by, **fields, **head}).status_code == 200


@pytest.fixture
def bare(window: Window) -> EditionCheck:
    """A check that nothing was ever said against, so that sheets alone speak of it."""
    kettle = window.service.store.edition().by_vehicle["kettle"]
    known = {one.check for one in window.service.store.defects("kettle", closed=True)}
    plain = (c for _, _, checks in asked(kettle, "cold") for _, c in checks if c.id not in known)
    return next(c for c in plain if c.faults and not c.spots and not c.leak and not c.reading)


def sound(bare: EditionCheck) -> dict[str, str]:
    return {f"result|{bare.id}|": "S"}


def minor(bare: EditionCheck) -> dict[str, str]:
    return {f"result|{bare.id}|": "D", f"fault|{bare.id}|": bare.faults[0].id, f"severity|{bare.id}|": "minor"}


def at(window: Window, bare: EditionCheck) -> Defect:
    """The one defect there, open or closed."""
    (found,) = window.service.store.at_check("kettle", bare.id)
    return found


def test_two_people_whose_sheets_differ_are_a_conflict(window: Window, bare: EditionCheck) -> None:
    sheet_of(window, "OG", minor(bare))
    sheet_of(window, "MF", sound(bare))
    found = at(window, bare)
    assert (found.closed, len(found.conflicts)) == (None, 1)


def test_one_person_whose_two_sheets_of_a_round_differ_are_a_conflict(window: Window, bare: EditionCheck) -> None:
    sheet_of(window, "OG", minor(bare))
    sheet_of(window, "OG", sound(bare))
    assert len(at(window, bare).conflicts) == 1


def test_what_one_saw_before_one_knows_on_a_later_round(window: Window, bare: EditionCheck) -> None:
    sheet_of(window, "OG", minor(bare), day="2026-10-17")
    sheet_of(window, "OG", sound(bare))
    closed = at(window, bare).closed
    assert closed is not None
    assert closed.by == "OG"
    assert len({entry["device"] for entry in entries(window)}) == 1


def test_an_earlier_round_that_is_typed_later_closes_nothing(window: Window, bare: EditionCheck) -> None:
    sheet_of(window, "OG", minor(bare))
    sheet_of(window, "OG", sound(bare), day="2026-10-17")
    assert at(window, bare).closed is None


def test_a_page_opened_before_a_sheet_was_typed_knows_nothing_of_it(window: Window, bare: EditionCheck) -> None:
    window.open("/")
    before = json.loads(window.knows or window.service.token())
    sheet_of(window, "OG", minor(bare))
    (device,) = {entry["device"] for entry in entries(window)}
    assert device not in before
    assert json.loads(window.service.token())[device] == 3


def test_sheets_are_listed_by_who_walked_and_as_no_workshop_pc(window: Window, bare: EditionCheck) -> None:
    sheet_of(window, "OG", minor(bare))
    (listed,) = [one for one in window.service.store.devices() if one.name.startswith("Paper")]
    assert (listed.name, listed.desk, listed.own, listed.entries) == ("Paper sheets of OG", False, False, 3)


def test_a_copy_put_back_after_a_sheet_was_typed_never_writes_its_numbers_again(
    window: Window, bare: EditionCheck
) -> None:
    sheet_of(window, "OG", minor(bare))
    store = window.service.store
    (device,) = {entry["device"] for entry in entries(window)}
    assert not store.is_put_back(window.service.device)
    with store.writing() as connection:
        connection.execute("DELETE FROM entries WHERE device = ?", (device,))
    assert store.is_put_back(window.service.device)


def gone(window: Window, code: str) -> dict[str, Any]:
    """What is written where a known defect is ticked as gone, and its check as sound."""
    found = window.service.store.defect(code)
    typed(window, {f"verdict|{found.opening}": "gone", f"result|{found.check}|{found.spot}": "S"})
    (said,) = [entry for entry in entries(window) if entry["kind"] == "finding"]
    assert (said["verdict"], said["defect"], said["result"]) == ("gone", found.opening, "sound")
    return said


def test_a_known_defect_is_spoken_of_by_name(window: Window) -> None:
    gone(window, "kettle-r7rae")
    assert window.service.store.defect("kettle-r7rae").closed is not None


def test_a_sighting_that_the_paper_did_not_know_stands_against_gone(window: Window) -> None:
    gone(window, "kettle-skuh2")
    found = window.service.store.defect("kettle-skuh2")
    assert (found.closed, len(found.conflicts)) == (None, 1)


SAYS_SOUND = {f"result|{SAG}": "S", f"reading|{SAG}": "67,5"}
ANYWAY = f'name="sound-anyway|{SAG}"'


def test_sound_beside_a_reading_outside_its_limits_is_asked_about(window: Window) -> None:
    page = window.open(OPENED)
    assert ANYWAY not in page
    answer = window.post("/sheet", {**HEAD, **SAYS_SOUND})
    assert (answer.status_code, entries(window)) == (422, [])
    assert "tick D, or sound all the same" in words(answer.text)
    assert ANYWAY in answer.text


def test_sound_all_the_same_is_written_as_a_phone_writes_it(window: Window) -> None:
    status, _ = typed(window, {**SAYS_SOUND, f"sound-anyway|{SAG}": "yes"})
    (said,) = [entry for entry in entries(window) if entry["kind"] == "finding"]
    assert (status, said["result"], said["reading"]) == (200, "sound", {"value": 67.5, "unit": "mm"})


def test_what_was_not_looked_at_says_why(window: Window) -> None:
    typed(window, {f"result|{SAG}": "N", f"why|{SAG}": "mud"})
    end = entries(window)[-1]
    assert {"check": "left-track/sag", "why": "mud"} in end["unchecked"]


def test_something_else_finds_its_way_to_be_placed(window: Window) -> None:
    typed(window, {"else-note|1": "Rope frayed", "else-severity|1": "minor", "else-station|1": "nose"})
    assert "Rope frayed" in words(window.open("/reports"))


@pytest.mark.parametrize(
    ("fields", "why"),
    [
        ({}, "The sheet: nothing is filled in"),
        ({f"reading|{SAG}": "30"}, "Sag of the top run: tick S, D or N"),
        ({f"result|{SAG}": "S", f"reading|{SAG}": "thirty"}, "'thirty' is no number"),
        ({f"result|{SAG}": "S", f"reading|{SAG}": "90000"}, "90000 mm cannot be"),
        ({f"result|{SAG}": "D"}, "a defect needs its fault, or a note"),
        ({f"result|{SAG}": "D", f"note|{SAG}": "odd"}, "a defect needs a severity"),
        ({f"result|{SAG}": "D", f"fault|{SAG}": "no-such", f"severity|{SAG}": "minor"}, "it has no fault 'no-such'"),
        ({f"result|{SAG}": "S", "day": "2026-10-19"}, "The day: it is still to come"),
        ({"else-note|1": "Rope", "else-severity|1": "bad"}, "Something else 1: it needs a severity"),
    ],
)
def test_a_mistake_is_named_and_nothing_is_written(window: Window, fields: dict[str, str], why: str) -> None:
    status, text = typed(window, fields)
    assert (status, why in text, entries(window)) == (422, True, [])
    assert "what you typed is kept" in text


def test_every_mistake_is_told_at_once_and_what_was_typed_is_kept(window: Window) -> None:
    window.open(OPENED)
    fields = {f"result|{SAG}": "S", f"reading|{SAG}": "thirty", "else-note|1": "Rope frayed", "else-severity|1": "bad"}
    page = window.post("/sheet", {**HEAD, **fields}).text
    assert "is no number" in words(page)
    assert "Something else 1" in words(page)
    assert 'value="thirty"' in page
    assert 'value="Rope frayed"' in page


def test_who_walked_is_asked_for(window: Window) -> None:
    window.sit("").open(OPENED)
    answer = window.post("/sheet", {**HEAD, "by": "", f"result|{SAG}": "S"})
    assert (answer.status_code, entries(window)) == (409, [])
