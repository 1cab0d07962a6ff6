"""The lowest score that any plan of a network can have, as far as bounds without a search tell (bounds.py)."""

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from sync.plan.bounds import Piece, Taken, Term, idle_before, weighted_ends
from sync.plan.critical import Leg, critical_times
from sync.plan.goal import Question, Score
from sync.plan.network import Activity, legs_of

#: Prices tried on an end of dangerous work, in ends of an average vehicle.
PRICES = (0.0, 0.25, 0.5, 0.75, 1.0, 1.5, 2.5, 5.0)


class Lowest:
    """Bounds on each part of the score."""

    def __init__(self, asked: Question) -> None:
        self.net = asked.net
        self.capacity = asked.capacity
        self.people = asked.capacity.people
        self.goal = asked.goal
        self.times = critical_times(legs_of(asked.net))
        self._fixed = True

    def part(self, name: str, now: Score) -> int:
        """The bound on one part by its name, where the parts before it must stay as good as they are."""
        self._fixed = now.started == self.started
        if name == "safe":
            return self.safe(now.started)
        return self.ends(now.safe) if name == "ends" else int(getattr(self, name))

    @cached_property
    def started(self) -> int:
        return sum(self.times[a.id].earliest_start for a in self.net.activities if a.started)

    @cached_property
    def unfit(self) -> int:
        if self.goal.deadline is None:
            return 0
        late = {a.vehicle for a in self.net.activities if a.bars and self.times[a.id].earliest_end > self.goal.deadline}
        return sum(self.goal.wanted(v) for v in self.goal.vehicles if v in self.goal.never | late)

    def safe(self, started: int, taken: Sequence[Taken] = ()) -> int:
        """The bound on the sum of dangerous ends; `started` is what the sum of starts in hand must not exceed, `taken`
        when people are away besides."""
        ends = [self._term(1, mine, mine) for mine in self._dangerous.values()]
        away = [*self._taken, *taken]
        if self._fixed:
            return weighted_ends(ends, self.people, away)
        paid = started + sum(term.pieces[0].slots for term in self._begun)
        return max(
            weighted_ends(
                [*ends, *(replace(one, weight=price) for one in self._begun)], self.people, away, price * paid
            )
            for price in PRICES
        )

    @property
    def _begun(self) -> list[Term]:
        """The work in hand, where it is not known to begin at its earliest."""
        return [] if self._fixed else [self._term(1, [a], [a]) for a in self.net.activities if a.started]

    def ends(self, safe: int) -> int:
        """The bound on the weighted sum of all ends and of how long things stand open.

        `safe` is what the sum of dangerous ends must not exceed.
        """
        if not self._vehicles:
            return 0
        usual = sum(map(self.goal.pull, self._vehicles)) / len(self._vehicles)
        prices = [price * usual for price in PRICES] if self._dangerous else [0.0]
        least = max(weighted_ends(list(self._terms(price)), self.people, self._taken, price * safe) for price in prices)
        return least + self._open

    def due_before(self, deadline: int, now: Score) -> frozenset[str]:
        """The dangerous work, and what it waits for, that every plan with as good a sum of safe ends does in time.

        Without one vehicle, the least sum of the others is known; where the deadline on top of it is too much, that
        vehicle is made safe before it.
        """
        self._fixed = now.started == self.started
        due: set[str] = set()
        for vehicle, mine in self._dangerous.items():
            others = [self._term(1, rest, rest) for other, rest in self._dangerous.items() if other != vehicle]
            if weighted_ends(others, self.people, self._taken) + deadline + 1 > now.safe:
                due |= {activity.id for activity in mine}
        return frozenset(due)

    def room_before(self, deadline: int, now: Score) -> int:
        """How many person-slots of other work every plan with as good a sum of safe ends has room for by a deadline.

        Other work takes least from the dangerous work where that leaves the workshop idle, and then right before the
        deadline; what that costs the sum at least is known, and so how much of it there can be.
        """
        self._fixed = now.started == self.started
        ends = [self._term(1, mine, mine) for mine in self._dangerous.values()]
        idle = idle_before(deadline, [*ends, *self._begun], self.people, self._taken)

        def least(slots: int) -> int:
            return self.safe(now.started, [(deadline - slots, slots, self.people)])

        slots = bisect_right(range(deadline + 1), now.safe, key=least)  # so many are too many, or all there are
        return min(deadline * self.people, int(idle) + slots * self.people)

    def beside_dangerous(self, activities: Iterable[Activity]) -> int:
        """Person-slots of some work that is neither dangerous nor leads to such, nor is in hand."""
        return sum(a.person_slots for a in activities if a.id not in self._urgent and not a.started)

    @cached_property
    def _urgent(self) -> frozenset[str]:
        return frozenset(activity.id for mine in self._dangerous.values() for activity in mine)

    @cached_property
    def _open(self) -> int:
        """How long bundles stand open at least: each its own longest chain, at its vehicle's weight."""
        chains: dict[str, dict[str, Leg]] = {bundle: {} for bundle in self.net.by_bundle}
        for activity in self.net.activities:
            if activity.bundle in chains:
                chains[activity.bundle][activity.id] = Leg(activity.slots, activity.after)
        return sum(self.goal.pull(ones[0].vehicle) * _longest(chains[b]) for b, ones in self.net.by_bundle.items())

    @property
    def _taken(self) -> list[Taken]:
        """When people are away, or at the work in hand that is known to begin at its earliest."""
        begun = [a for a in self.net.activities if a.started] if self._fixed else []
        at_it = [(self.times[a.id].earliest_start, a.slots, a.people) for a in begun if a.slots]
        return [*at_it, *self.capacity.missing(max([0, *(first + slots for first, slots, _ in at_it)]))]

    def _terms(self, price: float) -> Iterator[Term]:
        """Both ends of each vehicle. The last is counted by what comes after the dangerous work, where that is worth
        less for its load than the dangerous work is; else by all of it."""
        for vehicle, mine in self._vehicles.items():
            last = self._term(self.goal.pull(vehicle), mine, mine)
            if vehicle in self._dangerous and price:
                dangerous = self._dangerous[vehicle]
                first = self._term(price, dangerous, dangerous)
                yield first
                inside = {activity.id for activity in dangerous}
                rest = self._term(last.weight, [a for a in mine if a.id not in inside], mine)
                if rest.load and first.load and rest.weight / rest.load < first.weight / first.load:
                    last = rest
            yield last

    @cached_property
    def _vehicles(self) -> dict[str, list[Activity]]:
        return self._by_vehicle(self.net.activities)

    @cached_property
    def _dangerous(self) -> dict[str, list[Activity]]:
        """By vehicle, its dangerous work and what that waits for."""
        wanted = self._by_vehicle(a for a in self.net.activities if a.dangerous)
        return {v: [a for a in self.net.ahead_of(a.id for a in mine) if a.vehicle == v] for v, mine in wanted.items()}

    def _by_vehicle(self, activities: Iterable[Activity]) -> dict[str, list[Activity]]:
        found: dict[str, list[Activity]] = {}
        for activity in activities:
            found.setdefault(activity.vehicle, []).append(activity)
        return dict(sorted(found.items()))

    def _term(self, weight: float, pieces: list[Activity], until: list[Activity]) -> Term:
        """The end of `until`, counted by some of the pieces it is made of."""
        tails = self._tails(until)
        made = tuple(
            Piece(a.id, self.times[a.id].earliest_start, a.slots, a.person_slots, tails[a.id] - a.slots)
            for a in pieces
            if not (self._fixed and a.started)
        )
        return Term(weight, made, max(self.times[a.id].earliest_end for a in until))

    def _tails(self, members: list[Activity]) -> dict[str, int]:
        """How long it takes at least from the start of each member to the end of the last, along the longest chain."""
        tails = {activity.id: activity.slots for activity in members}
        for activity in reversed(members):
            for first in activity.after:
                if first in tails:
                    tails[first] = max(tails[first], self.net.by_id[first].slots + tails[activity.id])
        return tails


def _longest(legs: Mapping[str, Leg]) -> int:
    """From the first opening to the last closing, by what a bundle's own activities wait for among themselves."""
    inside = {name: Leg(leg.slots, tuple(one for one in leg.after if one in legs)) for name, leg in legs.items()}
    return max(times.earliest_end for times in critical_times(inside).values())
