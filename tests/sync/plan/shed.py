"""A small invented workshop for the planner's tests, and random ones."""

from datetime import date, timedelta
from typing import Any

from hypothesis import strategies as st

from sync.plan.access import Access
from sync.plan.bundles import bundles
from sync.plan.cp import Limit
from sync.plan.goal import Goal, Question
from sync.plan.greedy import Capacity
from sync.plan.network import Network, network
from sync.plan.plan import Plan, make_plan
from sync.plan.problem import DisplayDay, Item, Problem, Step, Vehicle, Wait, Workshop
from sync.plan.sessions import Calendar

MONDAY = date(2026, 10, 19)
SATURDAY = date(2026, 10, 24)
FROST_RUN = DisplayDay(name="Frost Run", date=date(2026, 12, 12))
#: Three people, ten hours each, on Saturdays.
WORKSHOP = Workshop(hours_per_week=30, people_at_once=3, resources={"lifting": 1, "pit": 1})
DECK = Step(id="deck-clear", name="deck clear", hours_out=1, hours_back=1, people=2)
PACK = Step(
    id="pack-out", name="pack out", needs=("deck-clear",), hours_out=6, hours_back=8, people=3, uses=("lifting",)
)
FLOOR = Step(id="floor-out", name="floor out", hours_out=1, hours_back=2)
BADGER = Vehicle(id="badger", name="Badger", display_weight=3, steps=(DECK, PACK, FLOOR))
SMALL = Limit(1.0, workers=1)


def item(name: str, **given: Any) -> Item:
    """A defect of badger, mended in two hours by one person, unless told otherwise."""
    return Item(**{"id": name, "vehicle": "badger", "title": name.replace("-", " "), "hours": (2, 2), **given})


def waits(days: int, what: str = "clutch plates", **given: Any) -> tuple[Wait, ...]:
    """A wait that ends so many days after Monday."""
    return (Wait(**{"what": what, "due": MONDAY + timedelta(days=days), **given}),)


def problem(*items: Item, **given: Any) -> Problem:
    """Badger alone in the workshop, with some items."""
    usual = {"as_of": MONDAY, "workshop": WORKSHOP, "vehicles": (BADGER,), "display_days": (FROST_RUN,)}
    return Problem(**{**usual, "items": items, **given})


def planned(*items: Item, **given: Any) -> Plan:
    return make_plan(problem(*items, **given), SMALL)


def question(asked: Problem) -> tuple[Question, Calendar]:
    """The scheduling question of a problem, with its calendar."""
    plan_access = Access(asked)
    calendar = Calendar(asked.workshop, asked.as_of)
    made, _ = bundles(plan_access, calendar)
    return ask(network(plan_access, made, calendar), asked, calendar), calendar


def ask(net: Network, asked: Problem, calendar: Calendar) -> Question:
    goal = Goal(
        weight={vehicle.id: vehicle.display_weight for vehicle in asked.vehicles},
        deadline=calendar.slot_on(asked.target) if asked.target else None,
        vehicles=tuple(vehicle.id for vehicle in asked.vehicles),
    )
    return Question(net, Capacity(calendar, asked.resources), goal)


HALVES = st.integers(1, 8).map(lambda halves: halves / 2)


@st.composite
def steps(draw: st.DrawFn) -> tuple[Step, ...]:
    made: list[Step] = []
    for number in range(draw(st.integers(0, 3))):
        below = tuple(draw(st.sets(st.sampled_from([step.id for step in made]), max_size=1))) if made else ()
        made.append(
            Step(
                id=f"s{number}",
                name=f"step {number}",
                needs=below,
                hours_out=draw(HALVES),
                hours_back=draw(HALVES),
                people=draw(st.integers(1, 2)),
                uses=draw(st.sampled_from([(), (), ("lifting",)])),
            )
        )
    return tuple(made)


@st.composite
def items(draw: st.DrawFn, vehicle: Vehicle, number: int) -> Item:
    names = [step.id for step in vehicle.steps]
    needs = tuple(draw(st.sets(st.sampled_from(names), max_size=2))) if names else ()
    holds = tuple(draw(st.sets(st.sampled_from(names), max_size=1))) if names and not needs else ()
    least = draw(HALVES)
    return Item(
        id=f"{vehicle.id}-{number}",
        vehicle=vehicle.id,
        title=f"{vehicle.id} {number}",
        severity=draw(st.sampled_from(["dangerous", "major", "minor", "advisory"])),
        hours=draw(st.sampled_from([(least, least), (least, least + 1), None])),
        people=draw(st.integers(1, 2)),
        needs=needs,
        holds=holds if draw(st.booleans()) else (),
        uses=draw(st.sampled_from([(), (), (), ("pit",)])),
        waits=draw(st.sampled_from([(), (), (), waits(10), waits(40), (Wait(what="somebody"),)])),
        status=draw(st.sampled_from(["open", "open", "open", "in hand"])),
    )


@st.composite
def problems(draw: st.DrawFn, vehicles: int = 2, most: int = 4) -> Problem:
    """Small workshops of every kind: short sessions, so that work spans them, and waits before and after the day."""
    fleet = [
        Vehicle(id=f"v{n}", name=f"V{n}", display_weight=draw(st.integers(0, 3)), steps=draw(steps()))
        for n in range(draw(st.integers(1, vehicles)))
    ]
    work = [draw(items(vehicle, number)) for vehicle in fleet for number in range(draw(st.integers(0, most)))]
    people = draw(st.integers(2, 3))
    workshop = Workshop(
        hours_per_week=people * draw(st.sampled_from([3, 5])), people_at_once=people, resources={"lifting": 1, "pit": 1}
    )
    day = DisplayDay(name="Shown", date=MONDAY + timedelta(days=draw(st.sampled_from([6, 13, 27]))))
    return Problem(as_of=MONDAY, workshop=workshop, vehicles=tuple(fleet), items=tuple(work), display_days=(day,))
