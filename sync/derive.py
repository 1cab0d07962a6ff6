"""What the fold made of one vehicle, as the rows people read: backlog columns, standings over time, words. Pure."""

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from datetime import date, timedelta
from functools import partial
from typing import NamedTuple, TypeVar

from builder.edition import Edition, VehicleView
from sync.fold.vehicle import FoldedVehicle
from sync.rank import holding, rank_key, rank_why
from sync.state import Defect, Standing, VehicleRulings
from sync.store_rows import DefectRow, Line, RankRow

FIRST_DAY, LAST_DAY = "0001-01-01", "9999-12-31"
_RANK_ZERO = 1_000_000
Value = TypeVar("Value")
_ONE_DAY = timedelta(days=1)


class Whole(NamedTuple):
    """What a defect's row needs of the rest of its vehicle."""

    vehicle: str
    name: str
    weight: float
    view: VehicleView | None
    codes: Mapping[str, str]  # final ones, where longer
    why: Mapping[str, str]  # conflict id -> why
    paired: frozenset[str]
    held: Mapping[str, tuple[Defect, ...]]  # access step -> open defects that stop it


def whole(folded: FoldedVehicle, edition: Edition, defects: Iterable[Defect], why: Mapping[str, str]) -> Whole:
    """A vehicle's defects, open and closed, seen together."""
    vehicle = folded.vehicle
    view = edition.by_vehicle.get(vehicle)
    held: dict[str, tuple[Defect, ...]] = {}
    for defect in sorted(defects, key=lambda d: d.opening):
        for step in defect.holds if defect.closed is None else ():
            held[step] = (*held.get(step, ()), defect)
    undecided = [pair for pair in folded.pairs if pair.joined is None]
    return Whole(
        vehicle,
        view.name if view else vehicle,
        view.vehicle.display_weight if view else 0,
        view,
        folded.codes,
        why,
        frozenset(key for pair in undecided for key in (pair.first, pair.second)),
        held,
    )


def line(defect: Defect, rest: Whole) -> Line:
    """What the rest of the vehicle makes of a defect's row. Nothing holds up what is closed."""
    is_open = defect.closed is None
    steps = steps_under(rest.view, defect.needs) if is_open and rest.held else ()
    holders = [h for step in steps for h in rest.held.get(step, ()) if h.opening != defect.opening]
    return Line(
        code=rest.codes.get(defect.opening, defect.code),
        also_codes=_joined(
            rest.codes.get(other, text) for other, text in zip(defect.also, defect.also_codes, strict=True)
        ),
        holding=int(is_open and bool(defect.holds)),
        paired=int(not rest.paired.isdisjoint((defect.opening, *defect.also))),
        conflict=_joined(dict.fromkeys(rest.why[c] for c in defect.conflicts if c in rest.why)),
        needs=_joined(_step_name(rest.view, step) for step in defect.needs),
        held_by=_joined(dict.fromkeys(rest.codes.get(h.opening, h.code) for h in holders)),
    )


def defect_row(defect: Defect, place: int, rest: Whole) -> DefectRow:
    """One defect as the backlog shows it."""
    is_open = defect.closed is None
    wait = defect.wait
    return DefectRow(
        **line(defect, rest)._asdict(),
        opening=defect.opening,
        place=place,
        vehicle=defect.vehicle,
        station_id=defect.station,
        check_id=defect.check,
        spot=defect.spot,
        fault_id=defect.fault,
        severity=defect.severity,
        status=defect.status if is_open else "closed",
        open=int(is_open),
        station=defect.station_name or defect.station,
        check_name=defect.check_name or defect.check,
        fault=defect.fault_name or defect.fault,
        first_seen=defect.first_day or _written(defect),
        last_seen=defect.last_day or _written(defect),
        sightings=sum(1 for s in defect.sightings if s.present),
        seen_by=_joined(defect.seen_by),
        note=defect.note,
        reading=f"{defect.reading.value:g} {defect.reading.unit}" if defect.reading else "",
        waiting_for=wait.for_ if wait else "",
        due=wait.due.isoformat() if wait and wait.due else "",
        temporary_until=defect.temporary.until.isoformat() if defect.temporary else "",
        owner=defect.owner,
        hours=_hours(defect.hours),
    )


