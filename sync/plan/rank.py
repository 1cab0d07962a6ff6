"""Which defect first: by its own gravity, and by that of what waits for it, with the reason said."""

from dataclasses import dataclass

from sync.plan.access import Access
from sync.plan.problem import GRAVITY, Item


@dataclass(frozen=True)
class Ranked:
    """An item's place (1 is first) and why it stands there."""

    item: str
    rank: int
    reason: str
    risen: bool


def ranked(access: Access) -> tuple[Ranked, ...]:
    """All work in the order of its gravity; what holds up graver work stands just above it."""
    problem = access.problem
    rows = [(_key(item, access), item) for item in problem.work]
    rows.sort(key=lambda row: row[0])
    return tuple(Ranked(item.id, n, *_reason(item, access)) for n, (_, item) in enumerate(rows, start=1))


def _gravest(item: Item, access: Access) -> Item:
    """The gravest of what an item holds up, itself where nothing is graver."""
    return min((item, *access.holds_up.get(item.id, ())), key=lambda one: GRAVITY[one.severity])


def _key(item: Item, access: Access) -> tuple[int, bool, float, bool, str]:
    weight = access.problem.by_vehicle[item.vehicle].display_weight
    gravest = GRAVITY[_gravest(item, access).severity]
    return (gravest, GRAVITY[item.severity] == gravest, -weight, item.status != "in hand", item.id)


def _reason(item: Item, access: Access) -> tuple[str, bool]:
    gravest = _gravest(item, access)
    if gravest is item:
        weight = access.problem.by_vehicle[item.vehicle].display_weight
        return f"{item.severity}; its vehicle is wanted with weight {weight:g}", False
    vehicle = access.problem.by_vehicle[item.vehicle]
    held = [vehicle.by_step[step].name for step in item.holds if step in vehicle.by_step]
    through = f"holds {' and '.join(held)}, and so" if held else "comes before"
    return f"{item.severity} itself, but {through} {gravest.title} ({gravest.severity})", True
