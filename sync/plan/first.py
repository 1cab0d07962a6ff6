"""A feasible plan without a solver: what is in hand, what is dangerous, the vehicles that can be fit, then the rest.

Within each, the vehicle with the least work for its weight comes first (Smith's rule), and within a vehicle what has
the longest chain behind it. Vehicles are taken among those to be fit one by one, and only where the plan then keeps
them all; so it needs some tens of runs of the serial scheme, which take milliseconds.
"""

from collections.abc import Callable, Container, Iterable, Iterator, Mapping
from dataclasses import replace
from functools import cache
from itertools import product

from sync.plan.critical import critical_times
from sync.plan.goal import Goal, Question, fit_vehicles
from sync.plan.greedy import by_start, held_back, serial
from sync.plan.network import Activity, Network, legs_of

#: So many of the most promising vehicles are tried for the day; beyond it the solver is left to find them.
TRIED_MOST = 80
#: Openings put off make room for others that then stand across the day: so many times they are put off too.
PUSHED_MOST = 6
#: How many times its own length ahead of the end of its wait a vehicle is begun: each is tried.
AHEAD = (3.0, 8.0)


def first_plan(asked: Question, begun: Mapping[str, int] | None = None) -> dict[str, int]:
    """The best of a few simple plans; `begun` are starts that are settled already, and come first."""
    planner = _Planner(asked, begun or {})
    ways = product((True, False), (False, True), AHEAD)
    plans = [plan for by_weight, closing, ahead in ways for plan in planner.plans(by_weight, closing, ahead)]
    return min(plans, key=asked.score)


class _Planner:
    def __init__(self, asked: Question, begun: Mapping[str, int]) -> None:
        self.net = asked.net.sequenced(begun)
        self.capacity = asked.capacity
        goal = self.goal = asked.goal
        self.held = held_back(begun, goal.deadline)
        self.times = critical_times(legs_of(self.net))
        self.rank = {activity.id: number for number, activity in enumerate(self.net.activities)}
        self.parts = {
            "dangerous": self._by_vehicle(a for a in self.net.activities if a.dangerous),
            "bars": self._by_vehicle(a for a in self.net.activities if a.bars),
            "all": self._by_vehicle(self.net.activities),
        }
        begin = self.net.only(begun)
        self.begin = [
            *by_start(begin, begun),
            *self._needed([a.id for a in self.net.activities if a.started]),
            *(a for v in self._least("dangerous", lambda _: 1, AHEAD[-1]) for a in self.parts["dangerous"][v]),
        ]

    def _needed(self, names: Iterable[str]) -> list[Activity]:
        """What some activities wait for and they themselves, what must start first being first."""
        found = self.net.upto(names).activities
        return sorted(found, key=lambda a: (self.times[a.id].latest_start, self.rank[a.id]))

    def _by_vehicle(self, activities: Iterable[Activity]) -> dict[str, list[Activity]]:
        names: dict[str, list[str]] = {}
        for activity in activities:
            names.setdefault(activity.vehicle, []).append(activity.id)
        return {vehicle: self._needed(mine) for vehicle, mine in sorted(names.items())}

    def _load(self, part: str, vehicle: str) -> int:
        return sum(a.person_slots for a in self.parts[part].get(vehicle, ()))

    def _least(self, part: str, weight: Callable[[str], float], ahead: float) -> list[str]:
        """Vehicles by Smith's rule, a vehicle that waits for something not before it could be finished by then."""
        length = {v: self._load(part, v) / self.capacity.people for v in self.parts[part]}
        earliest = {v: max(self.times[a.id].earliest_end for a in self.parts[part][v]) for v in length}
        begin = {v: earliest[v] - ahead * length[v] for v in length}
        left = sorted(length, key=lambda v: (length[v] / max(weight(v), 0.1), v))
        found: list[str] = []
        now = 0.0
        while left:
            chosen = next((v for v in left if begin[v] <= now), None) or min(left, key=lambda v: (begin[v], v))
            left.remove(chosen)
            found.append(chosen)
            now += length[chosen]
        return found

    def plans(self, by_weight: bool, closing: bool, ahead: float) -> Iterator[dict[str, int]]:
        """As it comes, and with openings that would stand across the day put off until none is left that could be.

        `closing`: what was opened for dangerous work is finished and closed before the rest is begun.
        """
        chosen = self._fit(by_weight)
        order = [
            *self.begin,
            *(a for vehicle in chosen for a in self.parts["bars"].get(vehicle, ())),
            *(self._closings() if closing else ()),
            *(a for v in self._least("all", self.goal.pull, ahead) for a in self.parts["all"][v]),
        ]
        starts = serial(self.net, _once(order), self.capacity, self.held)
        yield starts
        held = dict(self.held)
        for _ in range(PUSHED_MOST):
            if not (late := out_of_the_way(self.net, starts, self.goal, {a.id for a in self.begin})):
                return
            held |= late
            starts = serial(self.net, _once(order), self.capacity, held)
            yield starts

    def _closings(self) -> Iterator[Activity]:
        """What is left to do in the bundles that are begun, those first that stand open at most for least work."""
        begun = {activity.bundle for activity in self.begin if activity.bundle}
        left: dict[str, list[Activity]] = {bundle: [] for bundle in sorted(begun)}
        for activity in self.net.activities:
            if activity.bundle in left:
                left[activity.bundle].append(activity)
        ratio = {
            bundle: sum(a.person_slots for a in mine) / self.goal.pull(mine[0].vehicle) for bundle, mine in left.items()
        }
        for bundle in sorted(left, key=lambda bundle: (ratio[bundle], bundle)):
            yield from self._needed([activity.id for activity in left[bundle]])

    @cache  # noqa: B019  # a planner lives for one plan
    def _fit(self, by_weight: bool) -> list[str]:
        """Vehicles to be fit before the day, each taken only if all taken before stay fit."""
        goal, deadline = self.goal, self.goal.deadline
        if deadline is None:
            return []
        bars = self.parts["bars"]
        ends = {v: max(self.times[a.id].earliest_end for a in bars[v] if a.bars) for v in bars}
        hopeful = [v for v in bars if goal.wanted(v) and v not in goal.never and ends[v] <= deadline]
        hopeful.sort(key=lambda v: (-goal.wanted(v) if by_weight else self._load("bars", v) / goal.wanted(v), v))
        chosen: list[str] = []
        for vehicle in hopeful[:TRIED_MOST]:
            trial = [*chosen, vehicle]
            order = list(_once([*self.begin, *(a for one in trial for a in bars[one])]))
            part = self.net.only(activity.id for activity in order)
            starts = serial(part, order, self.capacity, self.held)
            if set(trial) <= fit_vehicles(part, starts, replace(goal, vehicles=tuple(trial))):
                chosen = trial
        return chosen


def _once(order: Iterable[Activity]) -> Iterator[Activity]:
    seen: set[str] = set()
    for activity in order:
        if activity.id not in seen:
            seen.add(activity.id)
            yield activity


def out_of_the_way(net: Network, starts: Mapping[str, int], goal: Goal, kept: Container[str]) -> dict[str, int]:
    """Bundles that would stand open across the deadline, as activities not to begin before it; `kept` are let be."""
    deadline = goal.deadline
    if deadline is None:
        return {}
    late = {
        one.bundle
        for one in net.opened
        if one.out and starts[one.out] < deadline < starts[one.back] + net.by_id[one.back].slots
    }
    late -= {activity.bundle for activity in net.activities if activity.id in kept}
    return {a.id: deadline for a in net.activities if a.bundle in late}
