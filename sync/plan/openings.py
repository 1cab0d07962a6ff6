"""The cheapest set of openings of one vehicle, found exactly.

Each item needs some access steps out at once, and may be done at some of a few times: the dates on which what is
awaited comes. A step opened at a time costs its person-hours out and back once, whoever uses it then. Which items go
to which time, so that the sum is least? With several times this is a joint replenishment problem with deadlines, which
is NP-hard in general, so no greedy rule is right; but one vehicle has a handful of times and tens of items, and CP-SAT
proves the best in milliseconds. Among equally cheap sets the earliest is taken. The bound told beside the cost is the
one the solver proved (equal to the cost when proven); every step once is a lower bound that needs no solver.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from sync.plan.cp import HAVE_SOLVER, Limit, need_solver, solve

if HAVE_SOLVER:
    from ortools.sat.python import cp_model

#: Deterministic seconds for one vehicle; real ones take hundredths.
EFFORT = Limit(5.0)


@dataclass(frozen=True)
class Want:
    """An item that needs `steps` out at one time between `first` and `last` (numbers of times, both included)."""

    item: str
    steps: frozenset[str]
    first: int
    last: int


@dataclass(frozen=True)
class Openings:
    """The chosen time of each item, the cost of all openings, and the proven bound on it."""

    time_of: Mapping[str, int]
    cost: int
    bound: int

    @property
    def proven(self) -> bool:
        return self.cost == self.bound


def cost_of(wants: Sequence[Want], time_of: Mapping[str, int], cost: Mapping[tuple[str, int], int]) -> int:
    """What a choice of times costs: each step once for each time at which somebody uses it."""
    opened = {(step, time_of[want.item]) for want in wants for step in want.steps}
    return sum(cost[place] for place in opened)


def cheapest(
    wants: Sequence[Want], cost: Mapping[tuple[str, int], int], before: Sequence[tuple[str, str]] = ()
) -> Openings:
    """The cheapest choice of times.

    `cost` is by (step, time), in whole person-quarter-hours. `before` are pairs of items of which the first must not
    come at a later time than the second. Raises PlanError where a choice is needed and OR-Tools is missing.
    """
    if all(want.first == want.last for want in wants):
        time_of = {want.item: want.first for want in wants}
        total = cost_of(wants, time_of, cost)
        return Openings(time_of, total, total)
    need_solver()
    return _solved(wants, cost, before)


def _solved(wants: Sequence[Want], cost: Mapping[tuple[str, int], int], before: Sequence[tuple[str, str]]) -> Openings:
    model = cp_model.CpModel()
    at = {w.item: {t: model.new_bool_var("") for t in range(w.first, w.last + 1)} for w in wants}
    opened: dict[tuple[str, int], cp_model.IntVar] = {}
    for want in wants:
        model.add_exactly_one(at[want.item].values())
        for time, here in at[want.item].items():
            for step in sorted(want.steps):
                if (step, time) not in opened:
                    opened[step, time] = model.new_bool_var("")
                model.add_implication(here, opened[step, time])
    for first, second in before:
        if first in at and second in at:
            model.add(_index(at[first]) <= _index(at[second]))
    late = cp_model.LinearExpr.sum([_index(choice) for choice in at.values()])
    scale = 1 + sum(want.last for want in wants)
    model.minimize(scale * sum(cost[place] * out for place, out in opened.items()) + late)
    solver, outcome = solve(model, EFFORT, size=0)
    time_of = {item: next(t for t, here in choice.items() if solver.boolean_value(here)) for item, choice in at.items()}
    total = cost_of(wants, time_of, cost)
    return Openings(time_of, total, min(total, outcome.bound // scale))


def _index(choice: "Mapping[int, cp_model.IntVar]") -> "cp_model.LinearExpr":
    return cp_model.LinearExpr.weighted_sum(list(choice.values()), list(choice))
