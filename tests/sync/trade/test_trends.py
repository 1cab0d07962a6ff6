"""Trends: only where the evidence is there; and the season's figures."""

import math
from dataclasses import replace
from datetime import date

import pytest

from sync.errors import TradeError
from sync.trade import quantiles, risk, season, trends
from sync.trade.trends import Point, Series, advise, crossing, evidence, fit, recurrence


def points(*values: float) -> tuple[Point, ...]:
    return tuple(Point(x, value) for x, value in enumerate(values))


FALLING = Series("Lining", points(12.0, 11.6, 11.1, 10.8, 10.2), "mm", low=9)


@pytest.mark.parametrize(
    ("given", "enough"),
    [
        (points(1, 2, 3), False),
        (points(1, 2, 3, 4), True),
        ((Point(0, 1), Point(0, 2), Point(1, 3), Point(1, 4)), False),
        ((Point(0, 1), Point(0, 2), Point(1, 3), Point(2, 4)), True),
        ((), False),
    ],
)
def test_four_readings_at_three_times_are_the_least(given: tuple[Point, ...], enough: bool) -> None:
    series = replace(FALLING, points=given)
    assert (evidence(series) == "") is enough
    said = advise(series)
    assert (said.verdict == "not judged") is not enough
    assert ("not enough to tell" in said.headline) is not enough


def test_a_falling_reading_says_when_it_may_pass_its_limit() -> None:
    said = advise(FALLING)
    assert said.headline == (
        "Lining: falling by 0.44 mm per day; could pass 9 mm from 6 days, by the line on 6.9 days."
    )
    assert said.verdict == "minor"


def test_with_a_first_day_the_times_are_dates() -> None:
    said = advise(replace(FALLING, first_day=date(2026, 5, 1)))
    assert "from 2026-05-06, by the line on 2026-05-07" in said.headline


def test_running_hours_stay_hours_whatever_the_first_day() -> None:
    said = advise(replace(FALLING, unit_x="running hours", first_day=date(2026, 5, 1)))
    assert "per running hour" in said.headline
    assert "6.9 running hours" in said.headline


def test_scatter_without_a_slope_is_no_trend() -> None:
    said = advise(replace(FALLING, points=points(10, 11, 10, 11, 10)))
    assert (said.verdict, "no trend" in said.headline) == ("sound", True)


def test_readings_that_never_change_are_no_trend() -> None:
    assert advise(replace(FALLING, points=points(10, 10, 10, 10))).verdict == "sound"


def test_a_trend_away_from_the_only_limit_is_told_without_a_date() -> None:
    said = advise(replace(FALLING, low=None, high=20))
    assert (said.verdict, said.headline.endswith("no limit on that side.")) == ("advisory", True)


def test_a_limit_farther_off_than_was_observed_gets_no_date() -> None:
    said = advise(replace(FALLING, low=5))
    assert "does not reach its limit in as long again" in said.headline
    assert said.todo == ()


def test_a_limit_that_only_the_prediction_reaches_gets_the_earliest_date_alone() -> None:
    said = advise(replace(FALLING, low=8.4))
    assert "could pass 8.4 mm from" in said.headline
    assert "by the line" not in said.headline


def test_a_line_already_past_its_limit_is_graver_than_a_forecast() -> None:
    said = advise(replace(FALLING, low=10.5))
    assert said.verdict == "major"


def test_a_rising_reading_is_held_against_its_high_limit() -> None:
    rising = Series("Play", points(1, 2.1, 2.9, 4), "mm", high=6)
    found = crossing(fit(rising.points), rising)
    assert found is not None
    assert found.limit == 6
    assert found.earliest is not None
    assert found.by_line is not None
    assert 3 < found.earliest < found.by_line < 6


def test_the_earliest_crossing_is_where_the_prediction_meets_the_limit() -> None:
    line = fit(FALLING.points)
    found = crossing(line, FALLING)
    assert found is not None
    assert found.earliest is not None
    assert found.by_line is not None
    assert line.at(found.earliest) - line.half_width(found.earliest) == pytest.approx(9, abs=1e-6)
    assert line.at(found.by_line) == pytest.approx(9, abs=1e-6)


