"""Standing of a vehicle on one day: worst of what is open, what is barred, how it may be moved."""

from collections.abc import Iterable
from datetime import date

from builder.edition import Edition
from sync.state import Defect, Standing, TagState, VehicleRulings, WalkState


def standing(
    vehicle: str,
    edition: Edition,
    as_of: date,
    *,
    defects: Iterable[Defect],
    walks: Iterable[WalkState] = (),
    tags: Iterable[TagState] = (),
    rulings: VehicleRulings | None = None,
) -> Standing:
    """One vehicle's standing from its own defects (closed ones are passed over), walks, tags and rulings."""
    raise NotImplementedError
