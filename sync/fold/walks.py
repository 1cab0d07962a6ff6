"""What a walk gives its findings: what the walker knew when it started, and the occasion."""

from collections.abc import Sequence
from typing import NamedTuple

from sync.entries import Walk
from sync.fold.awareness import by_id
from sync.fold.statement import occasion_order


class WalkView(NamedTuple):
    """`knows` is {device: highest seq}; `names` are the entries that it names by id; `on` sorts by occasion."""

    knows: dict[str, int]
    day: str
    round: str
    on: tuple[str, int]
    names: tuple[str, ...] = ()


#: Of a walk that has not arrived.
NO_WALK = WalkView({}, "", "", occasion_order("", ""))


def view_of(said: Sequence[Walk]) -> WalkView:
    """From its start; where that has not come, from its end. Where a clone started it twice, what both knew."""
    said = [entry for entry in said if entry.state == "started"] or said
    if not said:
        return NO_WALK
    first = min(said, key=lambda entry: (entry.seq, entry.id, entry.day, entry.round))
    knows = first.knows
    for other in said:
        if other.knows != knows:
            knows = {name: min(seq, other.knows[name]) for name, seq in knows.items() if name in other.knows}
    day = first.day.isoformat()
    return WalkView(knows, day, first.round, occasion_order(day, first.round), by_id(knows))
