"""Makes a plan better by small moves: an activity, or all of a vehicle's, earlier or later in the order of placing.

At sizes where the solver's search is spread thin this gets farther in the same time, and the solver starts from it. The
moves are drawn from a fixed seed and their number is fixed, so the same input gives the same plan.
"""

import random
from collections.abc import Mapping, Sequence

from sync.plan.goal import Question, Score
from sync.plan.greedy import by_start, held_back, serial
from sync.plan.network import Activity

#: Activities placed for one deterministic second of effort; about as long as the solver takes over one.
PLACED_A_SECOND = 100_000


def polish(asked: Question, starts: Mapping[str, int], part: str, effort: float) -> dict[str, int]:
    """The best starts found for a network's activities, by the score as far as `part`."""
    rng = random.Random(1)  # noqa: S311  # moves, not secrets
    upto = Score._fields.index(part) + 1
    order = by_start(asked.net, starts)
    held = held_back(starts, asked.goal.deadline)
    best = {activity.id: starts[activity.id] for activity in order}
    worth = asked.score(best)[:upto]
    for _ in range(int(effort * PLACED_A_SECOND / len(order)) if order else 0):
        trial = _moved(order, rng)
        found = serial(asked.net, trial, asked.capacity, held)
        if (value := asked.score(found)[:upto]) <= worth:
            order, best, worth = trial, found, value
    return best


def _moved(order: Sequence[Activity], rng: random.Random) -> list[Activity]:
    activity = order[rng.randrange(len(order))]
    taken = {activity.id}
    if rng.random() < 0.5:
        taken = {other.id for other in order if other.vehicle == activity.vehicle}
    rest = [other for other in order if other.id not in taken]
    place = rng.randrange(len(rest) + 1)
    return settled([*rest[:place], *(a for a in order if a.id in taken), *rest[place:]])


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
