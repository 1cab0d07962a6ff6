"""Fleet -> edition: one compiled, fingerprinted JSON; what phones and sync both read.

Checks, stations and steps stand once in pools, and vehicles point into them by number: equal checks of
thirty vehicles cost the phone one. Names of people stay out; their initials, and what they may sign off, go in.
"""

import hashlib
import json
from functools import cached_property
from typing import Any

from pydantic import BaseModel, ConfigDict, Field

from builder.compose import compose, spot_names
from builder.fleet import (
    Access,
    Barred,
    Check,
    DisplayDay,
    Fact,
    Fault,
    FirstStart,
    Fleet,
    ReadingLimits,
    Reckon,
    Round,
    Service,
    Severity,
    VehicleFile,
    VehicleState,
    WhileOpen,
    Workshop,
)
from builder.leak_rules import LeakRules, fluid_name, leak_rules
from builder.plausible import PLAUSIBLE
from builder.quantities import conversions

FORMAT = 1
#: What a severity bars where its fault says nothing else.
BARS: dict[Severity, tuple[Barred, ...]] = {"dangerous": ("start", "drive"), "major": (), "minor": (), "advisory": ()}


class Compiled(BaseModel):
    model_config = ConfigDict(frozen=True, extra="ignore")


class EditionPerson(Compiled):
    initials: str
    lead: bool = False
    signs_off: tuple[str, ...] = ()


class EditionFault(Compiled):
    """`hours` is (least, most)."""

    id: str
    name: str
    severity: Severity
    bars: tuple[Barred, ...] = ()
    hours: tuple[float, float] | None = None
    parts: tuple[str, ...] = ()
    people: int = 1
    needs: tuple[str, ...] = ()
    holds: tuple[str, ...] = ()
    uses: tuple[str, ...] = ()


class EditionCheck(Compiled):
    """`id` is the full id, station/check; `spots` are counted out."""

    id: str
    ask: str
    rounds: tuple[Round, ...] = ("full",)
    condition: str | None = None
    system: str | None = None
    area: int | None = None
    seconds: int = 20
    how: str | None = None
    spots: tuple[str, ...] = ()
    formerly: tuple[str, ...] = ()
    reading: ReadingLimits | None = None
    leak: str | None = None
    reckon: Reckon | None = None
    caution: str | None = None
    faults: tuple[EditionFault, ...] = ()

    @property
    def station(self) -> str:
        return self.id.split("/", 1)[0]

    def fault(self, fault_id: str | None) -> EditionFault | None:
        return next((fault for fault in self.faults if fault.id == fault_id), None)


class EditionStation(Compiled):
    id: str
    name: str
    order: int
    at: tuple[float, float]
    mirror: str | None = None


class EditionVehicle(Compiled):
    """`stations` is [[station number, [check numbers]], ...] in walking order; the rest are numbers in the pools."""

    id: str
    name: str
    kind: str
    location: str
    display_weight: float = 1
    state: VehicleState = "runner"
    first_used: str | None = None
    owner: str | None = None
    fluids: dict[str, str] = {}
    facts: dict[str, Fact] = {}
    stations: tuple[tuple[int, tuple[int, ...]], ...] = ()
    access: tuple[int, ...] = ()
    while_open: tuple[int, ...] = ()
    service: tuple[int, ...] = ()
    first_start: tuple[int, ...] = ()


class Edition(Compiled):
    """The compiled fleet. `fingerprint` (8 hex digits of SHA-256 over the rest) names it everywhere."""

    fingerprint: str = Field(alias="edition")
    driptray: int
    code: str
    name: str
    language: str
    units: str
    people: tuple[EditionPerson, ...] = ()
    workshop: Workshop = Workshop()
    display_days: tuple[DisplayDay, ...] = ()
    origins: tuple[str, ...] = ()
    conversions: dict[str, dict[str, tuple[float, float]]] = {}
    plausible: dict[str, tuple[float | None, float | None]] = {}
    leak_rules: LeakRules
    stations: tuple[EditionStation, ...] = ()
    checks: tuple[EditionCheck, ...] = ()
    access: tuple[Access, ...] = ()
    while_open: tuple[WhileOpen, ...] = ()
    service: tuple[Service, ...] = ()
    first_start: tuple[FirstStart, ...] = ()
    vehicles: tuple[EditionVehicle, ...] = ()

    @cached_property
    def by_vehicle(self) -> dict[str, "VehicleView"]:
        return {vehicle.id: VehicleView(self, vehicle) for vehicle in self.vehicles}

    @cached_property
    def by_initials(self) -> dict[str, EditionPerson]:
        return {person.initials: person for person in self.people}


class VehicleView:
    """One vehicle of an edition with its pool numbers looked up."""

    def __init__(self, edition: Edition, vehicle: EditionVehicle) -> None:
        self.edition = edition
        self.vehicle = vehicle
        self.id = vehicle.id
        self.name = vehicle.name

    @cached_property
    def stations(self) -> dict[str, EditionStation]:
        """In walking order."""
        return {(s := self.edition.stations[n]).id: s for n, _ in self.vehicle.stations}

    @cached_property
    def checks(self) -> dict[str, EditionCheck]:
        """By full id, in walking order."""
        return {(c := self.edition.checks[n]).id: c for _, numbers in self.vehicle.stations for n in numbers}

    @cached_property
    def formerly(self) -> dict[str, str]:
        """An earlier check id -> today's."""
        return {old: check.id for check in self.checks.values() for old in check.formerly}

    @cached_property
    def access(self) -> dict[str, Access]:
        return {(a := self.edition.access[n]).id: a for n in self.vehicle.access}

    @cached_property
    def while_open(self) -> dict[str, WhileOpen]:
        return {(w := self.edition.while_open[n]).id: w for n in self.vehicle.while_open}

    @cached_property
    def service(self) -> dict[str, Service]:
        return {(s := self.edition.service[n]).id: s for n in self.vehicle.service}

    @cached_property
    def first_start(self) -> dict[str, FirstStart]:
        return {(f := self.edition.first_start[n]).id: f for n in self.vehicle.first_start}


