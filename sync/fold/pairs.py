"""Perhaps the same: open defects of one vehicle offered as one, and what people said of that. Nothing joins itself."""

from collections.abc import Sequence
from itertools import combinations, pairwise

import networkx

from builder.edition import VehicleView
from sync.codes import conflict_code
from sync.entries import Same
from sync.fold import fields
from sync.fold.context import Context
from sync.fold.ruled import said_sighting
from sync.fold.texts import Texts
from sync.fold.words import plain
from sync.state import Conflict, Defect, Pair

#: Texts of fewer letters do not say enough to be compared.
TEXT_LEAST = 12


def pairs(vehicle: str, defects: Sequence[Defect], context: Context, conflicts: list[Conflict]) -> tuple[Pair, ...]:
    """Pairs that are offered, and those a person joined or parted; each (smaller, larger) opening id."""
    view = context.edition.by_vehicle.get(vehicle)
    mine = sorted(defects, key=lambda d: d.opening)
    in_words = _alike(vehicle, mine, context)
    found = []
    for i, j in sorted(_near(mine) | in_words | _spoken_of(mine, context)):
        one, other = mine[i], mine[j]
        why = perhaps(one, other, view) or ("alike in words" if (i, j) in in_words else "")
        merged = fields.merge(_said(one, other, context), context.cloned) if context.same else fields.Merged(None)
        if why or merged.stands or merged.sides:
            joined = False if merged.sides else merged.value
            found.append(Pair(first=one.opening, second=other.opening, why=why or "a person said so", joined=joined))
        if merged.sides:
            conflicts.append(_dispute(vehicle, one, other, merged))
    return tuple(found)


def _near(defects: Sequence[Defect]) -> set[tuple[int, int]]:
    """Those that share what two must share to be one by where they are."""
    shared: dict[tuple[str, ...], list[int]] = {}
    for i, d in enumerate(defects):
        name = d.check.partition("/")[2]
        for key in (("check", d.check), ("fault", d.fault, name, d.spot)) if d.check else ():
            shared.setdefault(key, []).append(i)
        if d.placing != "check":
            shared.setdefault(("placing", d.station), []).append(i)
    found = {pair for some in shared.values() for pair in combinations(some, 2)}
    for i, d in enumerate(defects):
        elsewhere = shared.get(("placing", d.station), ()) if d.placing == "check" else ()
        found |= {(min(i, j), max(i, j)) for j in elsewhere}
    return found


def _alike(vehicle: str, defects: Sequence[Defect], context: Context) -> set[tuple[int, int]]:
    """Those whose notes may speak of one thing."""
    by_text: dict[str, list[int]] = {}
    for i, d in enumerate(defects):
        if len(d.note) >= TEXT_LEAST and (text := plain(d.note)):
            by_text.setdefault(text, []).append(i)
    found = {pair for same in by_text.values() for pair in combinations(same, 2)}
    for one, other in context.texts.setdefault(vehicle, Texts()).alike(by_text.keys()):
        found |= {(min(i, j), max(i, j)) for i in by_text[one] for j in by_text[other]}
    return found


def _spoken_of(defects: Sequence[Defect], context: Context) -> set[tuple[int, int]]:
    """Those of which somebody said that they are the same, or are not."""
    by_id: dict[str, set[int]] = {}
    for i, d in enumerate(defects) if context.same else ():
        for name in ({s.entry for s in d.sightings} | {d.opening, *d.also}) & context.same.keys():
            by_id.setdefault(name, set()).add(i)
    some = sorted(set().union(*by_id.values()))
    return set(combinations(some, 2))


def groups(found: Sequence[Pair]) -> list[tuple[str, ...]]:
    """Opening ids that joined pairs connect, each group sorted."""
    graph = networkx.Graph((pair.first, pair.second) for pair in found if pair.joined)
    return sorted(tuple(sorted(group)) for group in networkx.connected_components(graph))


def perhaps(one: Defect, other: Defect, view: VehicleView | None) -> str:
    """Why two open defects may be one by where they are; empty where nothing says so."""
    if one.check and one.check == other.check:
        return _at_one_check(one, other, view)
    if one.station and one.station == other.station and one.placing != other.placing:
        return "something else at the same station"
    if one.fault == other.fault and view is not None and _mirrored(one, other, view):
        return "the same fault on the other side"
    return ""


def _at_one_check(one: Defect, other: Defect, view: VehicleView | None) -> str:
    if one.spot == other.spot:
        return "at the same check"
    spots = view.checks[one.check].spots if view is not None and one.check in view.checks else ()
    near = {one.spot, other.spot} in [set(pair) for pair in pairwise(spots)]
    if near and one.fault == other.fault:
        return f"the same fault at neighbouring spots, {one.spot} and {other.spot}"
    return ""


def _mirrored(one: Defect, other: Defect, view: VehicleView) -> bool:
    """The same check of stations that mirror each other, at the same spot."""
    station, opposite = view.stations.get(one.station), view.stations.get(other.station)
    if station is None or opposite is None or not one.check or one.spot != other.spot:
        return False
    mirror = station.mirror == other.station or opposite.mirror == one.station
    return mirror and one.check.partition("/")[2] == other.check.partition("/")[2]


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
