"""Brakes: each rule's steps, who is exempt, and what is said beside the verdict."""

import math
from datetime import date

import pytest

from sync.errors import TradeError
from sync.trade import brake_advice as advice
from sync.trade import brakes
from sync.trade.brakes import FEET, MPH, PSI, Scope

MODERN = Scope(date(1952, 5, 1))
TRACKED = Scope(date(1952, 5, 1), tracked=True)


@pytest.mark.parametrize(
    ("seconds", "system", "verdict"),
    [(180, "air", "sound"), (181, "air", "major"), (60, "vacuum", "sound"), (61, "vacuum", "major")],
)
def test_build_up_is_three_minutes_for_air_and_one_for_vacuum(
    seconds: float, system: brakes.System, verdict: str
) -> None:
    assert advice.advise_build_up(seconds, system, MODERN).verdict == verdict


@pytest.mark.parametrize(
    ("first_used", "verdict"),
    [(date(1937, 9, 30), "not judged"), (date(1937, 10, 1), "major"), (None, "major")],
)
def test_a_vehicle_first_used_before_october_1937_is_exempt_from_build_up(
    first_used: date | None, verdict: str
) -> None:
    said = advice.advise_build_up(400, "air", Scope(first_used))
    assert said.verdict == verdict
    assert ("does not bind" in said.headline) is (verdict == "not judged")
    assert any("exempt" in line for line in said.assumptions) is (first_used != date(1937, 10, 1))


def test_a_tracked_vehicle_is_told_that_the_road_test_is_a_guide_only() -> None:
    for said in (
        advice.advise_build_up(100, "air", TRACKED),
        advice.advise_leak_down(advice.LeakDown(10, 1, applied=True), TRACKED),
        advice.advise_reserve(5, TRACKED),
        advice.advise_stop(9, 10, TRACKED),
        advice.advise_parking(20, 16, TRACKED),
        advice.advise_lining(5, at_indicator=False, contaminated=False, scope=TRACKED),
        advice.advise_fluid("in range", TRACKED),
    ):
        assert any("guide only" in line for line in said.assumptions)


def test_a_wheeled_vehicle_is_not_told_of_tracks() -> None:
    assert MODERN.notes == ()
    assert MODERN.build_up_notes == ()


def test_no_time_at_all_is_refused() -> None:
    with pytest.raises(TradeError, match="time to build up is 0 s; possible is more than 0"):
        advice.advise_build_up(0, "air", MODERN)


def test_only_air_and_vacuum_store_energy() -> None:
    assert (brakes.check_system("air"), brakes.check_system("vacuum")) == ("air", "vacuum")
    with pytest.raises(TradeError, match='"steam" is no stored-energy brake'):
        brakes.check_system("steam")


@pytest.mark.parametrize(
    ("applied", "combination", "most"),
    [(True, False, 3), (True, True, 4), (False, False, 2), (False, True, 3)],
)
def test_leak_down_has_a_limit_for_each_case(applied: bool, combination: bool, most: float) -> None:
    at = advice.LeakDown(most * PSI * 2, 2, applied, combination)
    over = advice.LeakDown(most * PSI * 2.01, 2, applied, combination)
    assert advice.advise_leak_down(at, MODERN).verdict == "sound"
    assert advice.advise_leak_down(over, MODERN).verdict == "major"


@pytest.mark.parametrize(("drop", "minutes"), [(-1, 1), (1, 0), (1, -1), (math.nan, 1)])
def test_an_impossible_leak_down_is_refused(drop: float, minutes: float) -> None:
    with pytest.raises(TradeError):
        brakes.leak_down_rate(drop, minutes)


@pytest.mark.parametrize(
    ("applications", "verdict"), [(0, "dangerous"), (1, "dangerous"), (2, "major"), (3, "major"), (4, "sound")]
)
def test_reserve_is_graded_by_full_applications(applications: int, verdict: str) -> None:
    assert advice.advise_reserve(applications, MODERN).verdict == verdict


def test_applications_are_not_fewer_than_none() -> None:
    with pytest.raises(TradeError, match="applications is -1"):
        brakes.grade_reserve(-1)


