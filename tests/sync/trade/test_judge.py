"""Readings against limits in words, distances in tolerances, and the odd one out in words."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builder.fleet import ReadingLimits
from sync.errors import TradeError
from sync.trade import spots
from sync.trade.judge import advise, agree, judge, plausible
from sync.trade.units import Amount

SAG = ReadingLimits(quantity="length", unit="mm", low=15, high=35, tolerance=3, least=0, most=300)
LEVEL = ReadingLimits(quantity="length", unit="mm", low=10, high=40, tolerance=2)
numbers = st.floats(-400, 400)


def mm(value: float) -> Amount:
    return Amount(value, "mm")


def test_a_reading_above_says_by_how_much_and_over_what() -> None:
    assert judge(mm(61), SAG).words == "61 mm is 26 mm above the highest allowed (35 mm)"


def test_a_reading_in_another_unit_is_told_in_both() -> None:
    assert judge(Amount(2.4, "in"), SAG).words == ("2.4 in is 1.022 in above the highest allowed (1.38 in = 35 mm)")


def test_a_temperature_difference_is_told_in_kelvin() -> None:
    hub = ReadingLimits(quantity="temperature", unit="°C", high=80)
    assert judge(Amount(95, "°C"), hub).words == "95 °C is 15 K above the highest allowed (80 °C)"


@pytest.mark.parametrize(
    ("low", "high", "words"),
    [
        (15, 35, "25 mm is in range (15 mm to 35 mm)"),
        (15, None, "25 mm is in range (15 mm or more)"),
        (None, 35, "25 mm is in range (at most 35 mm)"),
        (None, 0, "0 mm is in range (at most 0 mm)"),
    ],
)
def test_a_reading_within_says_its_range(low: float | None, high: float | None, words: str) -> None:
    limits = ReadingLimits(quantity="length", unit="mm", low=low, high=high)
    assert judge(mm(0 if high == 0 else 25), limits).words == words


@pytest.mark.parametrize(
    ("least", "most", "words"),
    [
        (0, 300, r"expected at least 0 and at most 300 mm"),
        (0, None, r"expected at least 0 mm"),
        (None, None, r"-5 mm cannot be: measure again"),
    ],
)
def test_an_implausible_reading_says_what_is_expected(least: float | None, most: float | None, words: str) -> None:
    limits = ReadingLimits(quantity="length", unit="mm", low=15, least=least, most=most)
    assert words in judge(mm(-5), limits).words


@pytest.mark.parametrize("value", [math.nan, math.inf, -math.inf])
def test_no_number_at_all_is_implausible(value: float) -> None:
    assert judge(mm(value), SAG).position == "implausible"
    assert not plausible(mm(value), SAG)


def test_a_unit_of_another_quantity_is_refused() -> None:
    with pytest.raises(TradeError, match='"psi" is no unit of length'):
        judge(Amount(5, "psi"), SAG)


@given(before=numbers, after=numbers)
def test_a_level_that_rose_is_never_green(before: float, after: float) -> None:
    judged = judge(mm(after), LEVEL, earlier=mm(before))
    assert not (judged.green and after > before)


@given(value=numbers)
def test_a_reading_is_green_only_between_its_limits(value: float) -> None:
    assert judge(mm(value), SAG).green == (15 - 1e-7 <= value <= 35 + 1e-7)


@given(st.lists(numbers, max_size=5))
def test_readings_agree_in_any_order(values: list[float]) -> None:
    readings = [mm(value) for value in values]
    assert agree(readings, SAG) == agree(readings[::-1], SAG)


def test_no_readings_at_all_agree_without_any_tolerance() -> None:
    assert agree([], ReadingLimits(quantity="length", unit="mm"))


@pytest.mark.parametrize(
    ("value", "verdict"),
    [(25, "sound"), (10, "minor"), (61, "minor"), (-5, "not judged")],
)
def test_the_advice_takes_the_faults_severity_outside(value: float, verdict: str) -> None:
    assert advise("Sag", mm(value), SAG, outside="minor").verdict == verdict


def test_the_advice_on_a_risen_level_is_not_sound() -> None:
    assert advise("Oil", mm(25.1), LEVEL, earlier=mm(25)).verdict == "advisory"


def test_the_advice_on_a_marginal_reading_asks_to_measure_once_more() -> None:
    assert "measure once more" in advise("Sag", mm(37), SAG).todo[0]
    assert not any("once more" in line for line in advise("Sag", mm(61), SAG).todo)


def test_the_advice_without_limits_asks_for_them() -> None:
    said = advise("Sag", mm(25), ReadingLimits(quantity="length", unit="mm"))
    assert (said.verdict, said.todo) == (
        "not judged",
        ("Give low and high for this check, from the maker's manual.",),
    )


def test_the_advice_shows_reading_limits_and_what_came_before() -> None:
    said = advise("Oil", mm(25), LEVEL, earlier=mm(24))
    assert [figure.name for figure in said.inputs] == ["reading", "earlier", "low", "high", "tolerance"]


def test_one_reading_has_no_fellows() -> None:
    with pytest.raises(TradeError, match="has no fellows"):
        spots.odd_ones({"1": 40}, 20)


@given(st.permutations([40.0, 41.0, 42.0, 43.0, 90.0]))
def test_the_odd_one_does_not_depend_on_the_order(values: list[float]) -> None:
    found = spots.odd_ones({str(n): value for n, value in enumerate(values)}, 20)
    assert [one.value for one in found.odd] == [90]


@pytest.mark.parametrize(
    ("values", "headline", "verdict", "lines"),
    [
        ({"1": 41, "2": 43, "3": 40, "4": 88}, "Hub 4 is the odd one: 88 °C, 47 above", "major", 1),
        ({"1": 71, "2": 73, "3": 70, "4": 30}, "Hub 4 is the odd one: 30 °C, 41 below", "major", 1),
        ({"1": 41, "2": 43, "3": 40}, "No odd one out", "sound", 0),
        ({"left": 40, "right": 80}, "Hub left and right differ by 40 °C", "major", 2),
        ({"1": 40, "2": 41, "3": 80, "4": 81}, "They differ by 41 °C", "major", 2),
    ],
)
def test_the_comparison_is_said_in_words(values: dict[str, float], headline: str, verdict: str, lines: int) -> None:
    said = spots.advise(values, spots.HUBS)
    assert said.headline.startswith(headline)
    assert (said.verdict, len(said.todo)) == (verdict, lines)


def test_a_cold_hub_is_said_to_be_perhaps_the_faulty_one() -> None:
    said = spots.advise({"1": 71, "2": 73, "3": 70, "4": 30}, spots.HUBS)
    assert "the cold one may be the faulty one" in said.todo[0]


def test_a_kinds_severity_is_its_own() -> None:
    kind = replace(spots.HUBS, verdict="advisory")
    assert spots.advise({"1": 41, "2": 43, "3": 40, "4": 88}, kind).verdict == "advisory"
