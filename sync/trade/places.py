"""From a vehicle's check and its latest readings to what there is to say: for defect pages, job cards, exports."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from builder.edition import EditionCheck, VehicleView
from builder.fleet import ReadingLimits
from sync.entries import Leak, Reading
from sync.errors import TradeError
from sync.trade.checks import CheckSeen, reckonings
from sync.trade.judge import PUT_RIGHT, plausible
from sync.trade.leaks import LeakSeen, found_on
from sync.trade.reckoning import Reckoning, Verdict, gravest
from sync.trade.trends import Point, Series
from sync.trade.units import Amount, convert

#: (full check id, spot or "") -> the newest reading that stands there.
Latest = Mapping[tuple[str, str], Reading]


@dataclass(frozen=True)
class Sighted:
    """What a sighting adds to the readings: a leak and the round it was found on, the fault, and what came before.

    `earlier`: the reading before the newest; `added`: litres of the fluid topped up between the two; `spot`: the one
    to judge by itself (None: each); `also`: what others read there, of which only what cannot be is spoken of.
    """

    leak: Leak | None = None
    round: str = ""
    fault: str | None = None
    earlier: Reading | None = None
    added: float = 0
    spot: str | None = None
    also: tuple[Reading, ...] = ()


def check_seen(vehicle: VehicleView, check: EditionCheck, latest: Latest, sighted: Sighted) -> CheckSeen:
    """One check of a vehicle as its edition and the latest readings have it."""
    readings = {spot: _amount(r) for spot in check.spots or ("",) if (r := latest.get((check.id, spot)))}
    fault = check.fault(sighted.fault)
    outside: Verdict = fault.severity if fault is not None else "major"
    first_used = vehicle.vehicle.first_used
    beside = _beside(vehicle, check, latest)
    electrolyte = beside.get("electrolyte temperature")
    return CheckSeen(
        name=check.ask,
        reckon=check.reckon,
        readings=readings,
        limits=check.reading,
        facts=vehicle.vehicle.facts,
        leak=_leak(check.leak, sighted),
        beside=beside,
        earlier=_possible(sighted.earlier, check.reading),
        added=sighted.added,
        celsius=None if electrolyte is None else convert(electrolyte.value, electrolyte.unit, "°C", "temperature"),
        first_used=None if first_used is None else date.fromisoformat(first_used),
        outside=outside,
        spot=sighted.spot,
        also=tuple(map(_amount, sighted.also)),
        sides=_sides(vehicle, check, latest),
        system=check.system,
    )


def said_of(
    vehicle: VehicleView, check: EditionCheck, latest: Latest, sighted: Sighted | None = None
) -> tuple[Reckoning, ...]:
    """Every reckoning of a check, the leak first, its own calculation last; empty where nothing was measured."""
    return reckonings(check_seen(vehicle, check, latest, sighted or Sighted()))


@dataclass(frozen=True, slots=True)
class Short:
    """Several reckonings as what an export's columns and a job card have room for.

    `do`: a calculation's own before what holds for any reading; `sure`: what was assumed, and which facts are missing.
    """

    verdict: Verdict
    says: tuple[str, ...]
    figures: tuple[str, ...]
    do: tuple[str, ...]
    sure: tuple[str, ...]
    care: tuple[str, ...]
    source: tuple[str, ...]

    @property
    def verdict_words(self) -> str:
        """ "sound" would speak of the part; a reading speaks of its limits alone."""
        return "in range" if self.verdict == "sound" else self.verdict


def in_short(found: Sequence[Reckoning]) -> Short:
    """The gravest verdict, every headline, figure and caution, and what to do: each once, in order."""
    own_first = sorted(found, key=lambda reckoning: reckoning.subject == "reading")
    todo = _once(line for reckoning in own_first for line in reckoning.todo)
    lacking = [fact.text for reckoning in found for fact in reckoning.missing]
    return Short(
        gravest([reckoning.verdict for reckoning in found]),
        _once(reckoning.headline for reckoning in found),
        _once(f"{figure.name}: {figure.text}" for reckoning in found for figure in reckoning.figures),
        tuple(line for line in todo if line != PUT_RIGHT or len(todo) == 1),
        _once([*(line for reckoning in found for line in reckoning.assumptions), *lacking]),
        _once(line for reckoning in own_first for line in reckoning.cautions),
        _once(reckoning.source for reckoning in found if reckoning.source != "none"),
    )


def _once(lines: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(lines))


@dataclass(frozen=True, slots=True)
class Dated:
    """A reading with its day, and the vehicle's running hours then, where they were kept."""

    day: date
    reading: Reading
    hours: float | None = None


def series_of(name: str, dated: Sequence[Dated], limits: ReadingLimits) -> Series:
    """Readings of one check and spot as a series for `trends.advise` or `trends.fit`, in the limits' unit.

    Over running hours where every reading has them, else over days. Readings that cannot be are left out. Give
    those since the last repair or adjustment. Raises TradeError for a unit of another quantity.
    """
    kept = [d for d in dated if plausible(_amount(d.reading), limits)]
    by_hours = bool(kept) and all(d.hours is not None for d in kept)
    first = min((d.day for d in kept), default=None)
    points = tuple(
        Point(
            (d.hours or 0.0) if by_hours else float((d.day - (first or d.day)).days),
            convert(d.reading.value, d.reading.unit, limits.unit, limits.quantity),
        )
        for d in kept
    )
    unit_x: Literal["days", "running hours"] = "running hours" if by_hours else "days"
    return Series(name, points, limits.unit, unit_x, limits.low, limits.high, None if by_hours else first)


def _amount(reading: Reading) -> Amount:
    return Amount(reading.value, reading.unit)


def _possible(reading: Reading | None, limits: ReadingLimits | None) -> Amount | None:
    """A reading that a calculation may rest on; None for one that cannot be."""
    if reading is None or limits is None:
        return None
    try:
        return _amount(reading) if plausible(_amount(reading), limits) else None
    except TradeError:  # a unit of another quantity
        return None


def _leak(fluid: str | None, sighted: Sighted) -> LeakSeen | None:
    leak = sighted.leak
    if fluid is None or leak is None:
        return None
    return LeakSeen(fluid, leak.leak_class, found_on(sighted.round), leak.stream, leak.level_ok)


def _sides(vehicle: VehicleView, check: EditionCheck, latest: Latest) -> dict[str, Amount]:
    """What the same check read on this side and on the other, by station; empty where it has no other side or spots."""
    station = vehicle.stations[check.station]
    compared = check.reckon == "track sag" or (check.reading is not None and check.reading.quantity == "temperature")
    if check.spots or not compared or station.mirror not in vehicle.stations:
        return {}
    name = check.id.removeprefix(check.station)
    both = {one.name: latest.get((one.id + name, "")) for one in (station, vehicle.stations[station.mirror])}
    return {side: _amount(reading) for side, reading in both.items() if reading is not None}


def _beside(vehicle: VehicleView, check: EditionCheck, latest: Latest) -> dict[str, Amount]:
    """Readings of the other reckoned checks at its station, their first spot's."""
    beside = {}
    for other in vehicle.checks.values():
        if other.reckon is None or other.station != check.station:
            continue
        reading = latest.get((other.id, other.spots[0] if other.spots else ""))
        if (found := _possible(reading, other.reading)) is not None:
            beside[str(other.reckon)] = found
    beside.pop(str(check.reckon), None)
    return beside
