"""A whole log folded at once: the measure for every other way to get there."""

from collections.abc import Iterable, Mapping, Sequence

import msgspec

from builder.edition import Edition
from sync.entries import Finding, Settle
from sync.fold.clones import find_clones
from sync.fold.context import Context
from sync.fold.log import Logged, Place, canonical, of_kind
from sync.fold.place import FoldedPlace, fold_place
from sync.fold.rest import fold_rest, fold_walks
from sync.fold.vehicle import FoldedVehicle, fold_vehicle
from sync.state import Defect, State


def fold(logged: Iterable[Logged], editions: Mapping[str, Edition], adopted: str) -> State:
    """The state that this set of entries has: the same bytes for the same set, in any order, with any repetition."""
    entries = sorted({(one.entry.id, one.hash): one for one in logged}.values(), key=canonical)
    context = Context(editions, adopted)
    context.take(entries, find_clones((e.device, e.seq, e.id, hash_) for e, hash_ in entries))
    places: dict[Place, list[Logged]] = {}
    for one in entries:
        if isinstance(one.entry, Finding):
            places.setdefault(context.place(one.entry), []).append(one)
    for settle in of_kind(Settle, context.settles):
        places.setdefault(context.settle_place(settle), [])
    return put_together([fold_place(place, places[place], context) for place in sorted(places)], context)


def put_together(places: Sequence[FoldedPlace], context: Context) -> State:
    """The state from all folded places, in any order."""
    by_vehicle: dict[str, list[Defect]] = {name: [] for name in _vehicles(context)}
    for place in places:
        by_vehicle.setdefault(place.place.vehicle, []).extend(place.defects)
    vehicles = [fold_vehicle(name, by_vehicle[name], context) for name in sorted(by_vehicle)]
    rest = fold_rest(context)
    defects = [defect for v in vehicles for defect in with_codes(by_vehicle[v.vehicle], v)]
    conflicts = [c for place in places for c in place.conflicts] + [c for v in vehicles for c in v.conflicts]
    return State(
        edition=rest.edition,
        adopted=rest.adopted,
        walks=fold_walks(context),
        defects=tuple(sorted(defects, key=lambda d: (d.vehicle, d.opening))),
        conflicts=tuple(sorted([*conflicts, *rest.conflicts], key=lambda c: c.id)),
        reports=tuple(report for v in vehicles for report in v.reports),
        tags=tuple(tag for v in vehicles for tag in v.tags),
        vehicles=tuple(v.rulings for v in vehicles),
        pairs=tuple(pair for v in vehicles for pair in v.pairs),
        tasks=tuple(task for v in vehicles for task in v.tasks),
        jobs=rest.jobs,
        parts=rest.parts,
        clones=rest.clones,
        clocks=rest.clocks,
    )


def with_codes(defects: Sequence[Defect], vehicle: FoldedVehicle) -> list[Defect]:
    """The vehicle's defects under their final codes."""
    final = vehicle.codes
    if not final:
        return list(defects)
    return [
        msgspec.structs.replace(
            d,
            code=final.get(d.opening, d.code),
            also_codes=tuple(final.get(name, old) for name, old in zip(d.also, d.also_codes, strict=True)),
        )
        for d in defects
    ]


def _vehicles(context: Context) -> list[str]:
    """Every vehicle that the edition in force, a report or a tag names."""
    return sorted({*context.edition.by_vehicle, *context.reports, *context.tags})
