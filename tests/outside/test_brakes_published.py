"""Brakes against 49 CFR 393.52 and the UK MOT inspection manual; the risk matrix against MIL-STD-882E."""

from datetime import date

import pytest

from sync.trade import brake_advice, brakes, risk
from sync.trade.brakes import FEET, MPH, Scope

MODERN = Scope(date(1952, 5, 1))


def test_pure_braking_from_twenty_miles_an_hour_takes_just_under_31_feet() -> None:
    """49 CFR 393.52, 20 mph at 14 ft/s^2: 30.73 ft by v^2 / 2a."""
    assert brakes.stopping_distance(20 * MPH, 14 * FEET) / FEET == pytest.approx(30.73, abs=0.005)


def test_the_rules_stop_from_its_own_speed_is_35_feet() -> None:
    """49 CFR 393.52: 35 ft from 20 mph."""
    assert brakes.allowed_distance(20 * MPH) / FEET == pytest.approx(35)


def test_fourteen_feet_per_second_squared_are_the_rules_percent_of_gravity() -> None:
    """49 CFR 393.52 prints 43.5 % braking force beside 14 ft/s^2 (from memory)."""
    assert pytest.approx(43.5, abs=0.05) == 100 * brakes.RULE_DECELERATION / brakes.G


@pytest.mark.parametrize(("system", "most"), [("air", 180), ("vacuum", 60)])
def test_build_up_has_the_manuals_minutes(system: brakes.System, most: float) -> None:
    """UK MOT inspection manual, section 1: warning off within 3 min (air), 1 min (vacuum)."""
    assert brake_advice.advise_build_up(most, system, MODERN).verdict == "sound"
    assert brake_advice.advise_build_up(most + 1, system, MODERN).verdict == "major"


def test_the_warning_without_a_mark_is_off_at_45_psi() -> None:
    """UK MOT inspection manual, section 1; 310.26 kPa."""
    assert pytest.approx(310.26, abs=0.005) == brakes.UNMARKED_WARNING_KPA
    assert "310.3 kPa" in " ".join(brake_advice.advise_build_up(100, "air", MODERN).assumptions)


@pytest.mark.parametrize(("first_used", "exempt"), [(date(1937, 9, 30), True), (date(1937, 10, 1), False)])
def test_build_up_exempts_vehicles_first_used_before_october_1937(first_used: date, exempt: bool) -> None:
    """UK MOT inspection manual, section 1."""
    assert Scope(first_used).exempt is exempt


@pytest.mark.parametrize(("applications", "verdict"), [(4, "sound"), (3, "major"), (1, "dangerous")])
def test_reserve_is_four_applications_and_two(applications: int, verdict: str) -> None:
    """UK MOT inspection manual, section 1: fewer than 4 major, fewer than 2 dangerous."""
    assert brakes.grade_reserve(applications) == verdict


@pytest.mark.parametrize(
    ("level", "verdict"), [("below minimum", "minor"), ("well below minimum", "major"), ("not visible", "dangerous")]
)
def test_brake_fluid_has_the_manuals_three_steps(level: brakes.FluidLevel, verdict: str) -> None:
    """UK MOT inspection manual, section 1."""
    assert brakes.FLUID_VERDICT[level] == verdict


def test_lining_has_the_manuals_steps() -> None:
    """UK MOT inspection manual, section 1: at wear indicator major, under 1.5 mm dangerous, contaminated major."""
    grades = [
        brakes.grade_lining(3, at_indicator=True, contaminated=False),
        brakes.grade_lining(1.4, at_indicator=False, contaminated=False),
        brakes.grade_lining(3, at_indicator=False, contaminated=True),
    ]
    assert grades == ["major", "dangerous", "major"]


def test_the_parking_brake_has_the_manuals_steps() -> None:
    """UK MOT inspection manual, section 1: below minimum major, below half of it dangerous."""
    assert [brakes.grade_parking(e, 16) for e in (16, 15, 7)] == ["sound", "major", "dangerous"]


@pytest.mark.parametrize(
    ("combination", "applied", "psi"), [(False, True, 3), (True, True, 4), (False, False, 2), (True, False, 3)]
)
def test_air_is_lost_no_faster_than_road_practice_has_it(combination: bool, applied: bool, psi: float) -> None:
    """3 and 4 psi a minute applied, 2 and 3 released (second hand)."""
    assert brakes.leak_down_most(applied, combination) == pytest.approx(psi * 6.894757)


#: MIL-STD-882E table III, row by row; 3E is Medium (a copy in circulation misprints Low).
MATRIX = {
    "A": "High High Serious Medium",
    "B": "High High Serious Medium",
    "C": "High Serious Medium Low",
    "D": "Serious Medium Medium Low",
    "E": "Medium Medium Medium Low",
    "F": "Eliminated Eliminated Eliminated Eliminated",
}


@pytest.mark.parametrize(("probability", "row"), MATRIX.items())
def test_the_risk_matrix_is_the_standards(probability: str, row: str) -> None:
    assert [risk.risk(severity, probability) for severity in (1, 2, 3, 4)] == row.split()
