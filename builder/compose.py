"""One vehicle from its templates: stations and checks in walking order, its overrides laid over, its drops left out."""

from collections.abc import Iterable
from dataclasses import dataclass

from builder.fleet import (
    Access,
    Check,
    CheckOverride,
    Fault,
    FaultOverride,
    FirstStart,
    ReadingLimits,
    Service,
    Station,
    Template,
    VehicleFile,
    WhileOpen,
)


@dataclass(frozen=True)
class Composed:
    """What a vehicle is asked and what can be done to it, before it is fingerprinted."""

    stations: tuple[Station, ...]
    access: tuple[Access, ...]
    while_open: tuple[WhileOpen, ...]
    service: tuple[Service, ...]
    first_start: tuple[FirstStart, ...]


def compose(vehicle: VehicleFile, templates: Iterable[Template]) -> Composed:
    """The vehicle as its templates make it, in their order; templates are those it names."""
    templates = tuple(templates)
    stations = [_finished(vehicle, station) for station in _gathered(templates)]
    kept = [station for station in stations if station.check]
    return Composed(
        stations=tuple(sorted(kept, key=lambda s: (s.order if s.order is not None else 0, s.id))),
        access=tuple(a for t in templates for a in t.access),
        while_open=tuple(w for t in templates for w in t.while_open),
        service=tuple(s for t in templates for s in t.service),
        first_start=tuple(f for t in templates for f in t.first_start),
    )


def spot_names(check: Check, vehicle: VehicleFile) -> tuple[str, ...]:
    """The spots a check repeats over, counted from the nose; empty where it does not.

    Raises ValueError where the named fact is missing or is no whole number from 1 to 60.
    """
    spots = check.spots
    if isinstance(spots, str):
        fact = vehicle.facts.get(spots)
        if not isinstance(fact, int) or isinstance(fact, bool) or not 1 <= fact <= 60:
            raise ValueError(f'fact "{spots}" is {"missing" if fact is None else fact}')
        spots = fact
    if spots is None:
        return ()
    return tuple(str(n + 1) for n in range(spots)) if isinstance(spots, int) else spots


def _gathered(templates: tuple[Template, ...]) -> list[Station]:
    """Stations by id; a later template's checks follow an earlier one's."""
    found: dict[str, Station] = {}
    for station in (s for t in templates for s in t.station):
        kept = found.get(station.id)
        found[station.id] = station if kept is None else _merged(kept, station)
    return list(found.values())


def _merged(kept: Station, more: Station) -> Station:
    given = {
        field: getattr(more, field)
        for field in ("name", "order", "at", "mirror")
        if getattr(kept, field) is None and getattr(more, field) is not None
    }
    return kept.model_copy(update={**given, "check": kept.check + more.check})


def _finished(vehicle: VehicleFile, station: Station) -> Station:
    if station.id in vehicle.drop.checks:
        return station.model_copy(update={"check": ()})
    checks = []
    for check in station.check:
        full_id = f"{station.id}/{check.id}"
        if full_id not in vehicle.drop.checks:
            checks.append(_overridden(check, vehicle.check.get(full_id)))
    return station.model_copy(update={"check": tuple(checks)})


def _overridden(check: Check, over: CheckOverride | None) -> Check:
    if over is None:
        return check
    given = {k: getattr(over, k) for k in over.model_fields_set if k not in {"reading", "fault"}}
    if over.reading is not None:
        own = {k: getattr(over.reading, k) for k in over.reading.model_fields_set}
        base = check.reading.model_dump() if check.reading else {}
        # Not validated here: a half-given reading is told by the cross-check, with its file and key.
        given["reading"] = ReadingLimits.model_construct(
            **{"tolerance": 0.0, "quantity": "", "unit": "", **base, **own}
        )
    given["fault"] = tuple(_fault(fault, over.fault.get(fault.id)) for fault in check.fault)
    return check.model_copy(update=given)


def _fault(fault: Fault, over: FaultOverride | None) -> Fault:
    if over is None:
        return fault
    return fault.model_copy(update={k: getattr(over, k) for k in over.model_fields_set})
