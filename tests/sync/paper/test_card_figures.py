"""What a job card says of a reading, and of the plan."""

from collections.abc import Callable
from dataclasses import replace
from datetime import date

import msgspec
import pytest

from builder.edition import Edition
from sync.paper.cards import Bench, defect_card, job_card
from sync.paper.models import CardOrder, CardPart
from sync.paper.printed import job_cards
from sync.plan.gather import gather
from sync.plan.on_paper import OnPaper, on_paper
from sync.state import Defect, JobState, PartState, State
from sync.trade.places import said_of
from sync.trade.reckoning import MANUAL_FIRST

SUNDAY = date(2026, 10, 18)


@pytest.fixture
def figured(bench: Bench, edition: Edition) -> Bench:
    view = edition.by_vehicle["badger"]

    def figures(defect: Defect) -> object:
        latest = {(defect.check, defect.spot): defect.reading} if defect.reading else {}
        return said_of(view, view.checks[defect.check], latest)

    return replace(bench, figures=figures)  # type: ignore[arg-type]


@pytest.fixture
def plan_of(edition: Edition) -> Callable[..., OnPaper]:
    def made(*defects: Defect, parts: tuple[PartState, ...] = ()) -> OnPaper:
        found = State(edition=edition.fingerprint, defects=defects, parts=parts)
        return on_paper(gather(edition, found, SUNDAY))

    return made


def test_a_reading_says_what_to_do_and_whose_word_comes_first(slack: Defect, figured: Bench) -> None:
    told = defect_card(slack, figured).defects[0].figures
    assert told is not None
    assert (told.verdict, told.care) == ("major", MANUAL_FIRST)
    assert told.says == ("Sag of the top run: 61 mm is 21 mm above the highest allowed (40 mm).",)
    assert told.do == ("Put it right, or have the lead say what it may still do.",)


def test_the_line_that_the_manual_comes_first_stands_beside_every_number(
    slack: Defect, fuel: Defect, figured: Bench
) -> None:
    card = job_card(JobState(job="j-1", title="Saturday"), (slack, fuel), figured)
    page = job_cards([card, defect_card(slack, figured)]).decode()
    assert page.count("By the figures:") == page.count(MANUAL_FIRST.replace("'", "&#39;")) == 2


def test_a_defect_without_a_reading_has_no_figures(fuel: Defect, figured: Bench) -> None:
    assert defect_card(fuel, figured).defects[0].figures is None
    assert "By the figures" not in job_cards([defect_card(fuel, figured)]).decode()


def test_steps_and_parts_are_the_plans(slack: Defect, fuel: Defect, bench: Bench, plan_of) -> None:
    ordered = PartState(part="link pins", for_=slack.code, state="ordered", where="Brass merchant", due="2026-11-07")
    card = defect_card(slack, replace(bench, plan=plan_of(slack, fuel, parts=(ordered,))))
    assert [(step.name, step.held_by) for step in card.steps] == [
        ("Track guard off", ("Lamps: Fuel on the floor (badger-7k3qd)",)),
        ("Track open", ()),
    ]
    assert card.parts == (CardPart(name="link pins", state="ordered", where="Brass merchant, due Sat 7 Nov 2026"),)
    assert (card.hours, card.people) == ("2 to 4 h", 3)


def test_a_card_says_its_day_its_place_and_what_waits_for_it(
    slack: Defect, fuel: Defect, bench: Bench, plan_of
) -> None:
    told = defect_card(fuel, replace(bench, plan=plan_of(slack, fuel))).order
    assert told is not None
    assert told.when.startswith("Planned for Sat 24 Oct 2026, number 1 of ")
    assert told.before == ("Sag of the top run: Slack (badger-9m2xa)",)


def test_without_a_plan_a_line_says_why_and_what_blocks_it_is_said_all_the_same(
    slack: Defect, fuel: Defect, bench: Bench, plan_of, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sync.plan.cp.HAVE_SOLVER", False)
    known = msgspec.structs.replace(fuel, hours=(1, 2))
    bench = replace(bench, plan=plan_of(slack, known))
    card, free = defect_card(slack, bench), defect_card(known, bench)
    assert card.order is not None
    assert free.order is not None
    assert card.order.when.startswith("No days are planned:")
    assert (card.order.why, free.order.why) == ("Track open takes 3 people at once, and there are 2.", "")
    assert [step.name for step in card.steps] == ["Track guard off", "Track open"]
    assert "No days are planned:" in job_cards([card]).decode()


def test_what_the_plan_does_not_know_says_so(slack: Defect, bench: Bench, plan_of) -> None:
    card = defect_card(slack, replace(bench, plan=plan_of()))
    assert card.order == CardOrder(when="Not in the plan: nothing of it is to be done here now.")
    assert [step.name for step in card.steps] == ["Track guard off", "Track open"]
