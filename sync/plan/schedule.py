"""The order of work: goal by goal, each solved as far as its effort allows, each binding those after it.

Every goal is solved on the part of the network it needs (what dangerous defects wait for, then what bars the vehicles
that are wanted), since the rest can always follow afterwards; so the early goals are small and are mostly proven best.
The last goal takes the whole network. A feasible plan stands from the first moment (first.py) and is only ever
improved: by the solver (model.py), and on large networks by small moves (polish.py) before it.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace

from sync.plan.cp import TURNS_FROM, Limit, need_solver
from sync.plan.first import first_plan
from sync.plan.goal import Question, Score, fit_vehicles
from sync.plan.greedy import by_start, held_back, opened_late, serial
from sync.plan.lowest import Lowest
from sync.plan.model import Model
from sync.plan.network import Network
from sync.plan.polish import polish

#: Deterministic seconds for the whole plan when nothing else is asked.
EFFORT = Limit(1.0)
#: And where somebody waits for it: the page, and papers, which so say the same.
QUICK = Limit(0.1)
#: On large networks the solver has a short try first, which is often enough; then come small moves, then the solver.
#: GLANCE is a share of the solver's effort; POLISH is how many seconds of moves there are for one of its own.
GLANCE = 0.1
POLISH = 12.0
#: Beyond so many activities the solver makes nothing of a whole network in the time; small moves do.
SOLVED_MOST = 500
#: How the effort is shared between the goals; what one leaves over goes to those after it.
SHARE = {"started": 0.05, "safe": 0.35, "unfit": 0.25, "ends": 0.35}

Starts = Mapping[str, int]


@dataclass(frozen=True)
class Stage:
    """How one goal came out: its value, a proven bound, and whether the clock cut its search short."""

    goal: str
    value: int
    bound: int
    by_clock: bool = False

    @property
    def proven(self) -> bool:
        return self.value == self.bound

    @property
    def gap(self) -> float:
        """How far the value may be from the best there is, as a share of the value."""
        return (self.value - self.bound) / self.value if self.value else 0.0


@dataclass(frozen=True)
class Schedule:
    """Starts in slots, their score, and how each goal came out."""

    starts: Starts
    score: Score
    stages: tuple[Stage, ...]

    @property
    def repeatable(self) -> bool:
        """Whether the same input gives the same plan anywhere: not where the clock stopped the solver."""
        return not any(stage.by_clock for stage in self.stages)


def schedule(asked: Question, limit: Limit = EFFORT) -> Schedule:
    """The best order of work found within the limit. Raises PlanError where OR-Tools is missing."""
    need_solver()
    search = _Search(asked, limit)
    bounds = [(part, *search.improve(part)) for part in Score._fields]
    final = asked.score(search.best)
    stages = [Stage(part, getattr(final, part), bound, by_clock) for part, bound, by_clock in bounds]
    return Schedule(search.best, final, tuple(stages))


class _Search:
    """The best plan so far, and the effort left for it."""

    def __init__(self, asked: Question, limit: Limit) -> None:
        self.asked = asked
        self.workers = limit.workers
        self.left = limit.effort
        self.shares = sum(SHARE.values())
        self.lowest = Lowest(asked)
        first = first_plan(asked)
        self.best: Starts = min((first, opened_late(asked.net, first, asked.capacity)), key=asked.score)

    def improve(self, part: str) -> tuple[int, bool]:
        """Improve one goal without hurting those before it; its bound, and whether the clock stopped it."""
        limit = Limit(self.left * SHARE[part] / self.shares, self.workers)
        self.shares -= SHARE[part]
        now = self.asked.score(self.best)
        least = self.lowest.part(part, now)
        if getattr(now, part) <= least:
            return getattr(now, part), False
        concerned = self.asked.within(self.asked.net.upto(_concerned(part, self.asked)))
        if len(concerned.net.activities) < TURNS_FROM:
            return self._solved(concerned, part, self.best, least, limit)
        bound, by_clock = self._solved(concerned, part, self.best, least, replace(limit, effort=limit.effort * GLANCE))
        if getattr(self.asked.score(self.best), part) == bound:
            return bound, by_clock
        start = self._polished(concerned, part, limit)
        if len(concerned.net.activities) > SOLVED_MOST:
            return bound, by_clock
        return self._solved(concerned, part, start, bound, limit)

    def _polished(self, asked: Question, part: str, limit: Limit) -> Starts:
        found = polish(asked.within(asked.net.sequenced(self.best)), self.best, part, limit.effort * POLISH)
        self._take(asked.net, found)
        return found

    def _solved(self, asked: Question, part: str, start: Starts, least: int, limit: Limit) -> tuple[int, bool]:
        now = self.asked.score(self.best)
        model = Model(asked)
        if part == "unfit" and asked.goal.deadline is not None:
            model.due = self.lowest.due_before(asked.goal.deadline, now)
            model.beside = (self.lowest.beside_dangerous, self.lowest.room_before(asked.goal.deadline, now))
        for earlier in Score._fields[: Score._fields.index(part)]:
            model.bind(earlier, getattr(now, earlier))
        model.hint(start)
        found, outcome = model.minimise(part, least, getattr(now, part), limit)
        self.left = max(self.left - min(outcome.effort, limit.effort), 0.0)
        if found is None:
            return least, outcome.by_clock
        self._take(asked.net, found)
        value = getattr(self.asked.score(self.best), part)
        return min(value, max(least, outcome.bound)), outcome.by_clock

    def _take(self, net: Network, starts: Starts) -> None:
        """Make starts of a part into a plan of everything, and keep it where it is better."""
        whole = self._whole(net, starts)
        found = [self.best, whole, opened_late(self.asked.net, whole, self.asked.capacity)]
        if len(net.activities) == len(self.asked.net.activities):
            found.append(starts)
        self.best = min(found, key=self.asked.score)

    def _whole(self, net: Network, starts: Starts) -> Starts:
        """What the part was solved for in its own order, then the rest."""
        goal = self.asked.goal
        if len(net.activities) == len(self.asked.net.activities):
            order, held = by_start(self.asked.net, starts), held_back(starts, goal.deadline)
            return serial(self.asked.net, order, self.asked.capacity, held)
        fit = fit_vehicles(net, starts, goal)
        meant = [a.id for a in net.activities if a.dangerous or a.started or (a.bars and a.vehicle in fit)]
        return first_plan(self.asked, {a.id: starts[a.id] for a in self.asked.net.upto(meant).activities})


def _concerned(part: str, asked: Question) -> Iterator[str]:
    """The activities that a goal and those before it look at."""
    place = Score._fields.index(part)
    for activity in asked.net.activities:
        if (
            activity.started
            or (place >= 1 and activity.dangerous)
            or (place >= 2 and activity.bars and asked.goal.wanted(activity.vehicle))
            or place >= 3
        ):
            yield activity.id