@pytest.mark.parametrize(("feet", "verdict"), [(34.9, "sound"), (35, "sound"), (35.1, "major")])
def test_a_stop_from_twenty_miles_an_hour_has_thirty_five_feet(feet: float, verdict: str) -> None:
    said = advice.advise_stop(20 * MPH, feet * FEET, MODERN)
    assert said.verdict == verdict
    assert any("guide" in line for line in said.cautions)


@pytest.mark.parametrize(
    ("speed", "distance", "lag"), [(0, 10, 0), (10, 0, 0), (10, 1, 0.2), (10, 10, -1), (math.inf, 10, 0)]
)
def test_an_impossible_stop_is_refused(speed: float, distance: float, lag: float) -> None:
    with pytest.raises(TradeError):
        brakes.deceleration(speed, distance, lag)


@pytest.mark.parametrize(("speed", "rate", "lag"), [(-1, 5, 0), (10, 0, 0), (10, 5, -0.1)])
def test_an_impossible_stopping_distance_is_refused(speed: float, rate: float, lag: float) -> None:
    with pytest.raises(TradeError):
        brakes.stopping_distance(speed, rate, lag)


def test_deceleration_undoes_stopping_distance() -> None:
    assert brakes.deceleration(9, brakes.stopping_distance(9, 4, 0.2), 0.2) == pytest.approx(4)


@pytest.mark.parametrize(
    ("efficiency", "verdict"), [(7.9, "dangerous"), (8, "major"), (15.9, "major"), (16, "sound"), (30, "sound")]
)
def test_the_parking_brake_is_judged_by_what_is_required_and_half_of_it(efficiency: float, verdict: str) -> None:
    assert advice.advise_parking(efficiency, 16, MODERN).verdict == verdict


def test_without_a_required_efficiency_the_fact_is_named() -> None:
    said = advice.advise_parking(16, None, MODERN)
    assert (said.verdict, [fact.key for fact in said.missing]) == ("not judged", ["parking_brake_percent"])


@pytest.mark.parametrize(("efficiency", "required"), [(-1, 16), (151, 16), (16, 0)])
def test_an_impossible_efficiency_is_refused(efficiency: float, required: float) -> None:
    with pytest.raises(TradeError):
        brakes.grade_parking(efficiency, required)


def test_efficiency_comes_from_forces_or_from_a_slope_held() -> None:
    assert brakes.parking_efficiency(1600, 10_000) == 16
    assert brakes.holding_efficiency(0) == 0
    assert brakes.holding_efficiency(16) == pytest.approx(15.799, abs=1e-3)
    with pytest.raises(TradeError, match="weight"):
        brakes.parking_efficiency(10, 0)
    with pytest.raises(TradeError, match="gradient is 61 %"):
        brakes.holding_efficiency(61)


@pytest.mark.parametrize(
    ("thickness", "at_indicator", "contaminated", "verdict"),
    [
        (1.4, False, False, "dangerous"),
        (1.5, False, False, "sound"),
        (5, True, False, "major"),
        (5, False, True, "major"),
        (1.4, True, True, "dangerous"),
    ],
)
def test_lining_is_judged_by_thickness_indicator_and_contamination(
    thickness: float, at_indicator: bool, contaminated: bool, verdict: str
) -> None:
    said = advice.advise_lining(thickness, at_indicator=at_indicator, contaminated=contaminated, scope=MODERN)
    assert said.verdict == verdict
    assert ("at its wear indicator" in said.headline) is at_indicator
    assert any("asbestos" in line for line in said.cautions)


def test_an_impossible_lining_is_refused() -> None:
    with pytest.raises(TradeError, match="lining thickness is -1 mm"):
        brakes.grade_lining(-1, at_indicator=False, contaminated=False)


@pytest.mark.parametrize(
    ("level", "verdict", "lines"),
    [
        ("in range", "sound", 0),
        ("below minimum", "minor", 1),
        ("well below minimum", "major", 3),
        ("not visible", "dangerous", 3),
    ],
)
def test_fluid_is_judged_by_what_can_be_seen_of_it(level: brakes.FluidLevel, verdict: str, lines: int) -> None:
    said = advice.advise_fluid(level, MODERN)
    assert (said.verdict, len(said.todo)) == (verdict, lines)


def test_a_grave_brake_verdict_says_not_to_drive_and_asks_for_a_second_person() -> None:
    assert "tested by a second person" in advice.advise_reserve(1, MODERN).todo[-1]
    assert advice.advise_reserve(4, MODERN).todo == ()
