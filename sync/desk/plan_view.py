"""A vehicle from above: its stations where one stands, pushed apart, each with what is open there. Pure geometry."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from builder.edition import EditionStation, VehicleView
from builder.fleet import SEVERITIES
from sync.store_desk import StationCount

WIDE, TALL = 720, 330
APART = 50.0
EDGE = 30.0
#: Where the drawing's nose, tail and sides are.
_BODY_X, _BODY_WIDE, _BODY_Y, _BODY_TALL = 70, 580, 62, 206
_TURNS = 120


@dataclass(frozen=True)
class Spot:
    """One station: `number` in walking order, `worst` the gravest open severity or ""."""

    number: int
    id: str
    name: str
    x: float
    y: float
    count: int
    worst: str
    words: str


@dataclass(frozen=True)
class Box:
    x: float
    y: float
    wide: float
    tall: float


@dataclass(frozen=True)
class Plan:
    """The drawing in a box of `wide` x `tall`; `gear` are tracks or wheels, `way` the walk-round as an SVG path."""

    spots: tuple[Spot, ...]
    gear: tuple[Box, ...]
    tracked: bool
    way: str
    wide: int = WIDE
    tall: int = TALL


def plan_of(view: VehicleView, counts: Iterable[StationCount]) -> Plan:
    """A vehicle's plan view with what is open at each station."""
    by_station: dict[str, dict[str, int]] = {}
    for one in counts:
        by_station.setdefault(one.station, {})[one.severity] = one.defects
    stations = list(view.stations.values())
    points = spread([station.at for station in stations])
    spots = tuple(
        _spot(number, station, point, by_station.get(station.id, {}))
        for number, (station, point) in enumerate(zip(stations, points, strict=True), 1)
    )
    tracked = "track_pitch_mm" in view.vehicle.facts
    way = "M" + "L".join(f"{spot.x} {spot.y}" for spot in spots) if len(spots) > 1 else ""
    return Plan(spots, _gear(view, tracked=tracked), tracked, way)


def spread(places: Sequence[tuple[float, float]]) -> list[tuple[float, float]]:
    """Places (nose x = 0, left y = 0) on the drawing, pushed apart until no two marks touch."""
    points = [[_BODY_X - 20 + x * (_BODY_WIDE + 40), _BODY_Y - 12 + y * (_BODY_TALL + 24)] for x, y in places]
    for _ in range(_TURNS):
        moved = False
        for index, point in enumerate(points):
            for other in points[index + 1 :]:
                moved = _push(point, other) or moved
        if not moved:
            break
    return [(round(x, 1), round(y, 1)) for x, y in points]


def _push(one: list[float], two: list[float]) -> bool:
    # Two at the very same place part sideways, along the vehicle.
    along, across = two[0] - one[0] or 0.5, two[1] - one[1]
    apart = math.hypot(along, across)
    if apart >= APART:
        return False
    step = (APART - apart) / 2 / apart
    for point, sign in ((one, -1), (two, 1)):
        point[0] = min(WIDE - EDGE, max(EDGE, point[0] + sign * along * step))
        point[1] = min(TALL - EDGE, max(EDGE, point[1] + sign * across * step))
    return True


def _spot(number: int, station: EditionStation, point: tuple[float, float], open_: Mapping[str, int]) -> Spot:
    count = sum(open_.values())
    worst = next((severity for severity in SEVERITIES if severity in open_), "")
    words = f"{station.name}: {count} open, the gravest {worst}" if count else f"{station.name}: nothing open"
    return Spot(number, station.id, station.name, *point, count, worst, words)


def _gear(view: VehicleView, *, tracked: bool) -> tuple[Box, ...]:
    """Two tracks, or as many wheels a side as the vehicle's file counts axles (common practice, no source)."""
    sides = (_BODY_Y - 26, _BODY_Y + _BODY_TALL - 4)
    if tracked:
        return tuple(Box(_BODY_X + 24, y, _BODY_WIDE - 46, 30) for y in sides)
    axles = view.vehicle.facts.get("axles", 2)
    places = [0.12, 0.66, 0.82] if isinstance(axles, int | float) and axles > 2 else [0.12, 0.74]
    return tuple(Box(round(_BODY_X + share * _BODY_WIDE, 1), y, 76, 30) for share in places for y in sides)
