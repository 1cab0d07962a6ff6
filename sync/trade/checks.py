"""From a check's readings to what can be said about them: the one door for pages, job cards and exports.

A check's `reckon` names its calculation. Impossible readings are set aside from judgement with the reason in
words, never dropped and never an error on a page.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date

from builder.fleet import ReadingLimits, Reckon
from sync.errors import TradeError
from sync.trade import battery, brake_advice, compression, judge, leaks, oil, rubber, spots, track_advice
from sync.trade.brakes import Scope, check_system
from sync.trade.facts import fact, missing
from sync.trade.reckoning import NO_SOURCE, Missing, Reckoning, Verdict
from sync.trade.tracks import Span
from sync.trade.units import Amount, convert


@dataclass(frozen=True)
class CheckSeen:
    """One check of one vehicle as last seen: readings by spot ("" where the check has no spots).

    `beside`: readings of other checks at its station, by their `reckon` (adjuster travel beside the sag).
    `earlier`: the reading before; `added`: litres topped up since; `celsius`: of the electrolyte, where taken;
    `outside`: the severity of the check's usual fault; `spot`: the one to judge by itself (None: each);
    `also`: what others read at that spot, of which only what cannot be is spoken of; `sides`: by station, what the
    same check read left and right; `system`: what it belongs to.
    """

    name: str
    reckon: Reckon | None = None
    readings: Mapping[str, Amount] = field(default_factory=dict)
    limits: ReadingLimits | None = None
    facts: Mapping[str, object] = field(default_factory=dict)
    leak: leaks.LeakSeen | None = None
    beside: Mapping[str, Amount] = field(default_factory=dict)
    earlier: Amount | None = None
    added: float = 0
    celsius: float | None = None
    first_used: date | None = None
    outside: Verdict = "major"
    spot: str | None = None
    also: tuple[Amount, ...] = ()
    sides: Mapping[str, Amount] = field(default_factory=dict)
    system: str | None = None

    @property
    def scope(self) -> Scope:
        """Which road rules bind the vehicle; it is tracked where its file has a track pitch."""
        return Scope(self.first_used, tracked="track_pitch_mm" in self.facts)


@dataclass(frozen=True)
class _Measured:
    """A check with limits and at least one reading that can be; every calculation starts from one."""

    seen: CheckSeen
    limits: ReadingLimits
    readings: Mapping[str, Amount]

    def one(self, unit: str) -> float:
        """The only reading, or the first spot's, in a unit of the check's quantity."""
        return next(iter(self.every(unit).values()))

    def every(self, unit: str) -> dict[str, float]:
        quantity = self.limits.quantity
        return {spot: convert(r.value, r.unit, unit, quantity) for spot, r in self.readings.items()}

    def limit(self, name: str, unit: str) -> float | None:
        value: float | None = getattr(self.limits, name)
        return None if value is None else convert(value, self.limits.unit, unit, self.limits.quantity)

    def fact(self, key: str) -> float | None:
        return fact(self.seen.facts, key)


def reckonings(seen: CheckSeen) -> tuple[Reckoning, ...]:
    """Everything there is to say: the leak, each reading against its limits, and the check's own calculation."""
    said: list[Reckoning] = []
    if seen.leak is not None:
        said.append(_guarded("leak", leaks.advise, seen.leak))
    if seen.limits is None:
        return tuple(said)
    said += _judged(seen, seen.limits)
    kept = {spot: r for spot, r in seen.readings.items() if _can_be(r, seen.limits)}
    calculation = _CALCULATIONS.get(seen.reckon or "")
    if calculation is not None and kept:
        said.append(_guarded(seen.reckon or "", calculation, _Measured(seen, seen.limits, kept)))
    sides = {station: r for station, r in seen.sides.items() if _can_be(r, seen.limits)}
    if len(sides) > 1 and seen.limits.tolerance:
        said.append(_guarded("sides", _sides, _Measured(seen, seen.limits, sides)))
    return tuple(said)


def _judged(seen: CheckSeen, limits: ReadingLimits) -> Iterator[Reckoning]:
    """Each reading by itself (or the asked spot's), then what somebody read there that cannot be."""
    earlier = seen.earlier if seen.reckon == "oil level" and not seen.added else None
    asked = seen.spot if seen.spot in seen.readings else None
    for spot, reading in seen.readings.items():
        if asked in (None, spot):
            name = f"{seen.name}, {spot}" if spot else seen.name
            yield _guarded("reading", judge.advise, name, reading, limits, earlier, seen.outside)
    for reading in dict.fromkeys(seen.also):
        if not _can_be(reading, limits):
            yield _guarded("reading", judge.advise, f"{seen.name}, set aside", reading, limits)


