"""What if a part comes later, a helper more comes, or something were done already; and what changed since."""

from datetime import timedelta

import pytest

from sync.errors import PlanError
from sync.plan.changes import changes, kept
from sync.plan.plan import make_plan
from sync.plan.problem import Part, Problem
from sync.plan.whatif import compared, later, more_helpers, told, without
from tests.sync.plan.shed import FROST_RUN, MONDAY, SMALL, item, problem, waits

CLUTCH = item("clutch", severity="major", hours=(4, 4), waits=waits(20))
WEEK = timedelta(days=7)


def what_if(was: Problem, now: Problem) -> list[str]:
    return told(compared(make_plan(was, SMALL), make_plan(now, SMALL), FROST_RUN.date))


def changed(was: Problem, now: Problem) -> list[str]:
    before, after = (kept(make_plan(one, SMALL)) for one in (was, now))
    return [change.words for change in changes(before, after)]


def test_plates_a_week_late_move_the_vehicle_a_week() -> None:
    asked = problem(CLUTCH)
    assert what_if(asked, later(asked, "clutch plates", 7)) == ["Badger: Sat 14 Nov 2026 -> Sat 21 Nov 2026"]


def test_plates_too_late_make_the_vehicle_no_longer_ready() -> None:
    asked = problem(CLUTCH)
    (words,) = what_if(asked, later(asked, "Clutch Plates", 35))
    assert words.endswith("no longer ready")


def test_a_part_of_the_needs_list_can_come_later_too() -> None:
    due = MONDAY + timedelta(days=10)
    asked = problem(item("pump", parts=(Part(name="seal", state="ordered", due=due),)))
    moved = later(asked, "seal", 7)
    assert moved.items[0].parts[0].due == due + WEEK


def test_nothing_awaited_under_a_name_is_told_with_what_is() -> None:
    with pytest.raises(PlanError, match='"plugs" is awaited with a date; awaited are: clutch plates'):
        later(problem(CLUTCH), "plugs", 7)


def test_a_helper_more_brings_the_hours_that_the_others_have() -> None:
    workshop = more_helpers(problem(), 1).workshop
    assert (workshop.people_at_once, workshop.hours_per_week) == (4, 40)


def test_a_helper_more_makes_the_day_earlier() -> None:
    asked = problem(*(item(f"n{n}", severity="major", hours=(10, 10)) for n in range(4)))
    assert what_if(asked, more_helpers(asked, 1)) == ["Badger: Sat 31 Oct 2026 -> Sat 24 Oct 2026"]


def test_taking_everybody_away_is_refused() -> None:
    with pytest.raises(PlanError, match="-3 helpers leaves nobody of 3"):
        more_helpers(problem(), -3)


def test_one_defect_done_already_frees_its_vehicle() -> None:
    asked = problem(CLUTCH)
    assert what_if(asked, without(asked, "clutch")) == ["Badger: Sat 14 Nov 2026 -> Mon 19 Oct 2026"]


def test_a_defect_that_is_not_there_cannot_be_done() -> None:
    with pytest.raises(PlanError, match='no open work is called "gearbox"'):
        without(problem(CLUTCH), "gearbox")


def test_a_change_that_moves_nothing_says_so() -> None:
    asked = problem(item("paint"))
    assert what_if(asked, more_helpers(asked, 1)) == ["it changes no vehicle's day"]


def test_a_new_defect_that_goes_first_is_the_reason_for_a_later_day() -> None:
    long = [item(f"n{n}", hours=(10, 10)) for n in range(3)]
    brake = item("brake", severity="dangerous", hours=(10, 10), people=3)
    told_changes = changed(problem(*long), problem(*long, brake))
    assert "brake: not planned -> Sat 24 Oct 2026: new" in told_changes
    assert "n0: Sat 24 Oct 2026 -> Sat 31 Oct 2026: brake (dangerous) goes first" in told_changes


def test_what_is_in_hand_is_kept_where_it_was() -> None:
    started = item("valve", hours=(10, 10), people=3, status="in hand")
    brake = item("brake", severity="dangerous", hours=(10, 10), people=3)
    assert changed(problem(started), problem(started, brake)) == ["brake: not planned -> Sat 31 Oct 2026: new"]


def test_a_wait_that_moved_is_the_reason() -> None:
    asked = problem(CLUTCH)
    (words,) = changed(asked, later(asked, "clutch plates", 7))
    assert words.endswith("what it waits for is now due Sun 15 Nov 2026")


def test_hours_reckoned_anew_are_the_reason() -> None:
    (words,) = changed(problem(item("hull", hours=(4, 8))), problem(item("hull", hours=(14, 14))))
    assert words.endswith("it is now reckoned at 14 hours, not 4 to 8 hours")


def test_what_is_done_is_gone() -> None:
    assert changed(problem(CLUTCH), problem()) == ["clutch: Sat 14 Nov 2026 -> not planned: done, or no longer open"]


def test_nothing_changed_says_nothing() -> None:
    assert changed(problem(CLUTCH), problem(CLUTCH)) == []


def test_a_day_of_other_people_is_the_reason() -> None:
    work = [item(f"n{n}", hours=(10, 10)) for n in range(4)]
    told_changes = changed(problem(*work), more_helpers(problem(*work), 1))
    assert told_changes
    assert all(one.endswith("the workshop has 4 people and 40 hours a week now") for one in told_changes)
