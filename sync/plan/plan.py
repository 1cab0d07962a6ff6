"""From a problem to a plan: the one call that everything else reads its answers from."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property, lru_cache
from threading import Lock

from sync.errors import PlanError
from sync.plan.access import Access
from sync.plan.barriers import Barrier, barriers
from sync.plan.bundles import Bundle, bundles
from sync.plan.cp import Limit, need_solver
from sync.plan.goal import Goal, Question, fit_vehicles
from sync.plan.greedy import Capacity
from sync.plan.network import Activity, Network, network
from sync.plan.openings import Openings
from sync.plan.problem import Problem
from sync.plan.schedule import EFFORT, Schedule, schedule
from sync.plan.sessions import Calendar

#: Beyond so many open pieces of work nobody would wait for the plan.
PLANNED_MOST = 2000


@dataclass(frozen=True)
class Plan:
    """A planned problem. Slots are turned into days by `calendar`."""

    problem: Problem
    access: Access
    calendar: Calendar
    bundles: tuple[Bundle, ...]
    openings: tuple[Openings, ...]
    barriers: Mapping[str, tuple[Barrier, ...]]
    net: Network
    goal: Goal
    schedule: Schedule

    def start(self, activity: str) -> int:
        return self.schedule.starts[activity]

    def end(self, activity: str) -> int:
        return self.schedule.starts[activity] + self.net.by_id[activity].slots

    def first_day(self, activity: str) -> date:
        return self.calendar.starts(self.start(activity))

    def last_day(self, activity: str) -> date:
        return self.calendar.ends(max(self.end(activity), self.start(activity) + 1))

    @cached_property
    def in_order(self) -> tuple[Activity, ...]:
        return tuple(sorted(self.net.activities, key=lambda a: (self.start(a.id), self.end(a.id), a.id)))

    @cached_property
    def by_bundle(self) -> dict[str, Bundle]:
        return {bundle.id: bundle for bundle in self.bundles}

    @cached_property
    def fit(self) -> frozenset[str]:
        """The vehicles fit before the day to be ready for."""
        return fit_vehicles(self.net, self.schedule.starts, self.goal)

    def item_day(self, item: str) -> date | None:
        """The day on which an item is done; None where it is not planned."""
        name = f"work/{item}"
        return self.last_day(name) if name in self.net.by_id else None


def make_plan(problem: Problem, limit: Limit = EFFORT) -> Plan:
    """Plan a problem. Raises PlanError where OR-Tools is missing, the workshop never opens, or too much is open."""
    if len(problem.work) > PLANNED_MOST:
        raise PlanError(
            f"{len(problem.work)} pieces of work are open, and the plan takes up to {PLANNED_MOST}: "
            "close what is done, and say of vehicles that are away that they are"
        )
    access = Access(problem)
    calendar = Calendar(problem.workshop, problem.as_of)
    made, openings = bundles(access, calendar)
    barred = barriers(access, made)
    net = network(access, made, calendar)
    goal = Goal(
        weight={vehicle.id: vehicle.display_weight for vehicle in problem.vehicles},
        deadline=calendar.slot_on(problem.target) if problem.target else None,
        never=frozenset(barred),
        vehicles=tuple(vehicle.id for vehicle in problem.vehicles),
    )
    capacity = Capacity(calendar, problem.resources)
    return Plan(
        problem, access, calendar, made, openings, barred, net, goal, schedule(Question(net, capacity, goal), limit)
    )


#: Plans that are kept: the same problem gives the same plan, so it need not be made twice.
KEPT_MOST = 16
_one_at_a_time = Lock()


def plan_of(problem: Problem, limit: Limit = EFFORT) -> Plan:
    """The plan of a problem, made once and kept while others are not asked for. Raises PlanError as make_plan does."""
    need_solver()
    with _one_at_a_time:
        return _made(problem.model_dump_json(), limit)


@lru_cache(KEPT_MOST)
def _made(problem: str, limit: Limit) -> Plan:
    return make_plan(Problem.model_validate_json(problem), limit)


def forget() -> None:
    """Let go of every plan that is kept."""
    _made.cache_clear()
