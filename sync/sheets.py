"""Under which device a paper sheet is written: its walker's own, so that two people's sheets differ as two phones do.

A device always knows its own earlier entries (design, section 6.4), so a sheet may not be written under the desk's: the
sheet typed last would know all that was typed before. A person's sheets share a device, as what a person captures with
one phone does, where each is of a later round than those before it of that vehicle; else one more begins. There are
few of them, because each desk entry names all devices in what it knows. Pure.
"""

from collections.abc import Iterable
from itertools import count

from sync.fold.statement import occasion_order
from sync.state import WalkState


def sheets_of(desk: str) -> str:
    """What the devices of a desk's sheets begin with."""
    return f"{desk}-paper-"


def sheet_device(desk: str, new: WalkState, before: Iterable[WalkState]) -> str:
    """The device for a new sheet; `before` are the walks of this desk's sheets."""
    taken = [walk for walk in before if not _goes_before(walk, new)]
    closed = {walk.device for walk in taken}
    return next(name for n in count(1) if (name := f"{sheets_of(desk)}{n}") not in closed)


def _goes_before(walk: WalkState, new: WalkState) -> bool:
    """Whether its walker knew it on the new round: their own, and of another vehicle or an earlier occasion."""
    if walk.by != new.by:
        return False
    if walk.vehicle != new.vehicle:
        return True
    if walk.day == new.day and "full" in (walk.round, new.round):
        return False  # the same occasion as any round of its day
    return occasion_order(walk.day, walk.round) < occasion_order(new.day, new.round)
