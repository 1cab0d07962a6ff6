"""Perhaps the same: open defects of one vehicle offered as one, and what people said of that. Nothing joins itself."""

from collections.abc import Iterator, Sequence
from itertools import combinations

import networkx
from rapidfuzz import fuzz

from builder.edition import VehicleView
from sync.codes import conflict_code
from sync.entries import Same
from sync.fold import fields
from sync.fold.context import Context
from sync.fold.ruled import said_sighting
from sync.fold.words import plain
from sync.state import Conflict, Defect, Pair

#: Two texts of at least this many letters, and alike by this much of 100, may speak of one thing.
TEXT_LEAST = 12
ALIKE = 85


def pairs(vehicle: str, defects: Sequence[Defect], context: Context, conflicts: list[Conflict]) -> tuple[Pair, ...]:
    """Pairs that are offered, and those a person joined or parted; each (smaller, larger) opening id."""
    view = context.edition.by_vehicle.get(vehicle)
    found = []
    for one, other in combinations(sorted(defects, key=lambda d: d.opening), 2):
        said = _said(one, other, context)
        if not said and not (why := perhaps(one, other, view)):
            continue
        merged = fields.merge(said, context.cloned)
        joined = False if merged.sides else merged.value
        why = perhaps(one, other, view) or "a person said so"
        found.append(Pair(first=one.opening, second=other.opening, why=why, joined=joined))
        if merged.sides:
            conflicts.append(_dispute(vehicle, one, other, merged))
    return tuple(found)


def groups(found: Sequence[Pair]) -> list[tuple[str, ...]]:
    """Opening ids that joined pairs connect, each group sorted."""
    graph = networkx.Graph((pair.first, pair.second) for pair in found if pair.joined)
    return sorted(tuple(sorted(group)) for group in networkx.connected_components(graph))


def perhaps(one: Defect, other: Defect, view: VehicleView | None) -> str:
    """Why two open defects may be one; empty where nothing says so."""
    return next((why for why in _reasons(one, other, view) if why), "")


def _reasons(one: Defect, other: Defect, view: VehicleView | None) -> Iterator[str]:
    same_check = one.check == other.check and bool(one.check)
    if same_check and one.spot == other.spot:
        yield "at the same check"
    if same_check and one.fault == other.fault and view is not None and one.check in view.checks:
        spots = view.checks[one.check].spots
        if one.spot in spots and other.spot in spots and abs(spots.index(one.spot) - spots.index(other.spot)) == 1:
            yield f"the same fault at neighbouring spots, {one.spot} and {other.spot}"
    if one.station and one.station == other.station and one.placing != other.placing:
        yield "something else at the same station"
    if view is not None and _mirrored(one, other, view):
        yield "the same fault on the other side"
    texts = [plain(d.note) for d in (one, other)]
    if min(map(len, texts)) >= TEXT_LEAST and fuzz.token_set_ratio(*texts) >= ALIKE:
        yield "alike in words"


def _mirrored(one: Defect, other: Defect, view: VehicleView) -> bool:
    station, opposite = view.stations.get(one.station), view.stations.get(other.station)
    if station is None or opposite is None or other.station not in (station.mirror, opposite.mirror and other.station):
        return False
    mirror = station.mirror == other.station or opposite.mirror == one.station
    same_ask = one.check.partition("/")[2] == other.check.partition("/")[2]
    return mirror and bool(one.check) and same_ask and one.fault == other.fault and one.spot == other.spot


def _said(one: Defect, other: Defect, context: Context) -> list[fields.Said]:
    """What people said of the pair, under any of the ids of either."""
    first, second = ({s.entry for s in d.sightings} | {d.opening, *d.also} for d in (one, other))
    found = [logged for name in sorted(first) for logged in context.same.get(name, ()) if not context.is_void(logged)]
    said = [
        context.desk(logged, logged.entry.joined)
        for logged in found
        if isinstance(logged.entry, Same) and set(logged.entry.of) & first and set(logged.entry.of) & second
    ]
    return fields.set_of(said)


def _dispute(vehicle: str, one: Defect, other: Defect, merged: fields.Merged) -> Conflict:
    sides = tuple(said_sighting(side, "joined") for side in merged.sides)
    texts = ", ".join(f"{side.by} {'parted' if side.said == 'False' else 'joined'} them" for side in sides)
    return Conflict(
        id=conflict_code(vehicle, one.opening, other.opening, "same"),
        kind="field",
        vehicle=vehicle,
        field="same",
        why=f"{texts}; neither knew of the other; parted meanwhile",
        sides=sides,
        defect=one.opening,
    )
