"""Compressions by three rules that need not agree, and rubber by the vehicle's own limits."""

import math

import pytest

from sync.errors import TradeError
from sync.trade import compression, rubber
from sync.trade.rubber import INCH, RubberLimits, WheelRubber, limits_of

PSI = 6.894757


def kpa(*psi: float) -> dict[str, float]:
    return {str(n): value * PSI for n, value in enumerate(psi, 1)}


@pytest.mark.parametrize(
    ("psi", "met", "verdict"),
    [
        ((125, 122, 118, 120), (True, True, True), "sound"),
        ((125, 122, 118, 95), (True, True, False), "advisory"),
        ((100, 100, 100, 70), (False, False, False), "major"),
        ((130, 100, 100, 95), (False, True, False), "major"),
        ((20, 14, 16, 16), (False, True, True), "major"),
        ((100, 100, 100, 100, 100, 100, 76), (True, False, False), "major"),
        ((100, 90), (True, True, True), "sound"),
        ((100, 75), (True, True, False), "advisory"),
        ((16, 12, 16, 16), (True, False, True), "major"),
    ],
)
def test_each_rule_is_named_apart_and_judged_by_itself(
    psi: tuple[float, ...], met: tuple[bool, bool, bool], verdict: str
) -> None:
    assert tuple(ruled.met for ruled in compression.rules(kpa(*psi))) == met
    assert compression.advise(kpa(*psi)).verdict == verdict


def test_all_rules_met_needs_nothing_done() -> None:
    said = compression.advise(kpa(125, 122, 118, 120))
    assert (said.headline, said.todo) == ("All three spread rules are met.", ())


def test_rules_that_disagree_are_said_to() -> None:
    said = compression.advise(kpa(125, 122, 118, 95))
    assert said.headline.startswith('The rules disagree: cylinder 4 does not meet "no more than 10 lbf/in² apart"')
    assert said.figures[2].text == "not met, 206.8 kPa (30 lbf/in²)"


def test_a_cylinder_low_by_all_three_is_said_to_be() -> None:
    said = compression.advise(kpa(125, 122, 60, 124))
    assert said.headline.startswith("Cylinder 3 is low by all three rules")
    assert "spoon of oil into cylinder 3" in said.todo[0]
    assert len(said.todo) == 1


def test_two_low_neighbours_suggest_the_gasket_between_them() -> None:
    said = compression.advise(kpa(125, 60, 62, 124))
    assert said.todo[1].startswith("Cylinders 2 and 3 are neighbours")
    assert len(compression.advise(kpa(60, 125, 62, 124)).todo) == 1
    on_it = {"1": 400.0, "2": 300.0, "3": 240.0, "4": 400.0}  # 75 % is not under 75 %
    assert len(compression.advise(on_it).todo) == 1


@pytest.mark.parametrize(
    ("pressures", "words"),
    [
        ({}, "0 cylinder has no fellows"),
        ({"1": 800}, "1 cylinder has no fellows"),
        ({"1": 800, "2": 0}, "compression of cylinder 2 is 0 kPa"),
        ({"1": 800, "2": math.nan}, "compression of cylinder 2"),
    ],
)
def test_impossible_compressions_are_refused_by_cylinder(pressures: dict[str, float], words: str) -> None:
    with pytest.raises(TradeError, match=words):
        compression.advise(pressures)


@pytest.mark.parametrize(
    ("chunk", "verdict"),
    [
        ((3 * INCH, 4 * INCH), "dangerous"),
        ((4 * INCH, 3 * INCH), "dangerous"),
        ((3.9 * INCH, 3.1 * INCH), "major"),
        ((2 * INCH, 6 * INCH), "major"),
        ((2 * INCH, 5.9 * INCH), "sound"),
        ((0, 0), "sound"),
    ],
)
def test_a_missing_chunk_is_judged_by_both_sides_and_by_area(chunk: tuple[float, float], verdict: str) -> None:
    assert rubber.grade_chunk(chunk, RubberLimits()) == verdict


@pytest.mark.parametrize(("percent", "verdict"), [(0, "sound"), (20, "sound"), (20.1, "major"), (100, "major")])
def test_small_chunks_are_judged_by_their_share_of_the_tread(percent: float, verdict: str) -> None:
    assert rubber.grade_missing(percent, RubberLimits()) == verdict


@pytest.mark.parametrize(
    ("width", "way_round", "verdict"),
    [
        (INCH, 75, "dangerous"),
        (INCH, 74.9, "advisory"),
        (INCH - 0.1, 100, "advisory"),
        (0, 100, "sound"),
        (10, 0, "sound"),
    ],
)
def test_separation_is_judged_by_width_and_way_round(width: float, way_round: float, verdict: str) -> None:
    assert rubber.grade_separation(width, way_round, RubberLimits()) == verdict


@pytest.mark.parametrize(("percent", "verdict"), [(50, "sound"), (50.1, "major")])
def test_path_rubber_may_miss_up_to_half(percent: float, verdict: str) -> None:
    said = rubber.advise_path(percent, RubberLimits())
    assert said.verdict == verdict
    assert bool(said.todo) is (verdict == "major")


def test_the_gravest_of_a_wheels_three_rules_decides_and_is_named() -> None:
    wheel = WheelRubber((3 * INCH, 4 * INCH), missing=30, separation_width=5, separation_round=10)
    said = rubber.advise_wheel(wheel, RubberLimits())
    assert (said.verdict, said.headline) == ("dangerous", "Road-wheel rubber: largest chunk, dangerous.")
    assert said.todo == ("Do not run it on this wheel: change the wheel.",)
    assert rubber.advise_wheel(WheelRubber(), RubberLimits()).headline == "Road-wheel rubber is sound."


def test_a_vehicles_own_rubber_limits_stand_before_the_published_ones() -> None:
    own = limits_of({"rubber_missing_percent": 10, "path_rubber_percent": 30})
    assert own == RubberLimits(missing=10, path=30)
    assert rubber.grade_missing(15, own) == "major"
    assert limits_of({}) == RubberLimits()


@pytest.mark.parametrize(
    "judged",
    [
        lambda: rubber.grade_chunk((-1, 10), RubberLimits()),
        lambda: rubber.grade_missing(101, RubberLimits()),
        lambda: rubber.grade_separation(-1, 10, RubberLimits()),
        lambda: rubber.grade_separation(1, 101, RubberLimits()),
        lambda: rubber.grade_path(-1, RubberLimits()),
    ],
)
def test_impossible_rubber_is_refused(judged: object) -> None:
    assert callable(judged)
    with pytest.raises(TradeError, match="possible is"):
        judged()
