"""What was ruled, in words: each field that a ruling can set has its own, said and taken back."""

import msgspec
import pytest

from sync.desk.history import ruling_words
from sync.entries import Ruling, RulingSet, read_entry
from tests.sync.desk.window import Window

ID = "0199f5c2-7d10-7c3e-9a51-2f0c8e6b1a01"
REASON = {"reason": "rust"}
SETS = {
    "owner": "TA",
    "diagnosis": {"fault": "slack", "cause": "wear"},
    "explains": ID,
    "placed": {"check": "left-track/sag"},
    "temporary": {"what": "wired up", "until": "2026-10-30"},
    "severity": {"to": "minor", **REASON},
    "escalated": REASON,
    "permit": {"limits": "walking pace", "until": "2026-10-20", **REASON},
    "closed": REASON,
    "ask": {"who": "TA"},
    "state": "laid up",
    "belongs_to": "the trust",
    "know_how": "from behind",
    "name": "shed tablet",
    "revoked": REASON,
    "void": REASON,
    "plan": {"order": "not before", "day": "2026-10-31", "who": ["TA"], "reason": "no crane"},
}


def ruled(name: str, value: object) -> Ruling:
    head = {"id": ID, "device": "desk-1", "seq": 1, "at": "2026-10-18T08:00:00Z", "by": "MF", "edition": "e"}
    line = {**head, "kind": "ruling", "about": ID, "knows": {}, "set": {name: value}}
    ruling = read_entry(msgspec.json.encode(line))
    assert isinstance(ruling, Ruling)
    return ruling


@pytest.mark.parametrize("name", RulingSet.__struct_fields__)
def test_each_field_of_a_ruling_has_words(name: str) -> None:
    (line,) = ruling_words(ruled(name, SETS[name]), None)
    assert len(line.split()) > 1
    (back,) = ruling_words(ruled(name, None), None)
    assert len(back.split()) > 1


def test_a_wish_of_the_plan_says_all_that_is_wanted() -> None:
    (line,) = ruling_words(ruled("plan", SETS["plan"]), None)
    assert line == "wanted of the plan: not before Sat 31 Oct 2026, by TA (no crane)"


def test_a_defect_shows_what_was_wanted_of_the_plan(window: Window) -> None:
    defect = window.service.store.defects("kettle")[0]
    window.open("/plan")
    window.say("/plan/wish", {"how": "first", "about": defect.opening, "reason": "the big day"})
    assert "wanted of the plan: first of all (the big day)" in window.open(f"/defect/{defect.code}")
