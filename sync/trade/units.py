"""Readings in any of their units, by the same factors that the phone carries (builder.quantities)."""

import re
from dataclasses import dataclass
from fractions import Fraction

from builder.quantities import conversions
from sync.errors import TradeError
from sync.trade.reckoning import Figure, Reckoning, number

#: How people type a unit -> how the fleet files write it. "gal" and "pt" alone are refused: UK and US differ.
SPELLINGS = {
    "c": "°C",
    "°c": "°C",
    "degc": "°C",
    "f": "°F",
    "°f": "°F",
    "degf": "°F",
    "nm": "N m",
    "n.m": "N m",
    "lbfft": "lbf ft",
    "lbf.ft": "lbf ft",
    "lbft": "lbf ft",
    "ftlb": "lbf ft",
    "l": "L",
    "litre": "L",
    "litres": "L",
    "ml": "mL",
    "galuk": "gal UK",
    "galus": "gal US",
    "ptuk": "pt UK",
    "inch": "in",
    "inches": "in",
    '"': "in",
    "kpa": "kPa",
    "inhg": "inHg",
    "v": "V",
    "volts": "V",
    "a": "A",
    "sg": "SG",
    "kmh": "km/h",
    "°": "deg",
    "percent": "%",
}
_AMOUNT = re.compile(
    r"""\s*(?P<sign>[-+]?)\s*
    (?: (?P<whole>\d+)\s+(?P<mixed>\d+/\d+) | (?P<fraction>\d+/\d+) | (?P<decimal>\d+\.?\d*|\.\d+) )
    \s*(?P<unit>.*?)\s*""",
    re.VERBOSE,
)


@dataclass(frozen=True, slots=True)
class Amount:
    """A value in the unit it was taken in."""

    value: float
    unit: str

    def __str__(self) -> str:
        return f"{number(self.value, 4)} {self.unit}".strip()


def spelled(unit: str) -> str:
    """A unit as the fleet files write it, from how people type it; one that is not known stays as it is."""
    if unit in _all_units():
        return unit
    return SPELLINGS.get(unit.replace(" ", "").lower(), unit)


def quantity_of(unit: str) -> str:
    """The quantity a unit belongs to. Raises TradeError for a unit of none."""
    for quantity, units in conversions().items():
        if unit in units:
            return quantity
    raise TradeError(f'"{unit}" is no unit known here: use one of {", ".join(_all_units())}')


def to_base(value: float, unit: str, quantity: str) -> float:
    """The value in the quantity's base unit (its first): value * factor + offset.

    Raises TradeError for a unit of another quantity.
    """
    factor, offset = _factors(unit, quantity)
    return value * factor + offset


def convert(value: float, unit: str, to: str, quantity: str) -> float:
    """The value in another unit of the same quantity; unchanged where the units are one.

    Source of the factors: NIST SP 811 Appendix B, through Pint. Raises TradeError for a foreign unit.
    """
    base = to_base(value, unit, quantity)
    factor, offset = _factors(to, quantity)
    return value if unit == to else (base - offset) / factor


def parse(text: str, quantity: str) -> Amount:
    """An amount as typed: "61 mm", "3 1/2 in", "-4C"; the unit may be left out where there is only one.

    Raises TradeError that says which units are possible.
    """
    units = _units(quantity)
    found = _AMOUNT.fullmatch(text)
    if found is None:
        raise TradeError(f'"{text}" is no amount: expected a number and a unit of {quantity} ({", ".join(units)})')
    unit = found["unit"]
    if not unit and len(units) > 1:
        raise TradeError(f'"{text}" has no unit: write it with one of {", ".join(units)}')
    unit = spelled(unit) if unit else units[0]
    if unit not in units:
        raise TradeError(f'"{text}": "{unit}" is no unit of {quantity}: use one of {", ".join(units)}')
    return Amount(_value(found), unit)


def _value(found: re.Match[str]) -> float:
    if found["decimal"]:
        value = float(found["decimal"])
    else:
        try:
            value = float(Fraction(found["mixed"] or found["fraction"])) + int(found["whole"] or 0)
        except ZeroDivisionError:
            raise TradeError(f'"{found[0]}" divides by nought: write the fraction again') from None
    return -value if found["sign"] == "-" else value


def _units(quantity: str) -> tuple[str, ...]:
    try:
        return tuple(conversions()[quantity])
    except KeyError:
        raise TradeError(f'"{quantity}" is no quantity: one of {", ".join(conversions())}') from None


def _factors(unit: str, quantity: str) -> tuple[float, float]:
    try:
        return conversions()[quantity][unit]
    except KeyError:
        units = ", ".join(_units(quantity))
        raise TradeError(f'"{unit}" is no unit of {quantity}: use one of {units}') from None


def _all_units() -> list[str]:
    return [unit for units in conversions().values() for unit in units]


def advise(amount: Amount, to: str) -> Reckoning:
    """A conversion as a reckoning. Raises TradeError for units that do not belong together."""
    quantity = quantity_of(amount.unit)
    value = convert(amount.value, amount.unit, to, quantity)
    return Reckoning(
        subject="convert",
        headline=f"{amount} = {value:.7g} {to}",
        verdict="not judged",
        figures=(Figure(quantity, value, to, 6),),
        inputs=(Figure(quantity, amount.value, amount.unit, 6),),
        formula="value x factor + offset to the base unit, and back",
        source="NIST SP 811 Appendix B, through Pint",
    )