def _can_be(reading: Amount, limits: ReadingLimits) -> bool:
    try:
        return judge.plausible(reading, limits)
    except TradeError:
        return False


def _guarded(subject: str, calculation: Callable[..., Reckoning], *args: object) -> Reckoning:
    try:
        return calculation(*args)
    except TradeError as error:
        return _open(subject, f"Not judged: {error}")


def _open(subject: str, headline: str, *lacking: Missing) -> Reckoning:
    return Reckoning(subject, headline, "not judged", "none could be used", "none", missing=lacking)


def _track_sag(m: _Measured) -> Reckoning:
    lengths = [length for n in range(1, 10) if (length := m.fact(f"span_{n}_mm")) is not None]
    wanted = _middle(m.limit("low", "mm"), m.limit("high", "mm"))
    if not lengths:
        return _open("tracks", "The take-up cannot be reckoned without the span.", missing("span_1_mm"))
    if wanted is None:
        return _open("tracks", "The take-up cannot be reckoned without limits for the sag (low and high).")
    sags = list(m.every("mm").values())
    spans, estimated = _spans(lengths, sags, wanted)
    outward = _beside(m, "adjuster travel")
    travel = m.fact("adjuster_travel_mm")
    inward = max(0.0, travel - outward) if travel is not None and outward is not None else None
    side = track_advice.TrackSide(
        name=m.seen.name,
        spans=spans,
        wrap=m.fact("idler_wrap_deg"),
        outward=outward,
        inward=inward,
        pitch=m.fact("track_pitch_mm"),
        low=m.limit("low", "mm"),
        high=m.limit("high", "mm"),
        judged=sags[0] if estimated else None,
    )
    found = track_advice.advise(side)
    return replace(found, assumptions=(*found.assumptions, _ESTIMATED)) if estimated else found


_ESTIMATED = "Only the first span was measured: the others' sag by the square of their length (one pull throughout)."


def _spans(lengths: list[float], sags: list[float], wanted: float) -> tuple[tuple[Span, ...], bool]:
    """Spans with their sags; with one sag for several spans the others follow, s being as L squared."""
    if len(sags) == len(lengths):
        return tuple(Span(length, sag, wanted) for length, sag in zip(lengths, sags, strict=True)), False
    if len(sags) > 1:
        raise TradeError(
            f"{len(sags)} sags for {len(lengths)} spans: expected one, or one for each span_1_mm, span_2_mm ... "
            "of the vehicle's file"
        )
    ratios = [(length / lengths[0]) ** 2 for length in lengths]
    return tuple(Span(le, sags[0] * r, wanted * r) for le, r in zip(lengths, ratios, strict=True)), True


def _middle(low: float | None, high: float | None) -> float | None:
    if low is None or high is None:
        return high if low is None else low
    return (low + high) / 2


def _beside(m: _Measured, reckon: str) -> float | None:
    reading = m.seen.beside.get(reckon)
    return None if reading is None else convert(reading.value, reading.unit, "mm", "length")


def _track_pitch(m: _Measured) -> Reckoning:
    links, new = m.fact("track_pitch_links"), m.fact("track_pitch_mm")
    lacking = [missing(key) for key, v in (("track_pitch_links", links), ("track_pitch_mm", new)) if v is None]
    if links is None or new is None:
        return _open("track pitch", "The pitch cannot be reckoned yet.", *lacking)
    return track_advice.advise_pitch(m.one("mm"), int(links), new, m.fact("track_pitch_limit_mm"))


def _oil_level(m: _Measured) -> Reckoning:
    earlier = m.seen.earlier
    if earlier is None:
        return _open("oil level", "No earlier level to compare with: a rise cannot be seen yet.")
    levels = [m.readings[next(iter(m.readings))], earlier]
    if m.limits.quantity == "volume":
        after, before = (convert(level.value, level.unit, "L", "volume") for level in levels)
    else:
        per_mm = m.fact("dipstick_litres_per_mm")
        if per_mm is None:
            words = "How much came in or went cannot be reckoned from the dipstick alone."
            return _open("oil level", words, missing("dipstick_litres_per_mm"))
        after, before = (per_mm * convert(level.value, level.unit, "mm", "length") for level in levels)
    return oil.advise_level(oil.LevelSeen(before, after, m.seen.added, m.fact("sump_litres")))


def _oil_pressure(m: _Measured) -> Reckoning:
    low, high = m.limit("low", "kPa"), m.limit("high", "kPa")
    low = m.fact("oil_pressure_low_kpa") if low is None else low
    high = m.fact("oil_pressure_high_kpa") if high is None else high
    return oil.advise_pressure(m.one("kPa"), low, high)


