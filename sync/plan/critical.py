"""The critical path method: earliest and latest starts and ends, and slack, where people are never short.

Time is counted from 0 in whole slots. Source: the usual forward and backward pass (Kelley and Walker 1959; from
memory).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from graphlib import CycleError, TopologicalSorter

from sync.errors import PlanError


@dataclass(frozen=True)
class Leg:
    """One activity of a network: how long it takes, after what, and not before when."""

    slots: int
    after: tuple[str, ...] = ()
    release: int = 0


@dataclass(frozen=True)
class Times:
    """ES, EF, LS, LF of the critical path method; `slack` is how long it can slip without moving the end."""

    earliest_start: int
    earliest_end: int
    latest_start: int
    latest_end: int

    @property
    def slack(self) -> int:
        return self.latest_start - self.earliest_start


def critical_times(legs: Mapping[str, Leg]) -> dict[str, Times]:
    """Times of every activity against the end of the whole. Raises PlanError on a circle, naming it."""
    order = _order(legs)
    starts: dict[str, int] = {}
    for name in order:
        leg = legs[name]
        starts[name] = max([leg.release, *(starts[one] + legs[one].slots for one in leg.after)])
    end = max((starts[name] + legs[name].slots for name in order), default=0)
    latest = dict.fromkeys(order, end)
    for name in reversed(order):
        for one in legs[name].after:
            latest[one] = min(latest[one], latest[name] - legs[name].slots)
    return {
        name: Times(starts[name], starts[name] + legs[name].slots, latest[name] - legs[name].slots, latest[name])
        for name in order
    }


def critical_path(legs: Mapping[str, Leg]) -> list[str]:
    """The chain that sets the end: from an activity that waits for none, or for its release, to the last."""
    if not legs:
        return []
    times = critical_times(legs)
    name = min(legs, key=lambda one: (-times[one].earliest_end, one))
    path = [name]
    while (before := _pusher(name, legs, times)) is not None:
        name = before
        path.append(name)
    return path[::-1]


def _pusher(name: str, legs: Mapping[str, Leg], times: Mapping[str, Times]) -> str | None:
    """What an activity starts right after, none where it starts at its own release."""
    start = times[name].earliest_start
    pushing = [one for one in legs[name].after if times[one].earliest_end == start]
    return min(pushing, default=None) if start > legs[name].release or start == 0 else None


def _order(legs: Mapping[str, Leg]) -> Sequence[str]:
    try:
        return list(TopologicalSorter({name: leg.after for name, leg in legs.items()}).static_order())
    except CycleError as error:
        raise PlanError(f"a circle: {' <- '.join(error.args[1])}") from error
