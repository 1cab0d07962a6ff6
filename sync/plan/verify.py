"""Whether a plan keeps every rule: an independent look, slot by slot, that shares nothing with the solver."""

from collections import Counter
from collections.abc import Iterator, Mapping
from itertools import pairwise

from sync.plan.network import Network
from sync.plan.problem import Workshop
from sync.plan.sessions import Calendar


def violations(
    net: Network,
    starts: Mapping[str, int],
    calendar: Calendar,
    workshop: Workshop,
    left_open: frozenset[str] = frozenset(),
) -> list[str]:
    """Every broken rule in words; none where the plan can be carried out.

    `left_open`: the ids of bundles whose steps may stand open while something waits.
    """
    return [
        *_missing(net, starts),
        *_order(net, starts),
        *_room(net, starts, calendar, workshop),
        *_whole(net, starts, calendar),
        *_reopened(net, starts),
        *_across_waits(net, starts, left_open),
    ]


def _missing(net: Network, starts: Mapping[str, int]) -> Iterator[str]:
    if set(starts) != set(net.by_id):
        yield f"not the activities asked for: {sorted(set(starts) ^ set(net.by_id))}"


def _order(net: Network, starts: Mapping[str, int]) -> Iterator[str]:
    for activity in net.activities:
        if starts[activity.id] < activity.release:
            yield f"{activity.id} begins before what it waits for is there"
        for first in activity.after:
            if starts[first] + net.by_id[first].slots > starts[activity.id]:
                yield f"{activity.id} begins before {first} ends"


def _room(net: Network, starts: Mapping[str, int], calendar: Calendar, workshop: Workshop) -> Iterator[str]:
    people: Counter[int] = Counter()
    used: Counter[tuple[str, int]] = Counter()
    busy: Counter[tuple[str, int]] = Counter()
    for activity in net.activities:
        for slot in range(starts[activity.id], starts[activity.id] + activity.slots):
            people[slot] += activity.people
            for use in activity.uses:
                used[use, slot] += 1
            busy.update((name, slot) for name in activity.who)
    for slot, count in sorted(people.items()):
        if count > calendar.session_at(slot).people:
            yield f"{count} people at work in slot {slot}, where {calendar.session_at(slot).people} are there"
    for (use, slot), count in sorted(used.items()):
        if count > workshop.resources.get(use, 0):
            yield f"{use} used {count} times in slot {slot}"
    for (name, slot), count in sorted(busy.items()):
        if count > 1:
            yield f"{name} at {count} pieces of work in slot {slot}"


def _whole(net: Network, starts: Mapping[str, int], calendar: Calendar) -> Iterator[str]:
    for activity in net.activities:
        first, last = starts[activity.id], starts[activity.id] + activity.slots - 1
        if activity.whole and activity.slots and calendar.session_at(first) != calendar.session_at(last):
            yield f"{activity.id} is left half done between two sessions"


def _reopened(net: Network, starts: Mapping[str, int]) -> Iterator[str]:
    for ones in net.shared:
        spans = sorted(
            (starts[o.out] if o.out else 0, starts[o.back] + net.by_id[o.back].slots, o.bundle) for o in ones
        )
        for (_, end, one), (begin, _, other) in pairwise(spans):
            if begin < end:
                yield f"{one} and {other} have {ones[0].step} open at once"


def _across_waits(net: Network, starts: Mapping[str, int], left_open: frozenset[str]) -> Iterator[str]:
    """No step may come out before everything is there that work in its opening waits for."""
    for work in net.activities:
        if work.doing != "work" or work.bundle in left_open:
            continue
        for name in _outs_before(net, work.id, work.bundle):
            if starts[name] < work.release:
                yield f"{name} stands open while {work.id} waits"


def _outs_before(net: Network, name: str, bundle: str) -> Iterator[str]:
    for first in net.by_id[name].after:
        activity = net.by_id[first]
        if activity.doing == "out" and activity.bundle == bundle:
            yield first
            yield from _outs_before(net, first, bundle)