@pytest.mark.parametrize(
    "given",
    [
        points(1, 2),
        (Point(1, 1), Point(1, 2), Point(1, 3)),
        (*points(1, 2, 3), Point(math.nan, 1)),
        (*points(1, 2, 3), Point(4, math.inf)),
    ],
)
def test_what_makes_no_line_is_refused(given: tuple[Point, ...]) -> None:
    with pytest.raises(TradeError, match=r"make no line|is no number"):
        fit(given)


@pytest.mark.parametrize(
    ("count", "hours", "words"),
    [
        (3, 42, "3 times in 42 running hours"),
        (1, 42.5, "once in 42.5 running hours"),
        (2, None, "twice, running hours not kept"),
        (0, 10, "0 times in 10 running hours"),
    ],
)
def test_recurrence_is_a_bare_count_per_running_hours(count: int, hours: float | None, words: str) -> None:
    assert recurrence(count, hours) == words


@pytest.mark.parametrize(("count", "hours"), [(-1, 10), (1, -10), (1, math.inf)])
def test_an_impossible_recurrence_is_refused(count: int, hours: float) -> None:
    with pytest.raises(TradeError, match="cannot be"):
        recurrence(count, hours)


@pytest.mark.parametrize(("confidence", "freedom"), [(0, 5), (1, 5), (0.95, 0)])
def test_quantiles_refuse_what_they_cannot_have(confidence: float, freedom: int) -> None:
    for quantile in (quantiles.t_quantile, quantiles.chi_square_quantile_even):
        with pytest.raises(TradeError, match=r"confidence|freedom"):
            quantile(confidence, freedom)


@pytest.mark.parametrize(
    "refused",
    [
        lambda: season.operational_availability(0, 1, 1),
        lambda: season.operational_availability(1, -1, 1),
        lambda: season.operational_availability(1, 1, -1),
        lambda: season.mtbf_lower_bound(0, 0),
        lambda: season.mtbf_lower_bound(10, -1),
        lambda: season.mtbf_lower_bound(10, 0, 1),
        lambda: season.laplace([], 100),
        lambda: season.laplace([101], 100),
        lambda: season.laplace([1], 0),
        lambda: season.cohens_kappa([[1]]),
        lambda: season.cohens_kappa([[1, 2], [3]]),
        lambda: season.cohens_kappa([[0, 0], [0, 0]]),
        lambda: season.cohens_kappa([[5, 0], [0, 0]]),
        lambda: season.cohens_kappa([[-1, 0], [0, 2]]),
        lambda: season.fleiss_kappa([]),
        lambda: season.fleiss_kappa([[1, 0]]),
        lambda: season.fleiss_kappa([[2, 0], [1, 0]]),
        lambda: season.fleiss_kappa([[2, 0], [2, 0]]),
        lambda: risk.risk(5, "A"),
        lambda: risk.risk(1, "G"),
    ],
)
def test_impossible_season_figures_are_refused(refused: object) -> None:
    assert callable(refused)
    with pytest.raises(TradeError):
        refused()


def test_availability_is_told_with_and_without_waiting() -> None:
    said = season.advise_availability(60, 5, 15)
    assert said.headline == "Available 75 % of the time; 92.3 % if nothing waited."
    assert [figure.text for figure in said.figures] == ["75 %", "92.3 %"]


@pytest.mark.parametrize(
    ("times", "verdict", "words"),
    [
        ((), "not judged", "a lower bound only"),
        ((50,), "not judged", "no trend can be told"),
        ((90, 92, 94, 96, 98), "advisory", "they come more often"),
        ((2, 4, 6, 8, 10), "sound", "they come less often"),
    ],
)
def test_failures_are_told_with_their_trend(times: tuple[float, ...], verdict: str, words: str) -> None:
    said = season.advise_failures(times, 100)
    assert (said.verdict, words in said.headline) == (verdict, True)
    assert bool(said.todo) is (verdict == "advisory")


def test_a_risk_is_named_and_not_ruled_on() -> None:
    said = risk.advise(3, "e")
    assert (said.headline, said.verdict) == ("Marginal and improbable: Medium risk.", "not judged")


def test_trend_defaults_are_the_documented_ones() -> None:
    assert (trends.LEAST_READINGS, trends.LEAST_TIMES, trends.CONFIDENCE) == (4, 3, 0.95)
