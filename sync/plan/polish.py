"""Makes a plan better by small moves: work, a job, or all of a vehicle's, earlier or later in the order of placing.

Simulated annealing (Kirkpatrick and others 1983; from memory): a move that makes the part in question worse is taken
now and then, and ever more rarely, so that the search does not stop at the first hollow; a move that makes an earlier
part worse is never taken. At the sizes of a workshop this gets farther in the same time than the solver, which starts
from it. The moves are drawn from a fixed seed and their number is fixed, so the same input gives the same plan.
"""

import random
from collections.abc import Callable, Mapping, Sequence
from math import exp

from sync.plan.goal import Question, Score, nearly_unfit
from sync.plan.greedy import by_start, held_back, serial
from sync.plan.network import Activity

#: Activities placed for one second of effort; about as many as one processor places in it.
PLACED_A_SECOND = 130_000
#: How much worse a move may be to be taken at first with even chances, as a share of the part's value.
WARMTH = {"started": 0.01, "safe": 0.003, "unfit": 0.02, "ends": 0.001}
#: How far most moves go: the best are near.
NEAR = 10

Starts = Mapping[str, int]


def polish(asked: Question, starts: Starts, part: str, effort: float) -> dict[str, int]:
    """The best starts found for a network's activities, by the score as far as `part`. `effort` in seconds."""
    order = by_start(asked.net, starts)
    trials = int(effort * PLACED_A_SECOND / len(order)) if order else 0
    return _Annealing(asked, starts, part).run(order, trials)


class _Annealing:
    def __init__(self, asked: Question, starts: Starts, part: str) -> None:
        self.asked = asked
        self.part = part
        self.rng = random.Random(1)  # noqa: S311  # moves, not secrets
        self.held = held_back(starts, asked.goal.deadline) if part in ("unfit", "ends") else {}
        self.best = {activity.id: starts[activity.id] for activity in asked.net.activities}
        self.worth = self._worth(self.best)

    def run(self, order: list[Activity], trials: int) -> dict[str, int]:
        self.best, self.worth = min((self.best, self.worth), self._tried(order), key=lambda found: found[1])
        energy = self._energy(self.best)
        warmth = max(energy * WARMTH[self.part], 1e-9)
        for number in range(trials):
            trial = self._moved(order)
            starts, worth = self._tried(trial)
            if worth[:-1] > self.worth[:-1]:
                continue
            found = self._energy(starts)
            if found <= energy or self.rng.random() < exp((energy - found) / (warmth * (1 - number / trials))):
                order, energy = trial, found
            if worth < self.worth:
                self.best, self.worth = starts, worth
        return self.best

    def _tried(self, order: Sequence[Activity]) -> tuple[dict[str, int], tuple[int, ...]]:
        starts = serial(self.asked.net, order, self.asked.capacity, self.held)
        return starts, self._worth(starts)

    def _worth(self, starts: Starts) -> tuple[int, ...]:
        return self.asked.score(starts)[: Score._fields.index(self.part) + 1]

    def _energy(self, starts: Starts) -> float:
        """What is made smaller: the part itself; where it goes by whole vehicles, also how near the others are."""
        if self.part == "unfit":
            return nearly_unfit(self.asked.net, starts, self.asked.goal)
        return self._worth(starts)[-1]

    def _moved(self, order: Sequence[Activity]) -> list[Activity]:
        place = self.rng.randrange(len(order))
        chance, taken = self.rng.random(), self._taken(order[place])
        rest = [other for other in order if not taken(other)]
        if chance < 0.7:
            to = max(0, min(len(rest), place + self.rng.randint(-NEAR, NEAR)))
        else:
            to = self.rng.randrange(len(rest) + 1)
        return settled([*rest[:to], *filter(taken, order), *rest[to:]])

    def _taken(self, activity: Activity) -> Callable[[Activity], bool]:
        """What is moved together: all of a vehicle, all of a job, or one piece of work."""
        chance = self.rng.random()
        if chance < 0.45:
            return lambda other: other.vehicle == activity.vehicle
        if chance < 0.6 and activity.bundle:
            return lambda other: other.bundle == activity.bundle
        return lambda other: other.id == activity.id


def settled(order: Sequence[Activity]) -> list[Activity]:
    """The same order, but each activity behind those it waits for."""
    by_id = {activity.id: activity for activity in order}
    done: set[str] = set()
    found: list[Activity] = []
    for wanted in order:
        todo = [wanted]
        while todo:
            activity = todo[-1]
            first = [by_id[one] for one in activity.after if one not in done and one in by_id]
            if first and activity.id not in done:
                todo += first
                continue
            todo.pop()
            if activity.id not in done:
                done.add(activity.id)
                found.append(activity)
    return found
