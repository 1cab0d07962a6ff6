"""What can be measured and in which units; the factors come from Pint, once, for phone and workshop alike."""

from functools import cache

from pint import UnitRegistry

# quantity -> unit as people write it -> unit as Pint names it. The first unit is the base that limits are compared in.
_NAMES: dict[str, dict[str, str]] = {
    "length": {"mm": "millimeter", "cm": "centimeter", "m": "meter", "in": "inch", "ft": "foot"},
    "distance": {"km": "kilometer", "mi": "mile"},
    "pressure": {"kPa": "kilopascal", "bar": "bar", "psi": "psi", "inHg": "inch_Hg_conventional"},
    "torque": {"N m": "newton * meter", "lbf ft": "force_pound * foot"},
    "temperature": {"°C": "degree_Celsius", "°F": "degree_Fahrenheit"},
    "temperature difference": {"K": "kelvin", "Δ°F": "delta_degree_Fahrenheit"},
    "volume": {
        "L": "liter",
        "mL": "milliliter",
        "gal UK": "imperial_gallon",
        "gal US": "gallon",
        "pt UK": "imperial_pint",
    },
    "voltage": {"V": "volt"},
    "current": {"A": "ampere"},
    "specific gravity": {"SG": "dimensionless"},
    "speed": {"km/h": "kilometer / hour", "mph": "mile / hour"},
    "rotation": {"rpm": "dimensionless"},
    "time": {"s": "second", "min": "minute", "h": "hour"},
    "count": {"count": "dimensionless"},
    "percent": {"%": "dimensionless"},
    "angle": {"deg": "degree"},
}

QUANTITIES = tuple(_NAMES)


def units_of(quantity: str) -> tuple[str, ...]:
    """The units a quantity may be written in, base first; empty for an unknown quantity."""
    return tuple(_NAMES.get(quantity, {}))


@cache
def conversions() -> dict[str, dict[str, tuple[float, float]]]:
    """quantity -> unit -> (factor, offset), so that value in the base unit = value * factor + offset.

    Source of the factors: Pint's registry (NIST SP 811); inHg is the conventional inch of mercury.
    """
    registry: UnitRegistry[float] = UnitRegistry(autoconvert_offset_to_baseunit=True)
    registry.define("inch_Hg_conventional = 3386.389 pascal")  # NIST SP 811 App. B.8
    return {quantity: _factors(registry, units) for quantity, units in _NAMES.items()}


def _factors(registry: "UnitRegistry[float]", units: dict[str, str]) -> dict[str, tuple[float, float]]:
    base = registry.Unit(next(iter(units.values())))
    result = {}
    for unit, name in units.items():
        zero = registry.Quantity(0.0, name).to(base).magnitude
        # Over 100 units, so that an offset does not eat the factor's last digits.
        hundred = registry.Quantity(100.0, name).to(base).magnitude
        result[unit] = (round((hundred - zero) / 100, 12), round(zero, 12))
    return result
