"""From a problem to a plan: the one call that everything else reads its answers from."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from functools import cached_property

from sync.plan.access import Access
from sync.plan.barriers import Barrier, barriers
from sync.plan.bundles import Bundle, bundles
from sync.plan.cp import Limit
from sync.plan.goal import Goal, Question, fit_vehicles
from sync.plan.greedy import Capacity
from sync.plan.network import Activity, Network, network
from sync.plan.openings import Openings
from sync.plan.problem import Problem
from sync.plan.schedule import EFFORT, Schedule, schedule
from sync.plan.sessions import Calendar


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
    """Plan a problem. Raises PlanError where OR-Tools is missing or the workshop never opens."""
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
    capacity = Capacity(calendar, problem.workshop.resources)
    return Plan(
        problem, access, calendar, made, openings, barred, net, goal, schedule(Question(net, capacity, goal), limit)
    )
