"""Two windows at one desk: the second is told in words, and nothing is overwritten silently."""

import json
from typing import Any

import pytest

from sync.service import Service
from sync.state import Conflict
from tests.sync.desk.window import Window
from tests.sync.phones import Phone

WORN = "/defect/kettle-9tpbk"


@pytest.fixture
def windows(service: Service) -> tuple[Window, Window]:
    """Maud's and Tobin's, of one desk."""
    return Window(service, "MF"), Window(service, "TA")


@pytest.mark.parametrize(
    ("change", "first", "second"),
    [
        ("owner", {"owner": "BC"}, {"owner": "PW"}),
        ("work", {"state": "in hand", "note": "mine"}, {"state": "mended", "note": "mine too"}),
        ("found", {"fault": "thread stripped"}, {"fault": "nut seized"}),
        ("severity", {"to_severity": "dangerous", "reason": "a"}, {"to_severity": "dangerous", "reason": "b"}),
        (
            "for-now",
            {"what": "a", "until": "2026-10-30", "undo": "x"},
            {"what": "b", "until": "2026-10-29", "undo": "y"},
        ),
        ("part", {"part": "nut", "part_state": "here"}, {"part": "nut", "part_state": "needed"}),
    ],
)
def test_the_second_window_is_refused_in_words(
    windows: tuple[Window, Window], change: str, first: dict[str, str], second: dict[str, str]
) -> None:
    one, other = windows
    one.open(WORN)
    other.open(WORN)
    one.say(f"{WORN}/{change}", first)
    written = len(one.written())
    assert "MF changed this at this desk after the page was opened" in other.say(f"{WORN}/{change}", second)
    assert len(one.written()) == written


def test_the_page_opened_again_lets_it_be_said(windows: tuple[Window, Window]) -> None:
    one, other = windows
    one.open(WORN)
    other.open(WORN)
    one.say(f"{WORN}/owner", owner="BC")
    other.say(f"{WORN}/owner", owner="PW")
    other.open(WORN)
    assert "PW has it now." in other.say(f"{WORN}/owner", owner="PW")


def test_two_different_things_of_one_defect_do_not_hinder_each_other(windows: tuple[Window, Window]) -> None:
    one, other = windows
    one.open(WORN)
    other.open(WORN)
    one.say(f"{WORN}/owner", owner="BC")
    assert "Written: what was found." in other.say(f"{WORN}/found", fault="thread stripped")


def settled(window: Window, conflict: Any, choose: str) -> str:
    return window.say(f"/conflicts/{conflict.id}", choose=choose, reason="looked again")


def test_a_conflict_settled_in_one_window_is_not_settled_otherwise_in_the_other(
    windows: tuple[Window, Window],
) -> None:
    one, other = windows
    conflict = one.service.store.conflicts("hobnail")[0]
    first, second = (side.entry for side in conflict.sides)
    one.open("/conflicts")
    other.open("/conflicts")
    settled(one, conflict, first)
    assert "there is no open conflict" in settled(other, conflict, second)


def test_a_whole_bulk_change_is_refused_where_one_line_of_it_moved(windows: tuple[Window, Window]) -> None:
    one, other = windows
    openings = [one.service.store.defect(code).opening for code in ("kettle-9tpbk", "kettle-skuh2")]
    other.open("/backlog")
    one.open(WORN)
    one.say(f"{WORN}/owner", owner="BC")
    assert "changed this at this desk" in other.say("/backlog", {"defect": openings}, owner="PW")
    assert one.service.store.defect("kettle-skuh2").owner == ""


def test_a_page_shown_before_a_phone_came_in_does_not_speak_for_what_it_brought(
    windows: tuple[Window, Window],
) -> None:
    one, _ = windows
    store = one.service.store
    phone = Phone("d-late", store.edition_bytes(store.edition().fingerprint), "OG")
    phone.walk("kettle", day="2026-10-18", knows={})
    found = store.defect("kettle-9tpbk")
    phone.find(found.check, vehicle="kettle", fault=found.fault, severity="major", note="still at its stop")
    one.open(WORN)
    one.service.take_in("late.txt", [phone.hand_in()])
    one.say(f"{WORN}/close", reason="measured wrongly")
    now = store.defect("kettle-9tpbk")
    assert now.closed is None
    assert [c.kind for c in store.conflicts("kettle") if c.id in now.conflicts] == ["before or after mending"]


def test_a_page_reads_no_conflict_to_say_what_it_knows(window: Window, monkeypatch: pytest.MonkeyPatch) -> None:
    """Every page carries it; only where a device's entries are missing, or it was cloned, are sides named by id."""
    store = window.service.store
    assert (store.ahead(), store.clones()) == ((), ())
    whole = type(store)._bodies

    def reading(kind: type[Any], *given: Any) -> Any:
        assert kind is not Conflict
        return whole(store, kind, *given)

    monkeypatch.setattr(store, "_bodies", reading)
    assert json.loads(window.service.token()) == store.knows()
