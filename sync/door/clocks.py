"""How far a phone's clock is off, as measured when it asks; it is told and shown, and decides nothing."""

from datetime import datetime

from sync.door.shapes import Have
from sync.store import Store

#: Less than this is the way through the air, and a clock that is set now and then.
CHANGED_S = 10.0


def offset_to_note(store: Store, asked: Have, came: datetime) -> float | None:
    """Seconds that the phone's clock is ahead, where that is worth an entry: first measured, or changed since."""
    if asked.at is None or not asked.items:
        return None
    offset = float(round((asked.at - came).total_seconds()))
    before = {clock.device: clock.offset_s for clock in store.clocks()}.get(asked.device)
    if before is not None and abs(offset - before) < CHANGED_S:
        return None
    return offset
