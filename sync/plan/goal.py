"""What a plan is judged by, in this order: carry on what is in hand, make safe, fit by the day, finish early.

Each part is one whole number, smaller is better, and a plan is better if the first part that differs is smaller.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import NamedTuple

from sync.plan.greedy import Capacity
from sync.plan.network import Activity, Network

#: Display weights may have decimals; the solver counts in whole numbers.
WEIGHT_SCALE = 10


class Score(NamedTuple):
    """A plan's parts in their order; times in slots.

    started: sum of the starts of work that is in hand or was put first. safe: sum over vehicles of when the last
    dangerous defect is mended. unfit: display weights (in tenths) of vehicles not fit before the day. ends: sum over
    vehicles of when each is done and over its bundles of how long each stands open, times 1 + its display weight (in
    tenths).
    """

    started: int
    safe: int
    unfit: int
    ends: int


@dataclass(frozen=True)
class Goal:
    """`deadline`: slots before the day to be ready for, None where there is none. `weight`: display weights.

    `never`: vehicles that no planned work makes fit.
    """

    weight: Mapping[str, float]
    deadline: int | None = None
    never: frozenset[str] = frozenset()
    vehicles: tuple[str, ...] = ()

    def wanted(self, vehicle: str) -> int:
        return round(self.weight.get(vehicle, 0) * WEIGHT_SCALE)

    def pull(self, vehicle: str) -> int:
        """How much an earlier finish of this vehicle counts."""
        return WEIGHT_SCALE + self.wanted(vehicle)


@dataclass(frozen=True)
class Question:
    """What is asked of a plan: the network to place, what it must fit into, and what it is judged by."""

    net: Network
    capacity: Capacity
    goal: Goal

    def within(self, net: Network) -> "Question":
        """The same asked of another network, as a rule a part of this one."""
        return replace(self, net=net)

    def score(self, starts: Mapping[str, int]) -> "Score":
        return score(self.net, starts, self.goal)


def score(net: Network, starts: Mapping[str, int], goal: Goal) -> Score:
    """The score of a plan."""
    ends = last_ends(starts, net.activities)
    safe = last_ends(starts, [a for a in net.activities if a.dangerous])
    fit = fit_vehicles(net, starts, goal)
    return Score(
        started=sum(starts[a.id] for a in net.activities if a.started),
        safe=sum(safe.values()),
        unfit=sum(goal.wanted(v) for v in goal.vehicles if v not in fit) if goal.deadline is not None else 0,
        ends=sum(goal.pull(vehicle) * slots for vehicle, slots in [*ends.items(), *_spans(net, starts)]),
    )


def _spans(net: Network, starts: Mapping[str, int]) -> Iterator[tuple[str, int]]:
    """By vehicle, for how long each of its bundles stands open."""
    for ones in net.by_bundle.values():
        begin = min(starts[one.out] if one.out else 0 for one in ones)
        yield ones[0].vehicle, max(starts[one.back] + net.by_id[one.back].slots for one in ones) - begin


def last_ends(starts: Mapping[str, int], activities: Iterable[Activity]) -> dict[str, int]:
    """By vehicle, the end of the last of some activities."""
    ends: dict[str, int] = {}
    for activity in activities:
        end = starts[activity.id] + activity.slots
        ends[activity.vehicle] = max(ends.get(activity.vehicle, 0), end)
    return ends


def fit_vehicles(net: Network, starts: Mapping[str, int], goal: Goal, deadline: int | None = None) -> frozenset[str]:
    """The vehicles fit before the deadline: what bars them is done, and no step of them stands open across it."""
    deadline = goal.deadline if deadline is None else deadline
    if deadline is None:
        return frozenset()
    late = {a.vehicle for a in net.activities if a.bars and starts[a.id] + a.slots > deadline}
    late |= {
        one.vehicle
        for one in net.opened
        if (starts[one.out] if one.out else 0) < deadline and starts[one.back] + net.by_id[one.back].slots > deadline
    }
    return frozenset(goal.vehicles) - goal.never - late


def nearly_unfit(net: Network, starts: Mapping[str, int], goal: Goal) -> float:
    """The weights of the vehicles that are not fit before the day, those that nearly are counting less: down to half.

    A search goes by it from one plan to the next, where the weights alone change only when a vehicle has become fit.
    """
    deadline = goal.deadline
    if deadline is None:
        return 0.0
    late: dict[str, int] = {}
    for activity in net.activities:
        if activity.bars and (over := starts[activity.id] + activity.slots - deadline) > 0:
            late[activity.vehicle] = max(late.get(activity.vehicle, 0), over)
    for one in net.opened:
        begin, over = starts[one.out] if one.out else 0, starts[one.back] + net.by_id[one.back].slots - deadline
        if begin < deadline and over > 0:
            late[one.vehicle] = max(late.get(one.vehicle, 0), min(deadline - begin, over))
    return sum(
        goal.wanted(v) * (0.5 + 0.5 * over / (over + deadline)) for v, over in late.items() if v not in goal.never
    )
