"""What no planned work removes: why a vehicle cannot be fit however the work is ordered."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from sync.plan.access import Access
from sync.plan.bundles import Bundle


@dataclass(frozen=True)
class Barrier:
    """`kind` is an obstacle of access.py, "tag" or "open step"; `item` is at the root of it, if any."""

    vehicle: str
    kind: str
    words: str
    item: str = ""


def barriers(access: Access, made: Sequence[Bundle]) -> dict[str, tuple[Barrier, ...]]:
    """By vehicle, what bars it for good as things stand; the gravest item first."""
    found = {vehicle.id: tuple(_of(vehicle.id, access, made)) for vehicle in access.problem.vehicles}
    return {vehicle: mine for vehicle, mine in found.items() if mine}


def _of(vehicle_id: str, access: Access, made: Sequence[Bundle]) -> Iterator[Barrier]:
    vehicle = access.problem.by_vehicle[vehicle_id]
    for why in vehicle.barred_by:
        yield Barrier(vehicle_id, "tag", why)
    for item in access.problem.items_of[vehicle_id]:
        blocked = access.blocked.get(item.id)
        if blocked is not None and item.bars:
            yield Barrier(vehicle_id, blocked.kind, f"{item.title}: {blocked.why}", blocked.root)
    closing = {step for bundle in made if bundle.vehicle == vehicle_id for step in bundle.steps}
    for step in vehicle.open_steps:
        if step in vehicle.by_step and step not in closing:
            name = vehicle.by_step[step].name
            yield Barrier(vehicle_id, "open step", f"{name}: stands open for work that cannot be planned")