class _Pool:
    """Values that stand once; `number` gives a value's place, adding it when it is new."""

    def __init__(self) -> None:
        self.items: list[dict[str, Any]] = []
        self._places: dict[str, int] = {}
        #: What a template says is the same object for each of its vehicles: written out once.
        self.known: dict[tuple[int, tuple[str, ...]], tuple[Check, int]] = {}

    def number(self, item: dict[str, Any]) -> int:
        place = self._places.setdefault(json.dumps(item, sort_keys=True), len(self.items))
        if place == len(self.items):
            self.items.append(item)
        return place


def compile_edition(fleet: Fleet) -> bytes:
    """The edition as canonical JSON bytes: same fleet, same bytes."""
    pools = {name: _Pool() for name in ("stations", "checks", "access", "while_open", "service", "first_start")}
    vehicles = [_vehicle(vehicle, fleet, pools) for vehicle in fleet.vehicles]
    file = fleet.file
    body = {
        "driptray": FORMAT,
        "code": file.code,
        "name": file.name,
        "language": file.language,
        "units": file.units,
        "people": [p.model_dump(mode="json", exclude={"name"}, exclude_defaults=True) for p in file.people],
        "workshop": file.workshop.model_dump(mode="json"),
        "display_days": [d.model_dump(mode="json") for d in sorted(file.display_day, key=lambda d: d.date)],
        "origins": list(file.door.origins),
        "conversions": conversions(),
        "plausible": PLAUSIBLE,
        "leak_rules": leak_rules().model_dump(mode="json", exclude_none=True),
        "vehicles": vehicles,
        **{name: pool.items for name, pool in pools.items()},
    }
    return _canonical({"edition": hashlib.sha256(_canonical(body)).hexdigest()[:8], **body})


def fingerprint_of(data: bytes) -> str:
    """The fingerprint that an edition's bytes should carry; "" where they are none."""
    try:
        body = json.loads(data)
        body.pop("edition")
    except (ValueError, KeyError, AttributeError, TypeError, RecursionError):
        return ""
    return hashlib.sha256(_canonical(body)).hexdigest()[:8]


def read_edition(data: bytes) -> Edition:
    """An edition from its bytes. Raises pydantic's ValidationError where they are none."""
    return Edition.model_validate_json(data)


def _canonical(value: object) -> bytes:
    return json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":")).encode()


def _vehicle(vehicle: VehicleFile, fleet: Fleet, pools: dict[str, _Pool]) -> dict[str, Any]:
    composed = compose(vehicle, [fleet.templates[name] for name in vehicle.templates])
    stations = []
    for station in composed.stations:
        place = station.model_dump(mode="json", exclude={"check"}, exclude_none=True)
        numbers = [_number_of(pools["checks"], station.id, check, vehicle) for check in station.check]
        stations.append([pools["stations"].number(place), numbers])
    head = vehicle.model_dump(mode="json", exclude={"templates", "check", "drop"}, exclude_defaults=True)
    steps = {
        kind: [pools[kind].number(_plain(item)) for item in getattr(composed, kind)]
        for kind in ("access", "while_open", "service", "first_start")
    }
    return {**head, "stations": stations, **{kind: numbers for kind, numbers in steps.items() if numbers}}


def _plain(item: BaseModel) -> dict[str, Any]:
    return item.model_dump(mode="json", exclude_defaults=True)


def _number_of(pool: _Pool, station: str, check: Check, vehicle: VehicleFile) -> int:
    key = id(check), (station, *spot_names(check, vehicle))
    kept = pool.known.get(key)
    if kept is None:  # `check` is kept too, so that its id stays its own
        kept = pool.known[key] = (check, pool.number(_check(station, check, vehicle)))
    return kept[1]


def _check(station: str, check: Check, vehicle: VehicleFile) -> dict[str, Any]:
    plain = check.model_dump(mode="json", exclude={"fault", "id", "spots"}, exclude_defaults=True)
    if check.leak:
        plain["leak"] = fluid_name(check.leak)
    spots = list(spot_names(check, vehicle))
    faults = [_fault(fault) for fault in check.fault]
    return {"id": f"{station}/{check.id}", **plain, **({"spots": spots} if spots else {}), "faults": faults}


def _fault(fault: Fault) -> dict[str, Any]:
    plain = fault.model_dump(mode="json", exclude={"bars", "hours"}, exclude_defaults=True)
    bars = BARS[fault.severity] if fault.bars is None else fault.bars
    hours = fault.hours if isinstance(fault.hours, tuple) or fault.hours is None else (fault.hours, fault.hours)
    return {**plain, **({"bars": list(bars)} if bars else {}), **({"hours": list(hours)} if hours else {})}
