"""The planner at size: 60 vehicles, 600 defects, 200 access steps. Run by hand: python -m tests.bench.plan

Prints, for two workshops, how long until a first feasible plan, how long the whole plan takes, and for each goal the
value, the bound and the gap; seconds are of the clock and of the processor, since other work on the machine stretches
the first. Each plan is checked slot by slot against every rule. Peers in the same run: the first plan alone, and each
effort, on the same collection.
"""

import os
import platform
import statistics
import time
from collections.abc import Callable
from typing import TypeVar

from sync.plan.access import Access
from sync.plan.bundles import bundles
from sync.plan.cp import Limit
from sync.plan.first import first_plan
from sync.plan.goal import Goal, Question, Score
from sync.plan.greedy import Capacity
from sync.plan.lowest import Lowest
from sync.plan.network import network
from sync.plan.problem import Problem, Workshop
from sync.plan.schedule import EFFORT, QUICK, Schedule, schedule
from sync.plan.sessions import Calendar
from sync.plan.verify import violations
from tests.bench.plan_collection import MUSEUM, SMALL_SHED, collection

SEEDS = (7, 8, 9)
EFFORTS = (QUICK.effort, EFFORT.effort)
Result = TypeVar("Result")


def timed(work: Callable[[], Result]) -> tuple[Result, float, float]:
    """A result, its seconds on the clock, and its seconds of the processor."""
    clock, processor = time.perf_counter(), time.process_time()
    return work(), time.perf_counter() - clock, time.process_time() - processor


def asked(problem: Problem) -> tuple[Question, Calendar, int]:
    """From the problem to the scheduling question; the person-quarter-hours that bundling saves."""
    access = Access(problem)
    calendar = Calendar(problem.workshop, problem.as_of)
    made, proofs = bundles(access, calendar)
    assert all(proof.proven for proof in proofs), "a set of openings was not proven cheapest"
    goal = Goal(
        weight={vehicle.id: vehicle.display_weight for vehicle in problem.vehicles},
        deadline=calendar.slot_on(problem.target) if problem.target else None,
        vehicles=tuple(vehicle.id for vehicle in problem.vehicles),
    )
    capacity = Capacity(calendar, problem.resources)
    return Question(network(access, made, calendar), capacity, goal), calendar, sum(b.saved for b in made)


def gaps(schedule_: Schedule) -> str:
    """Value, bound and gap of each goal."""
    return "; ".join(f"{s.goal} {s.value} >= {s.bound} ({s.gap:.1%})" for s in schedule_.stages)


def bench(name: str, workshop: Workshop, seed: int) -> tuple[float, dict[float, tuple[float, float, Schedule]]]:
    """One collection: seconds to a first plan, and by effort the seconds and the schedule."""
    problem = collection(60, 600, 200, workshop, seed)

    def until_first() -> tuple[Question, Calendar, int, dict[str, int]]:
        question, calendar, saved = asked(problem)
        return question, calendar, saved, first_plan(question)

    (question, calendar, saved, first), clock, processor = timed(until_first)
    assert violations(question.net, first, calendar, workshop) == []
    print(
        f"\n{name}, seed {seed}: {len(question.net.activities)} activities, "
        f"{saved / 4:.0f} person-hours saved by bundling"
    )
    print(f"  first plan: {clock:.2f} s (processor {processor:.2f} s)")
    now, lowest = question.score(first), Lowest(question)
    print("    " + "; ".join(f"{p} {getattr(now, p)} >= {lowest.part(p, now)}" for p in Score._fields))
    found = {}
    for effort in EFFORTS:
        made, clock_, processor_ = timed(lambda effort=effort: schedule(question, Limit(effort)))
        assert violations(question.net, made.starts, calendar, workshop) == []
        found[effort] = (clock_, processor_, made)
        print(f"  effort {effort:g}: {clock_:.1f} s (processor {processor_:.1f} s): {gaps(made)}")
    return clock, found


def main() -> None:
    print(f"{platform.processor() or platform.machine()}, {os.cpu_count()} cores, load {os.getloadavg()[0]:.1f}, "
          f"Python {platform.python_version()}")  # fmt: skip
    for name, workshop in (
        ("museum: 8 people, Wednesdays and Saturdays", MUSEUM),
        ("small shed: 3 people", SMALL_SHED),
    ):
        runs = [bench(name, workshop, seed) for seed in SEEDS]
        print(f"\n{name}, medians of {len(SEEDS)} collections")
        print(f"  first feasible plan after {statistics.median(clock for clock, _ in runs):.2f} s (wanted: 2 s)")
        for effort in EFFORTS:
            clock = statistics.median(found[effort][0] for _, found in runs)
            processor = statistics.median(found[effort][1] for _, found in runs)
            print(f"  effort {effort:g}: {clock:.1f} s, processor {processor:.1f} s (wanted: 30 s on 2 cores)")
            for number, part in enumerate(Score._fields):
                gap = statistics.median(found[effort][2].stages[number].gap for _, found in runs)
                print(f"    {part}: {gap:.1%} from its bound (wanted: 5 %)")


if __name__ == "__main__":
    main()
