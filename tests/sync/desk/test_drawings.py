"""The plan view and the charts: nothing lies out of the box, no two marks touch, what is outside is drawn so."""

import itertools
import math
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.desk.charts import SPARK_TALL, SPARK_WIDE, TALL, WIDE, chart, spark
from sync.desk.plan_view import APART, EDGE, spread
from sync.desk.plan_view import TALL as PLAN_TALL
from sync.desk.plan_view import WIDE as PLAN_WIDE
from sync.desk.readings import Trend
from sync.trade.trends import Point, Series, advise, fit

SHARES = st.floats(0, 1)
VALUES = st.floats(-1e6, 1e6)


@given(st.lists(st.tuples(SHARES, SHARES), max_size=20))
def test_every_station_stays_on_the_drawing(places: list[tuple[float, float]]) -> None:
    for x, y in spread(places):
        assert 0 <= x <= PLAN_WIDE
        assert 0 <= y <= PLAN_TALL


def test_stations_at_one_place_are_pushed_apart() -> None:
    points = spread([(0.5, 0.5)] * 4 + [(0.52, 0.5), (0.0, 0.5), (1.0, 0.5)])
    assert min(math.dist(one, other) for one, other in itertools.combinations(points, 2)) > APART * 0.9
    assert all(EDGE <= x <= PLAN_WIDE - EDGE for x, _ in points)


def trend(values: list[float], low: float | None = 20, high: float | None = 40) -> Trend:
    points = tuple(Point(float(n * 7), value) for n, value in enumerate(values))
    series = Series("Sag", points, "mm", "days", low, high, date(2026, 4, 1))
    return Trend("", series, fit(points) if len(points) > 3 else None, advise(series))


@given(st.lists(VALUES, min_size=1, max_size=12), st.one_of(st.none(), VALUES), st.one_of(st.none(), VALUES))
def test_every_dot_of_a_chart_stays_in_its_box(values: list[float], low: float | None, high: float | None) -> None:
    drawn = chart(trend(values, low, high))
    assert len(drawn.dots) == len(values)
    assert all(0 <= dot.x <= WIDE and 0 <= dot.y <= TALL for dot in drawn.dots)


def test_what_lies_outside_is_marked_and_higher_values_lie_higher() -> None:
    drawn = chart(trend([30, 35, 40, 41]))
    assert [dot.outside for dot in drawn.dots] == [False, False, False, True]
    assert [dot.value for dot in drawn.dots] == ["30 mm", "35 mm", "40 mm", "41 mm"]
    assert sorted((dot.y for dot in drawn.dots), reverse=True) == [dot.y for dot in drawn.dots]


def test_days_go_from_left_to_right() -> None:
    drawn = chart(trend([30, 31, 32]))
    assert [dot.when for dot in drawn.dots] == ["2026-04-01", "2026-04-08", "2026-04-15"]
    assert [mark.text for mark in drawn.ends] == ["2026-04-01", "2026-04-15"]
    assert drawn.dots[0].x < drawn.dots[1].x < drawn.dots[2].x


def test_a_line_is_drawn_where_there_are_readings_enough() -> None:
    assert chart(trend([30, 31])).line == ""
    assert chart(trend([30, 31, 33, 36])).line.startswith("M")


@pytest.mark.parametrize(("low", "high", "top", "bottom"), [(20.0, None, True, False), (None, 40.0, False, True)])
def test_an_open_side_is_shaded_to_the_edge(low: float | None, high: float | None, top: bool, bottom: bool) -> None:
    drawn = chart(trend([30, 31], low, high))
    assert (drawn.band[0] == 14, drawn.band[1] == TALL - 26) == (top, bottom)


def test_a_small_drawing_has_a_line_over_time_and_dots_side_by_side() -> None:
    points = [("a", 30.0), ("b", 50.0), ("c", 31.0)]
    over_time = spark(points, "mm", 20, 40, over_time=True)
    beside = spark(points, "mm", 20, 40, over_time=False)
    assert (over_time.path[:1], len(over_time.dots)) == ("M", 1)
    assert (beside.path, [dot.outside for dot in beside.dots]) == ("", [False, True, False])
    assert all(0 <= dot.x <= SPARK_WIDE and 0 <= dot.y <= SPARK_TALL for dot in beside.dots)
    assert beside.words == "a 30 mm, b 50 mm, c 31 mm"
