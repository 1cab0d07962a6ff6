"""One vehicle's places put together: codes, reports, tags, what was ruled about it, perhaps-the-same."""

from collections.abc import Iterable

from sync.fold.context import Context
from sync.state import Conflict, Defect, Frozen, Pair, ReportState, TagState, VehicleRulings


class FoldedVehicle(Frozen, frozen=True, kw_only=True):
    """`codes` are the final ones, by opening id (also of the other openers), where they differ from the five letters."""

    vehicle: str
    codes: dict[str, str] = {}
    reports: tuple[ReportState, ...] = ()
    tags: tuple[TagState, ...] = ()
    rulings: VehicleRulings
    pairs: tuple[Pair, ...] = ()
    conflicts: tuple[Conflict, ...] = ()  # about fields of the vehicle, its reports and pairs


def fold_vehicle(vehicle: str, defects: Iterable[Defect], context: Context) -> FoldedVehicle:
    """`defects` are those of all the vehicle's places, open and closed."""
    raise NotImplementedError
