"""Who does what on one open day, within its hours, and why."""

from collections import Counter
from datetime import timedelta
from itertools import pairwise

import pytest
from hypothesis import given, settings

from sync.errors import PlanError
from sync.plan.day import DayList, day_list
from sync.plan.plan import make_plan
from sync.plan.problem import Person, Problem
from sync.plan.whatif import coming
from tests.sync.plan.shed import MONDAY, SATURDAY, SMALL, item, planned, problem, problems

PEOPLE = (Person(initials="MF"), Person(initials="TA", signs_off=("brakes",)), Person(initials="OG"))


def does(day: DayList, person: str) -> list[str]:
    return [stint.what for stint in day.of_person(person)]


def test_the_next_open_day_is_taken_where_none_is_named() -> None:
    assert day_list(planned(item("brake"))).day == SATURDAY


def test_a_day_on_which_the_workshop_is_closed_is_refused_in_words() -> None:
    with pytest.raises(PlanError, match="not open on Mon 19 Oct 2026"):
        day_list(planned(item("brake")), MONDAY)


def test_the_owner_of_a_defect_gets_it() -> None:
    day = day_list(planned(item("brake", owner="OG"), people=PEOPLE))
    assert does(day, "OG") == ["brake"]


def test_who_may_sign_a_system_off_gets_its_work() -> None:
    day = day_list(planned(item("brake", system="brakes"), people=PEOPLE))
    assert does(day, "TA") == ["brake"]


def test_whoever_opened_a_job_stays_on_it() -> None:
    day = day_list(planned(item("pump", needs=("floor-out",)), item("bulb", hours=(4, 4)), people=PEOPLE))
    (person,) = {p for stint in day.stints for p in stint.people if stint.bundle}
    assert does(day, person) == ["floor out", "pump", "floor out: put back"]


def test_helpers_without_a_name_fill_the_places() -> None:
    day = day_list(planned(item("brake"), people=PEOPLE[:1]))
    assert day.people == ("MF", "helper 1", "helper 2")


def test_work_that_reaches_into_other_days_says_so() -> None:
    plan = planned(item("hull", hours=(14, 14)))
    (here,), (there,) = day_list(plan).stints, day_list(plan, SATURDAY + timedelta(days=7)).stints
    assert (here.goes_on, here.begun_before, here.ends) == (True, False, 10)
    assert (there.goes_on, there.begun_before, there.ends) == (False, True, 4)


def test_fewer_people_do_less_that_day() -> None:
    asked = problem(*(item(f"bulb-{n}", hours=(10, 10)) for n in range(3)))
    assert len(day_list(make_plan(coming(asked, SATURDAY, 2), SMALL)).stints) == 2


def test_more_people_do_more_that_day() -> None:
    asked = problem(*(item(f"bulb-{n}", hours=(10, 10)) for n in range(5)))
    assert len(day_list(make_plan(coming(asked, SATURDAY, 5), SMALL)).stints) == 5


@pytest.mark.parametrize(
    ("given_items", "activity", "why"),
    [
        ((item("brake", severity="dangerous"),), "work/brake", "dangerous: to make safe"),
        ((item("valve", status="in hand"),), "work/valve", "in hand already"),
        ((item("lamp", severity="major"),), "work/lamp", "to be fit by Sat 12 Dec 2026"),
        ((item("knock", hours=None),), "find/knock", "nothing can be planned before this is known"),
        ((item("paint"),), "work/paint", "to finish early"),
        (
            (item("hinge", holds=("deck-clear",)), item("leak", severity="dangerous", needs=("deck-clear",))),
            "work/hinge",
            "clears the way to leak (dangerous)",
        ),
    ],
)
def test_each_piece_of_work_says_why_it_is_done_now(given_items: tuple, activity: str, why: str) -> None:
    day = day_list(planned(*given_items))
    assert next(stint.why for stint in day.stints if stint.activity == activity) == why


@settings(max_examples=40, deadline=None)
@given(problems(vehicles=3))
def test_nobody_is_in_two_places_and_nobody_is_missing(asked: Problem) -> None:
    plan = make_plan(asked, SMALL)
    day = day_list(plan)
    for person in day.people:
        mine = sorted((stint.begins, stint.ends) for stint in day.of_person(person))
        assert all(end <= begin for (_, end), (begin, _) in pairwise(mine))
        assert day.hours_of(person) <= day.hours
    people = Counter({stint.activity: len(stint.people) for stint in day.stints})
    assert all(
        people[stint.activity] == plan.net.by_id[stint.activity].people
        for stint in day.stints
        if stint.ends > stint.begins
    )
