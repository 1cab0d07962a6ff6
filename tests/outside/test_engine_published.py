"""Oil, batteries, compressions and rubber against manuals and published equations."""

import pytest

from sync.trade import battery, compression, oil, rubber
from sync.trade.rubber import INCH, RubberLimits

PSI = 6.894757


@pytest.mark.parametrize(("viscosity", "number"), [(100, 33.19615), (3, 15.17434)])
def test_a_blending_number_is_the_refutas_equations(viscosity: float, number: float) -> None:
    """14.534 ln(ln(v + 0.8)) + 10.975, as published for crude and fuel blending."""
    assert oil.blending_number(viscosity) == pytest.approx(number, abs=5e-6)


def test_a_blend_of_five_and_twenty_centistokes_is_as_published() -> None:
    """60 % of 5 cSt and 40 % of 20 cSt: 8.1085 by Refutas (computed beforehand)."""
    assert oil.blend(5, 20, 0.4) == pytest.approx(8.1085, abs=5e-5)


def test_two_laws_bracket_five_percent_of_fuel() -> None:
    """100 cSt with 5 % of 3 cSt: 75.59 by Refutas, 83.92 by logarithms (computed beforehand)."""
    assert oil.blend(100, 3, 0.05) == pytest.approx(75.59, abs=0.005)
    assert oil.blend_log(100, 3, 0.05) == pytest.approx(83.92, abs=0.005)


def test_a_printed_dilution_chart_lies_within_the_range() -> None:
    """A viscometer maker's chart for fuel of 3 cSt at 40 °C: 160 cSt down to 137 cSt is 3 %."""
    found = oil.dilution_from_viscosity(160, 137, 3)
    assert found.least < 3 < found.most


def test_two_litres_over_thirty_are_six_and_a_quarter_percent() -> None:
    """2 / 32, conservation of volume."""
    assert oil.dilution_from_level(30, 2) == 6.25


@pytest.mark.parametrize(("percent", "verdict"), [(1, "advisory"), (3, "major"), (6.25, "dangerous")])
def test_fuel_in_the_oil_is_normal_to_be_found_or_serious(percent: float, verdict: str) -> None:
    """Navy oil-analysis manual 14115: 0.5-2 % normal, 2-5 % find the leak, over 5 % serious."""
    assert oil.grade_dilution(percent) == verdict


#: TM 5-1185 table II: gravity at 80 °F and available cranking power.
CRANKING_POWER = [(1.280, 100), (1.270, 91.6), (1.260, 83.3), (1.250, 75), (1.240, 66.6), (1.230, 58.3), (1.220, 50)]


@pytest.mark.parametrize(("gravity", "percent"), CRANKING_POWER)
def test_a_gravity_has_the_cranking_power_of_the_table(gravity: float, percent: float) -> None:
    assert battery.cranking_power(gravity).percent == pytest.approx(percent)


@pytest.mark.parametrize(
    ("gravity", "fahrenheit", "corrected"),
    [(1.250, 20, 1.226), (1.235, 100, 1.243), (1.250, 90, 1.254), (1.250, 70, 1.246)],
)
def test_a_gravity_is_corrected_as_the_manuals_do(gravity: float, fahrenheit: float, corrected: float) -> None:
    """TM 5-1185, 0.004 for each 10 °F from 80 °F; the last two as vehicle makers print the same rule."""
    assert battery.gravity_at_80f(gravity, (fahrenheit - 32) / 1.8) == pytest.approx(corrected, abs=1e-9)


@pytest.mark.parametrize(("volts", "percent"), [(11.7, 0), (12.0, 25), (12.2, 50), (12.4, 75), (12.6, 100)])
def test_rested_volts_have_the_charge_of_the_table(volts: float, percent: float) -> None:
    """TM 5-3805-262-20."""
    assert battery.charge_at_rest(volts, 12).percent == pytest.approx(percent)


@pytest.mark.parametrize(("nominal", "least"), [(6, 4.8), (12, 9.6), (24, 18)])
def test_cranking_volts_have_the_least_of_the_training_manual(nominal: int, least: float) -> None:
    """NAVEDTRA 14050."""
    assert battery.cranking_least(nominal) == least


@pytest.mark.parametrize(("low", "verdict"), [(1.255, "sound"), (1.254, "minor")])
def test_cells_of_a_charged_battery_may_differ_by_25_points(low: float, verdict: str) -> None:
    """TM 9-6140-200-14 paragraph 4-7: more than 0.025 between any two cells is unserviceable."""
    said = battery.advise_gravity({"1": 1.28, "2": 1.28, "3": low}, battery.REFERENCE_CELSIUS)
    assert said.verdict == verdict


def test_one_set_of_compressions_passes_two_published_rules_and_fails_the_third() -> None:
    """125, 122, 118, 95: TM 5-4210-230-14&P-1, TM 1-1500-204-23-1 and TM 10-3930-618-20."""
    cylinders = {str(n): value * PSI for n, value in enumerate((125, 122, 118, 95), 1)}
    assert compression.lowest_of_highest(cylinders) == pytest.approx(76)
    assert compression.below_mean(cylinders) == pytest.approx(17.4, abs=0.05)
    assert compression.spread(cylinders) == pytest.approx(30 * PSI)
    assert [ruled.met for ruled in compression.rules(cylinders)] == [True, True, False]


@pytest.mark.parametrize(
    ("grade", "verdict"),
    [
        (rubber.grade_chunk((3 * INCH, 4 * INCH), RubberLimits()), "dangerous"),
        (rubber.grade_chunk((2 * INCH, 3 * INCH), RubberLimits()), "sound"),
        (rubber.grade_missing(21, RubberLimits()), "major"),
        (rubber.grade_separation(INCH, 76, RubberLimits()), "dangerous"),
        (rubber.grade_path(51, RubberLimits()), "major"),
    ],
)
def test_rubber_is_graded_as_the_armys_maintenance_magazine_has_it(grade: str, verdict: str) -> None:
    """PS Magazine 614 (3 x 4 in, 20 %, 1 in over 75 %) and 618 (path rubber, 50 %)."""
    assert grade == verdict
