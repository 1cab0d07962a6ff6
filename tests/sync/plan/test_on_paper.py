"""What papers say of the plan: order, steps, needs, hours, days, and why not where there is none."""

from datetime import date
from typing import Any

import pytest

from sync.errors import PlanError
from sync.plan import cp, on_paper, plan
from sync.plan.on_paper import OnPaper
from sync.plan.problem import Item, Part, Problem, Task, Wait
from tests.sync.plan.shed import BADGER, SATURDAY, SMALL, WORKSHOP, item, problem

HINGE = item("hinge", title="Deck hinge seized", holds=("deck-clear",))
LEAK = item("leak", title="Coolant leak", needs=("pack-out",), severity="major", hours=(2, 4), people=2)
MOUNTS = Task(id="badger/while-open/mounts", vehicle="badger", title="Engine mounts", step="pack-out", hours=4)


def papers(*items: Item, **given: Any) -> OnPaper:
    return on_paper.on_paper(problem(*items, **given), SMALL)


@pytest.fixture
def no_solver(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(cp, "HAVE_SOLVER", False)


def test_a_card_names_what_comes_first_and_what_waits_for_it() -> None:
    found = papers(HINGE, LEAK)
    leak, hinge = found.card(["leak"]), found.card(["hinge"])
    assert leak is not None
    assert hinge is not None
    assert (leak.after, leak.before) == (("Deck hinge seized",), ())
    assert (hinge.after, hinge.before) == ((), ("Coolant leak",))


def test_steps_come_out_in_order_and_go_back_the_other_way_round() -> None:
    card = papers(HINGE, LEAK).card(["leak"])
    assert card is not None
    assert [step.step for step in card.outs] == ["deck-clear", "pack-out"]
    assert [step.step for step in card.backs] == ["pack-out", "deck-clear"]
    assert card.outs[0].held_by == ("Deck hinge seized",)
    assert (card.hours_out, card.hours_back) == (7, 9)


def test_a_step_that_is_out_costs_nothing_more_to_open() -> None:
    standing = BADGER.but(open_steps=("deck-clear", "pack-out"))
    card = papers(LEAK, vehicles=(standing,)).card(["leak"])
    assert card is not None
    assert all(step.open for step in card.outs)
    assert (card.hours_out, card.hours_back) == (0, 9)


def test_needs_say_their_state_and_shelf_what_is_to_be_ordered_first() -> None:
    parts = (Part(name="gasket", state="here", where="shelf 4"), Part(name="hose"), Part(name="oil", state="ordered"))
    card = papers(LEAK.but(parts=parts)).card(["leak"])
    assert card is not None
    said = [(need.name, need.state, need.where) for need in card.needs]
    assert said == [("hose", "needed", ""), ("oil", "ordered", ""), ("gasket", "here", "shelf 4")]


def test_people_at_once_count_the_steps_too() -> None:
    card = papers(LEAK).card(["leak"])
    assert card is not None
    assert (card.people, card.uses, card.hours, card.unknown) == (3, ("lifting",), (2, 4), 0)


def test_a_card_of_several_is_one_job_with_its_task() -> None:
    found = papers(LEAK, item("clutch", needs=("pack-out",), hours=None), tasks=(MOUNTS,))
    card = found.card(["clutch", "leak"], ["badger/while-open/mounts"])
    assert card is not None
    assert (card.items, card.unknown, card.hours) == (("leak", "clutch"), 1, (2, 4))


def test_other_work_of_the_same_opening_is_named() -> None:
    found = papers(LEAK, item("clutch", title="Clutch slips", needs=("pack-out",)))
    card = found.card(["leak"])
    assert card is not None
    assert card.together == ("Clutch slips",)


def test_a_card_knows_its_days_and_its_place_among_the_jobs() -> None:
    found = papers(HINGE, LEAK.but(severity="dangerous"))
    hinge, leak = found.card(["hinge"]), found.card(["leak"])
    assert hinge is not None
    assert leak is not None
    assert (hinge.first_day, hinge.place, hinge.places) == (SATURDAY, 1, 2)
    assert (leak.place, hinge.why) == (2, "clears the way to Coolant leak (dangerous)")


def test_what_cannot_be_planned_says_why_on_its_card() -> None:
    card = papers(item("clutch", waits=(Wait(what="plates"),))).card(["clutch"])
    assert card is not None
    assert (card.first_day, card.place) == (None, None)
    assert "nobody has named a date" in card.why


def test_what_the_plan_does_not_know_has_no_lines() -> None:
    assert papers(LEAK).card(["closed-long-ago"]) is None


def test_a_joined_defect_is_found_by_its_own_code() -> None:
    card = papers(LEAK.but(also=("drip",))).card(["drip"])
    assert card is not None
    assert card.items == ("leak",)


def test_each_open_day_says_what_is_done_by_whom() -> None:
    days = papers(LEAK).days
    assert [day.day for day in days] == [SATURDAY, date(2026, 10, 31)]
    assert days[0].lines[0] == "0:00-1:00 Badger: deck clear (helper 1 and helper 2); to be fit by Sat 12 Dec 2026"


def test_nothing_open_is_no_day() -> None:
    assert papers().days == ()


def test_without_the_solver_a_card_still_has_all_but_its_days(no_solver: None) -> None:
    found = papers(HINGE, LEAK, item("only here"))
    card = found.card(["leak"])
    assert card is not None
    assert found.why_not == "No days are planned: the plan needs OR-Tools, which is not installed: " \
        "pip install 'driptray[plan]'"  # fmt: skip
    assert (card.first_day, card.place, card.why, found.days) == (None, None, found.why_not, ())
    assert ([step.step for step in card.outs], card.after) == (["deck-clear", "pack-out"], ("Deck hinge seized",))


def test_a_workshop_that_never_opens_is_told_in_the_line() -> None:
    found = papers(LEAK, workshop=WORKSHOP.but(open_days=()))
    assert found.why_not.startswith("No days are planned: the workshop has no open day")


def test_too_much_open_work_is_told_in_the_line(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(on_paper, "PLANNED_MOST", 1)
    assert "2 pieces of work are open" in papers(HINGE, LEAK).why_not


def everything(found: OnPaper, asked: Problem) -> list[object]:
    return [*(found.card([one.id]) for one in asked.items), *found.days]


def test_the_same_problem_gives_the_same_words() -> None:
    asked = problem(HINGE, LEAK, *(item(f"job-{n}", hours=(1, n)) for n in range(1, 9)))
    told = []
    for _ in range(2):
        plan.forget()
        told.append(everything(on_paper.on_paper(asked, SMALL), asked))
    assert told[0] == told[1]


def test_a_plan_is_made_once_and_kept() -> None:
    asked = problem(LEAK, item("rattle"))
    plan.forget()
    first = plan.plan_of(asked, SMALL)
    assert plan.plan_of(problem(LEAK, item("rattle")), SMALL) is first
    assert plan.plan_of(problem(LEAK), SMALL) is not first


def test_more_open_work_than_anybody_would_wait_for_is_refused_in_words(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(plan, "PLANNED_MOST", 1)
    with pytest.raises(PlanError, match="2 pieces of work are open, and the plan takes up to 1: close what is done"):
        plan.make_plan(problem(HINGE, LEAK), SMALL)
