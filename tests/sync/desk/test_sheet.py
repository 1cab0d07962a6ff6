"""A paper walk-round sheet typed in: a walk and its findings by this desk's device, or every mistake at once."""

import json
from typing import Any

import pytest

from sync.desk.typed import asked
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
    return [json.loads(row.body) for row in window.written() if row.kind in ("walk", "finding")]


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
    assert {entry["device"] for entry in (start, one, two, end)} == {window.service.device}


def test_the_walk_knows_nothing_that_the_paper_did_not(window: Window) -> None:
    typed(window, {f"result|{SAG}": "S"})
    assert [entry["knows"] for entry in entries(window)] == [{}, {}, {}]
    assert window.service.store.defect("kettle-ewcvh").closed is None


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
