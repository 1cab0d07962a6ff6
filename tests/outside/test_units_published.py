"""Unit factors against NIST SP 811 and against Pint, which is asked afresh."""

import pytest
from pint import UnitRegistry

from sync.trade.units import convert

#: value, unit, to, quantity, expected. NIST SP 811 Appendix B (from memory, cross-checked with Pint).
SP811 = [
    (1, "psi", "kPa", "pressure", 6.894757),
    (1, "lbf ft", "N m", "torque", 1.355818),
    (1, "in", "mm", "length", 25.4),
    (1, "ft", "m", "length", 0.3048),
    (1, "mi", "km", "distance", 1.609344),
    (1, "gal UK", "L", "volume", 4.54609),
    (1, "gal US", "L", "volume", 3.785412),
    (1, "inHg", "kPa", "pressure", 3.386389),
    (1, "bar", "kPa", "pressure", 100),
    (1, "mph", "km/h", "speed", 1.609344),
    (212, "°F", "°C", "temperature", 100),
    (-40, "°F", "°C", "temperature", -40),
    (18, "Δ°F", "K", "temperature difference", 10),
]


@pytest.mark.parametrize(("value", "unit", "to", "quantity", "expected"), SP811)
def test_a_factor_is_that_of_nist_sp_811(value: float, unit: str, to: str, quantity: str, expected: float) -> None:
    assert convert(value, unit, to, quantity) == pytest.approx(expected, rel=5e-7)


def test_forty_five_psi_are_the_brake_warnings_kilopascals() -> None:
    """UK MOT inspection manual section 1 gives 45 psi; 310.26 kPa by NIST SP 811."""
    assert convert(45, "psi", "kPa", "pressure") == pytest.approx(310.26, abs=0.005)


def test_a_published_torque_agrees_in_both_its_units() -> None:
    """TM 9-2350-238-10 prints 600 lbf ft and 813.5 N m for one nut."""
    assert convert(600, "lbf ft", "N m", "torque") == pytest.approx(813.5, abs=0.05)


def test_published_sag_limits_agree_in_both_their_units() -> None:
    """TM 5-2410-240-10 prints 1.14 to 1.6 in as 29 to 41 mm; TM 5-3805-280-10 11 13/16 in as 300 mm."""
    inches = [convert(mm, "mm", "in", "length") for mm in (29, 41, 300)]
    assert inches == pytest.approx([1.14, 1.6, 11.8125], abs=0.015)


@pytest.mark.parametrize(
    ("unit", "name"), [("gal UK", "imperial_gallon"), ("gal US", "gallon"), ("pt UK", "imperial_pint")]
)
def test_gallons_and_pints_are_pints_own(unit: str, name: str) -> None:
    """Pint 0.25, asked here; UK and US measures are apart."""
    registry: UnitRegistry[float] = UnitRegistry()
    assert convert(1, unit, "L", "volume") == pytest.approx(registry.Quantity(1, name).to("liter").magnitude, rel=1e-9)