def _cell_gravity(m: _Measured) -> Reckoning:
    cells = m.every("SG")
    if m.seen.celsius is not None:
        return battery.advise_gravity(cells, m.seen.celsius)
    found = battery.advise_gravity(cells, battery.REFERENCE_CELSIUS)
    said = (
        "The electrolyte's temperature was not taken: not corrected, as if at 80 °F (26.7 °C). A check with "
        'reckon = "electrolyte temperature" at the same station asks for it.'
    )
    return replace(found, assumptions=(*found.assumptions, said))


def _nominal(m: _Measured) -> int | None:
    volts = m.fact("battery_volts")
    return None if volts is None else int(volts)


def _odd(m: _Measured) -> Reckoning:
    if m.limits.quantity == "temperature":
        return spots.advise(m.every("°C"), _heat(m))
    kind = spots.Kind(
        name=f"{m.seen.name}:",
        unit=m.limits.unit,
        may_differ=2 * m.limits.tolerance,
        high=f"look for what makes it read high ({NO_SOURCE})",
        low=f"look for what makes it read low ({NO_SOURCE})",
        digits=3,
    )
    return spots.advise(m.every(m.limits.unit), kind)


def _heat(m: _Measured) -> spots.Kind:
    """Hubs and drums by their brakes and bearings; a gearbox or a differential has no brake that drags in a wheel."""
    kind = spots.HUBS if m.seen.system in _WHEELED else spots.CASINGS
    return replace(kind, name=f"{m.seen.name}:")


_WHEELED = frozenset({None, "brakes", "wheels", "tracks", "suspension"})


def _sides(m: _Measured) -> Reckoning:
    """Left against right: of two it can only be said that they differ, and by how much."""
    if m.limits.quantity == "temperature":
        found = spots.advise(m.every("°C"), _heat(m))
    else:
        name, may_differ = f"{m.seen.name}:", 2 * m.limits.tolerance
        found = spots.advise(m.every(m.limits.unit), replace(spots.SAGS, name=name, may_differ=may_differ))
    return replace(found, subject="sides")


def _build_up(m: _Measured) -> Reckoning:
    energy = m.seen.facts.get("brake_energy")
    if energy is None:
        lacking = Missing("brake_energy", 'what the brakes store, "air" or "vacuum"')
        return _open("brake build-up", "The build-up cannot be judged yet.", lacking)
    return brake_advice.advise_build_up(m.one("s"), check_system(str(energy)), m.seen.scope)


def _leak_down(m: _Measured) -> Reckoning:
    minutes = m.fact("brake_leak_minutes") or 1.0
    found = brake_advice.advise_leak_down(brake_advice.LeakDown(m.one("kPa"), minutes, applied=True), m.seen.scope)
    if m.fact("brake_leak_minutes") is None:
        return replace(found, assumptions=(*found.assumptions, _ONE_MINUTE))
    return found


_ONE_MINUTE = "Watched for one minute: the vehicle's file has no brake_leak_minutes."


def _roll_test(m: _Measured) -> Reckoning:
    speed = m.fact("roll_test_kmh")
    if speed is None:
        return _open("stopping distance", "The stop cannot be judged without its speed.", missing("roll_test_kmh"))
    return brake_advice.advise_stop(speed / 3.6, m.one("m"), m.seen.scope)


def _lining(m: _Measured) -> Reckoning:
    thinnest = min(m.every("mm").values())
    return brake_advice.advise_lining(thinnest, at_indicator=False, contaminated=False, scope=m.seen.scope)


def _parking(m: _Measured) -> Reckoning:
    return brake_advice.advise_parking(m.one("%"), m.fact("parking_brake_percent"), m.seen.scope)


def _tread(m: _Measured) -> Reckoning:
    wheel = rubber.WheelRubber(missing=max(m.every("%").values()))
    return rubber.advise_wheel(wheel, rubber.limits_of(m.seen.facts))


_CALCULATIONS: dict[str, Callable[[_Measured], Reckoning]] = {
    "track sag": _track_sag,
    "track pitch": _track_pitch,
    "oil level": _oil_level,
    "oil pressure": _oil_pressure,
    "cell gravity": _cell_gravity,
    "rest volts": lambda m: battery.advise_rest(m.one("V"), _nominal(m)),
    "cranking volts": lambda m: battery.advise_cranking(m.one("V"), _nominal(m)),
    "compression": lambda m: compression.advise(m.every("kPa")),
    "odd one out": _odd,
    "brake build-up": _build_up,
    "brake leak-down": _leak_down,
    "roll test": _roll_test,
    "brake applications": lambda m: brake_advice.advise_reserve(int(m.one("count")), m.seen.scope),
    "brake lining": _lining,
    "parking brake": _parking,
    "tread missing": _tread,
    "path rubber": lambda m: rubber.advise_path(max(m.every("%").values()), rubber.limits_of(m.seen.facts)),
}