def words_of(defect: Defect, row: DefectRow, vehicle_name: str) -> str:
    """What a search finds a defect by; nothing in it depends on the rest of the vehicle."""
    said = [note for s in (*defect.sightings, *defect.work) for note in (s.note, s.said) if note]
    cause = defect.diagnosis.cause if defect.diagnosis else None
    parts = (vehicle_name, row.station, row.check_name, row.spot, row.fault, *dict.fromkeys(said), cause or "",
             row.waiting_for, row.owner)  # fmt: skip
    return "\n".join(part for part in parts if part)


def vehicle_row(vehicle: str, edition: Edition, rulings: VehicleRulings) -> tuple[str, str, str, str, str, float]:
    """(id, name, kind, location, state, display weight); what is not in the edition has its id alone."""
    view = edition.by_vehicle.get(vehicle)
    if view is None:
        return (vehicle, vehicle, "", "", rulings.state, 0.0)
    known = view.vehicle
    return (vehicle, known.name, known.kind, known.location, rulings.state or known.state, known.display_weight)


def steps_under(view: VehicleView | None, needs: Iterable[str]) -> tuple[str, ...]:
    """The access steps that some need, and all those that these need in turn."""
    found: dict[str, None] = {}
    waiting = list(needs)
    while waiting:
        step = waiting.pop(0)
        if step in found:
            continue
        found[step] = None
        known = view.access.get(step) if view else None
        waiting += known.needs if known else ()
    return tuple(found)


def standings(
    folded: FoldedVehicle, defects: Sequence[Defect], edition: Edition, on: Callable[[date], Standing]
) -> list[tuple[str, str, Standing]]:
    """A vehicle's standing over all days, as spans (from, until, standing): it changes only where something lapses."""
    turns = {day.date for day in edition.display_days}
    permits = [(defect.permit, defect.permit_from) for defect in defects if defect.closed is None]
    for permit, start in (*permits, (folded.rulings.permit, folded.rulings.permit_from)):
        if permit is not None:
            turns |= {_after(permit.until), *([date.fromisoformat(start)] if start else [])}
    return _spans(turns | _lapses(defects), on)


def ranks(defects: Sequence[Defect], edition: Edition, openings: Collection[str] | None = None) -> list[RankRow]:
    """Where each open defect of a vehicle (or some of them) stands in the list, over all days."""
    held = holding(defects, edition)
    display_days = {_after(day.date) for day in edition.display_days}
    rows: list[RankRow] = []
    for defect in defects:
        if defect.closed is None and (openings is None or defect.opening in openings):
            ranked = partial(_ranked, defect, edition, held.get(defect.opening, 0))
            spans = _spans(display_days | _lapses([defect]), ranked)
            rows += [RankRow(defect.opening, start, end, defect.vehicle, *said) for start, end, said in spans]
    return rows


def _ranked(defect: Defect, edition: Edition, held: int, day: date) -> tuple[str, str]:
    """The rank's key as text that sorts as the key does, and the key in words."""
    key = rank_key(defect, edition, day, held)
    text = "|".join(part if isinstance(part, str) else f"{_RANK_ZERO + part:011.3f}" for part in key)
    return text, rank_why(defect, edition, day, held)


def _spans(turns: Iterable[date], on: Callable[[date], Value]) -> list[tuple[str, str, Value]]:
    """Something over all days, as (from, until, what it is); it changes at some of the turns only."""
    days = sorted(turns)
    ends = [*(day.isoformat() for day in days), LAST_DAY]
    spans: list[tuple[str, str, Value]] = []
    for start, end in zip([date.fromisoformat(FIRST_DAY), *days], ends, strict=True):
        now = on(start)
        if spans and spans[-1][2] == now:
            spans[-1] = (spans[-1][0], end, now)
        else:
            spans.append((start.isoformat(), end, now))
    return spans


def _lapses(defects: Iterable[Defect]) -> set[date]:
    """The days on which a repair for now no longer holds."""
    return {_after(d.temporary.until) for d in defects if d.closed is None and d.temporary is not None}


def _after(day: date) -> date:
    return day + _ONE_DAY if day < date.max else day


def _written(defect: Defect) -> str:
    """The day on which it was written down, for what no walk gives a day: shown, and nothing is decided by it."""
    return min((sighting.at[:10] for sighting in defect.sightings), default="")


def _step_name(view: VehicleView | None, step: str) -> str:
    known = view.access.get(step) if view else None
    return known.name if known else step


def _hours(hours: tuple[float, float] | None) -> str:
    if hours is None:
        return ""
    low, high = hours
    return f"{low:g}" if low == high else f"{low:g} to {high:g}"  # "2-4" a spreadsheet would take for a date


def _joined(parts: Iterable[str]) -> str:
    return "; ".join(part for part in parts if part)
