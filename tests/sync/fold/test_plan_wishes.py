"""What people want of the plan: for a defect, a task or a vehicle; in dispute nothing until somebody says."""

import pytest

from sync.state import State
from tests.sync.fold.shed import Desk, Phone, conflict, folded, only

OIL = "badger/service/oil"
SATURDAY = {"order": "not before", "day": "2026-10-31", "who": ["LB"], "reason": "no crane"}


@pytest.fixture
def rm() -> Phone:
    return Phone("d-rm", "RM")


@pytest.fixture
def opening(rm: Phone) -> str:
    return rm.walk().defect("sag", "slack", "major")


@pytest.fixture
def one(rm: Phone, opening: str) -> Desk:
    return Desk("desk-1", "RM").learn(rm)


@pytest.fixture
def other(rm: Phone, opening: str) -> Desk:
    return Desk("desk-2", "TW").learn(rm)


def wishes(state: State) -> dict[str, tuple[str, str | None]]:
    """About -> who wants what, of badger and its tasks."""
    (badger,) = (v for v in state.vehicles if v.vehicle == "badger")
    return {about: (by, wish.order) for about, by, wish in badger.plans}


def test_a_wish_for_a_defect_stands_with_who_said_it(rm: Phone, opening: str, one: Desk) -> None:
    one.rule(opening, plan=SATURDAY)
    found = only(folded(rm, one).defects)
    assert found.plan is not None
    assert (found.plan.order, str(found.plan.day), found.plan.who) == ("not before", "2026-10-31", ["LB"])
    assert (found.plan.reason, found.plan_by) == ("no crane", "RM")


def test_a_wish_taken_back_is_none(rm: Phone, opening: str, one: Desk) -> None:
    one.rule(opening, plan=SATURDAY)
    one.rule(opening, plan=None)
    found = only(folded(rm, one).defects)
    assert (found.plan, found.plan_by) == (None, "")


def test_wishes_unaware_of_each_other_are_a_conflict_and_neither_stands(
    rm: Phone, opening: str, one: Desk, other: Desk
) -> None:
    one.rule(opening, plan={"order": "first"})
    other.rule(opening, plan={"order": "left out"})
    state = folded(rm, one, other)
    assert (only(state.defects).plan, conflict(state).field) == (None, "plan")
    assert conflict(state).why.startswith("plan: RM: order first; TW: order left out")


def test_a_wish_that_knew_both_ends_their_conflict(rm: Phone, opening: str, one: Desk, other: Desk) -> None:
    one.rule(opening, plan={"order": "first"})
    other.rule(opening, plan={"order": "left out"})
    one.learn(other).rule(opening, plan={"order": "first"})
    state = folded(rm, one, other)
    assert (only(state.defects).plan_by, state.conflicts) == ("RM", ())


def test_a_vehicle_and_its_tasks_may_be_wished_for_too(one: Desk, other: Desk) -> None:
    one.rule("badger", plan={"order": "first"})
    other.rule(OIL, plan={"order": "left out"})
    assert wishes(folded(one, other)) == {"badger": ("RM", "first"), OIL: ("TW", "left out")}


def test_wishes_for_a_task_in_dispute_are_a_conflict_of_their_own(one: Desk, other: Desk) -> None:
    one.rule(OIL, plan={"order": "first"})
    other.rule(OIL, plan={"order": "left out"})
    state = folded(one, other)
    assert (wishes(state), conflict(state).field) == ({}, "plan")
