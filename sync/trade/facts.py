"""The facts of a vehicle file that calculations use: the keys, their units, and what is possible."""

from collections.abc import Mapping
from dataclasses import dataclass

from sync.errors import TradeError
from sync.trade.reckoning import Missing, need


@dataclass(frozen=True, slots=True)
class FactKey:
    """One key under [facts]: its unit, what it tells, and the range outside which it is a slip of the pen."""

    unit: str
    what: str
    least: float
    most: float


FACTS: dict[str, FactKey] = {
    "track_pitch_mm": FactKey("mm", "the pitch of one track link when new, pin to pin", 20, 500),
    "track_pitch_limit_mm": FactKey("mm", "the pitch at which the track is worn out, from the maker's manual", 20, 520),
    "track_pitch_links": FactKey("links", "how many links the pitch is measured over", 1, 50),
    "idler_wrap_deg": FactKey(
        "deg", "how far the track wraps round the idler (180 where both runs are level)", 60, 240
    ),
    "adjuster_travel_mm": FactKey("mm", "how far the adjuster moves the idler from fully in to fully out", 1, 1000),
    **{
        f"span_{n}_mm": FactKey("mm", f"the length of span {n} of the top run between its supports", 100, 20_000)
        for n in range(1, 10)
    },
    "sump_litres": FactKey("L", "engine oil held at the full mark", 0.5, 500),
    "dipstick_litres_per_mm": FactKey("L/mm", "oil per millimetre on the dipstick", 0.001, 10),
    "oil_viscosity_cst": FactKey(
        "cSt", "viscosity of the fresh oil, at the temperature the sample is measured at", 2, 2000
    ),
    "fuel_viscosity_cst": FactKey("cSt", "viscosity of the fuel at that temperature (diesel about 3)", 0.3, 20),
    "oil_pressure_low_kpa": FactKey("kPa", "least engine oil pressure, hot, from the maker's manual", 1, 2000),
    "oil_pressure_high_kpa": FactKey("kPa", "greatest engine oil pressure, hot, from the maker's manual", 1, 2000),
    "battery_volts": FactKey("V", "the battery's nominal voltage: 6, 12 or 24", 6, 24),
    "brake_leak_minutes": FactKey("min", "how long the air pressure is watched with the brakes applied", 0.5, 60),
    "roll_test_kmh": FactKey("km/h", "the speed at which the pedal is pressed in the roll test", 5, 60),
    "parking_brake_percent": FactKey("%", "the parking-brake efficiency the vehicle must reach", 1, 100),
    "rubber_chunk_short_mm": FactKey("mm", "short side of the missing chunk that stops a road wheel", 5, 500),
    "rubber_chunk_long_mm": FactKey("mm", "long side of the missing chunk that stops a road wheel", 5, 500),
    "rubber_missing_percent": FactKey("%", "share of a road wheel's tread that may be missing in small chunks", 1, 100),
    "rubber_separation_mm": FactKey("mm", "width of separation that counts on a road wheel", 1, 200),
    "rubber_separation_percent": FactKey("%", "share of the way round that separation may run", 1, 100),
    "path_rubber_percent": FactKey("%", "share of the track's inner path rubber that may be missing", 1, 100),
}


def fact(facts: Mapping[str, object], key: str) -> float | None:
    """The fact's number, or None where the vehicle file does not have it.

    Raises TradeError where the file holds no number, or one outside what is possible.
    """
    value = facts.get(key)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TradeError(f'fact {key} is "{value}": expected a number in {FACTS[key].unit}')
    known = FACTS[key]
    return need(f"fact {key}", float(value), known.unit, known.least, known.most)


def missing(key: str) -> Missing:
    """What to say where a calculation wants a fact that the vehicle file lacks."""
    known = FACTS[key]
    return Missing(key, f"{known.what}, in {known.unit}")
