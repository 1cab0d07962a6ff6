"""The order of work as a CP-SAT model: one start for each activity, and the four goals as expressions over them."""

from collections.abc import Callable, Iterable, Mapping
from functools import partial

from sync.plan.cp import HAVE_SOLVER, Limit, Outcome, solve
from sync.plan.critical import critical_times
from sync.plan.goal import Question
from sync.plan.network import Activity, Opened, legs_of

if HAVE_SOLVER:
    from ortools.sat.python import cp_model


class Model:
    """A model of one network. Ask for one goal after the other: each `minimise` binds those that follow."""

    def __init__(self, asked: Question) -> None:
        net = self.net = asked.net
        self.capacity = asked.capacity
        self.goal = asked.goal
        self.times = critical_times(legs_of(net))
        self.horizon = _horizon(asked)
        self.cp = cp_model.CpModel()
        self.start = {a.id: self._start(a) for a in net.activities}
        self.interval = {
            a.id: self.cp.new_fixed_size_interval_var(self.start[a.id], a.slots, "") for a in net.activities
        }
        self._precedences()
        self._people()
        self._resources()
        for ones in net.shared:
            self.cp.add_no_overlap([self._stretch(one) for one in ones])
        self.fit: dict[str, cp_model.IntVar] = {}
        self.due: frozenset[str] = frozenset()
        self.beside: tuple[Callable[[Iterable[Activity]], int], int] | None = None

    def _start(self, activity: Activity) -> "cp_model.IntVar":
        first, last = self.times[activity.id].earliest_start, self.horizon - activity.slots
        if not activity.whole:
            return self.cp.new_int_var(first, last, "")
        session = self.capacity.calendar.slots_a_session
        places = [
            [max(first, begin), min(last, begin + session - activity.slots)]
            for begin in range(first - first % session, last + 1, session)
        ]
        domain = cp_model.Domain.from_intervals([place for place in places if place[0] <= place[1]])
        return self.cp.new_int_var_from_domain(domain, "")

    def _end(self, name: str) -> "cp_model.LinearExpr":
        return self.start[name] + self.net.by_id[name].slots

    def _precedences(self) -> None:
        for activity in self.net.activities:
            for first in activity.after:
                self.cp.add(self.start[activity.id] >= self._end(first))

    def _people(self) -> None:
        busy = [a for a in self.net.activities if a.slots and a.people]
        gaps = self.capacity.missing(self.horizon)
        absent = [self.cp.new_fixed_size_interval_var(first, slots, "") for first, slots, _ in gaps]
        self.cp.add_cumulative(
            [*(self.interval[a.id] for a in busy), *absent],
            [*(a.people for a in busy), *(fewer for *_, fewer in gaps)],
            self.capacity.people,
        )

    def _resources(self) -> None:
        for use, most in sorted(self.capacity.resources.items()):
            users = [a for a in self.net.activities if a.slots and use in a.pieces]
            if most == 1:
                self.cp.add_no_overlap([self.interval[a.id] for a in users])
            elif users:
                amounts = [a.pieces[use] for a in users]
                self.cp.add_cumulative([self.interval[a.id] for a in users], amounts, most)

    def _stretch(self, one: Opened) -> "cp_model.IntervalVar":
        begin = self.start[one.out] if one.out else self.cp.new_constant(0)
        length = self.cp.new_int_var(0, self.horizon, "")
        return self.cp.new_interval_var(begin, length, self._end(one.back), "")

    def hint(self, starts: Mapping[str, int]) -> None:
        self.cp.clear_hints()  # type: ignore[no-untyped-call]  # OR-Tools left it bare
        for name, var in self.start.items():
            self.cp.add_hint(var, starts[name])

    def minimise(self, part: str, least: int, most: int, limit: Limit) -> "tuple[dict[str, int] | None, Outcome]":
        """Minimise one part of the score, known to lie between two values; starts found, or None."""
        expression = self.parts[part]()
        self.cp.add_linear_constraint(expression, least, most)
        self.cp.minimize(expression)
        solver, outcome = solve(self.cp, limit, len(self.net.activities))
        return ({n: solver.value(v) for n, v in self.start.items()} if outcome.found else None), outcome

    def bind(self, part: str, value: int) -> None:
        """Keep one part of the score from getting worse than `value`."""
        self.cp.add(self.parts[part]() <= value)

    @property
    def parts(self) -> "dict[str, Callable[[], cp_model.LinearExprT]]":
        return {
            "started": self._started,
            "safe": self._safe,
            "unfit": self._unfit,
            "ends": self._ends,
        }

    def _started(self) -> "cp_model.LinearExprT":
        return sum(self.start[a.id] for a in self.net.activities if a.started)

    def _safe(self) -> "cp_model.LinearExprT":
        return sum(self._last_ends(lambda activity: activity.dangerous).values())

    def _ends(self) -> "cp_model.LinearExprT":
        ends = [self.goal.pull(vehicle) * end for vehicle, end in self._last_ends(lambda _: True).items()]
        return sum([*ends, *(self._span(ones) for ones in self.net.by_bundle.values())])

    def _span(self, ones: tuple[Opened, ...]) -> "cp_model.LinearExpr":
        """How long a bundle stands open, from its first step out to its last one back, at its vehicle's weight."""
        first = self.cp.new_int_var(0, self.horizon, "")
        last = self.cp.new_int_var(0, self.horizon, "")
        for one in ones:
            self.cp.add(first <= (self.start[one.out] if one.out else 0))
            self.cp.add(last >= self._end(one.back))
        return self.goal.pull(ones[0].vehicle) * (last - first)

    def _last_ends(self, chosen: Callable[[Activity], bool]) -> "dict[str, cp_model.IntVar]":
        ends: dict[str, cp_model.IntVar] = {}
        for activity in self.net.activities:
            if chosen(activity):
                if activity.vehicle not in ends:
                    ends[activity.vehicle] = self.cp.new_int_var(0, self.horizon, "")
                self.cp.add(ends[activity.vehicle] >= self._end(activity.id))
        return ends

    def _unfit(self) -> "cp_model.LinearExprT":
        if not self.fit:
            self._fit_choices()
        wanted = sum(self.goal.wanted(vehicle) for vehicle in self.goal.vehicles if vehicle not in self._always)
        return wanted - sum(self.goal.wanted(vehicle) * here for vehicle, here in self.fit.items())

    @property
    def _always(self) -> frozenset[str]:
        """The vehicles that nothing in this network can keep from being fit."""
        touched = {a.vehicle for a in self.net.activities if a.bars} | {one.vehicle for one in self.net.opened}
        return frozenset(self.goal.vehicles) - self.goal.never - touched

    def _fit_choices(self) -> None:
        deadline = self.goal.deadline
        if deadline is None:
            return
        for vehicle in sorted(set(self.goal.vehicles) - self.goal.never - self._always):
            here = self.fit[vehicle] = self.cp.new_bool_var("")
            for activity in self.net.activities:
                if activity.vehicle == vehicle and activity.bars:
                    self.cp.add(self._end(activity.id) <= deadline).only_enforce_if(here)
            for one in self.net.opened:
                if one.vehicle == vehicle:
                    self._not_open_across(one, deadline, here)
        self._room_before(deadline)

    def _room_before(self, deadline: int) -> None:
        """What all fit vehicles need has room before the day, beside what is due by then anyway.

        It is implied by the rest, but it tells the solver at once.
        """
        needed = {}
        for vehicle in self.fit:
            barring = [a.id for a in self.net.activities if a.vehicle == vehicle and a.bars]
            needed[vehicle] = [a for a in self.net.ahead_of(barring) if a.vehicle == vehicle]
        sessions = -(-deadline // self.capacity.calendar.slots_a_session)
        self._knapsack(needed, lambda a: a.person_slots, deadline * self.capacity.people)
        if self.beside is not None:
            size, room = self.beside
            self.cp.add(sum(size(activities) * self.fit[vehicle] for vehicle, activities in needed.items()) <= room)
        for use, most in sorted(self.capacity.resources.items()):
            self._knapsack(needed, partial(_slots_of, use), deadline * most)
            self._knapsack(needed, partial(self._lifts, use), sessions * most)

    def _lifts(self, use: str, activity: Activity) -> int:
        """How many pieces of a resource it holds for so long that no second such use fits into the session."""
        fills = activity.whole and 2 * activity.slots > self.capacity.calendar.slots_a_session
        return activity.pieces.get(use, 0) if fills else 0

    def _knapsack(self, needed: Mapping[str, list[Activity]], size: "Callable[[Activity], int]", room: int) -> None:
        sizes = {v: sum(size(a) for a in activities if a.id not in self.due) for v, activities in needed.items()}
        anyway = sum(size(activity) for activity in self.net.activities if activity.id in self.due)
        self.cp.add(anyway + sum(sizes[vehicle] * here for vehicle, here in self.fit.items()) <= room)

    def _not_open_across(self, one: Opened, deadline: int, fit: "cp_model.IntVar") -> None:
        after = self.cp.new_bool_var("")
        self.cp.add(self._end(one.back) <= deadline).only_enforce_if(fit, ~after)
        if one.out is None:
            self.cp.add(after == 0)
        else:
            self.cp.add(self.start[one.out] >= deadline).only_enforce_if(fit, after)


def _slots_of(use: str, activity: Activity) -> int:
    return activity.slots * activity.pieces.get(use, 0)


def _horizon(asked: Question) -> int:
    """Long enough for some best plan: everything one after the other, after the last release and the deadline."""
    net, capacity = asked.net, asked.capacity
    session = capacity.calendar.slots_a_session
    latest = max([asked.goal.deadline or 0, *(a.release for a in net.activities)])
    longest = sum(a.slots + (session if a.whole else 0) for a in net.activities)
    lost = sum(slots for _, slots, _ in capacity.missing(latest + longest))
    return latest + longest + lost
