"""Readings: whether they agree, and which lies farther outside; by the vectors that the phone is tested with too."""

import itertools
import json
from pathlib import Path

import pytest

from builder.edition import EditionCheck
from builder.fleet import ReadingLimits
from sync.entries import Reading
from sync.fold.readings import NO_LIMITS, Limits, limits_of, safer_reading
from tests.sync.fold.shed import shed

VECTORS = Path(__file__).parents[2] / "vectors"


def of(limits: dict[str, object]) -> Limits:
    return limits_of(shed(), EditionCheck(id="s/c", ask="?", reading=ReadingLimits.model_validate(limits)))


def reading(value: float, unit: str = "mm") -> Reading:
    return Reading(value, unit)


def cases(name: str) -> list[dict[str, object]]:
    return json.loads((VECTORS / f"{name}.json").read_text())["cases"]


@pytest.mark.parametrize("case", cases("agree"), ids=lambda case: case["name"])
def test_agreement(case):
    limits = of(case["limits"])
    pairs = itertools.combinations([reading(**r) for r in case["readings"]], 2)
    assert all(limits.agree(one, other) for one, other in pairs) is case["agree"]


@pytest.fixture
def sag() -> Limits:
    return of({"quantity": "length", "unit": "mm", "low": 15, "high": 35, "tolerance": 2})


@pytest.mark.parametrize(("value", "outside"), [(35, 0), (37, 1), (13, 1), (39, 2), (25, -5), (17, -1)])
def test_outside_counts_in_tolerances_below_and_above_alike(sag, value, outside):
    assert sag.outside(reading(value)) == pytest.approx(outside)


def test_outside_in_another_unit(sag):
    assert sag.outside(reading(2, "in")) == pytest.approx((50.8 - 35) / 2)


@pytest.mark.parametrize(("bounds", "value", "outside"), [({"low": 15}, 10, 5), ({"high": 35}, 40, 5), ({}, 40, 0)])
def test_a_bound_may_be_missing_and_without_a_tolerance_the_unit_counts(bounds, value, outside):
    assert of({"quantity": "length", "unit": "mm", **bounds}).outside(reading(value)) == pytest.approx(outside)


def test_limits_in_another_unit_than_the_base():
    limits = of({"quantity": "length", "unit": "in", "low": 1, "high": 2, "tolerance": 1})
    assert limits.outside(reading(76.2)) == pytest.approx(1)
    assert limits.agree(reading(25.4), reading(50.8))
    assert not limits.agree(reading(25.4), reading(50.9))


def test_limits_with_an_offset():
    limits = of({"quantity": "temperature", "unit": "°F", "high": 212, "tolerance": 9})
    assert limits.outside(reading(105, "°C")) == pytest.approx(1)
    assert limits.agree(reading(50, "°F"), reading(59, "°F"))
    assert not limits.agree(reading(50, "°F"), reading(59.1, "°F"))


def test_units_that_cannot_be_compared_agree_only_if_they_are_the_same(sag):
    assert sag.agree(reading(3, "furlong"), reading(3, "furlong"))
    assert not sag.agree(reading(3, "furlong"), reading(3, "mm"))
    assert not sag.agree(reading(3, "mm"), reading(3, "furlong"))
    assert sag.outside(reading(3, "furlong")) == 0


def test_a_check_that_measures_nothing_has_no_limits():
    assert limits_of(shed(), EditionCheck(id="s/c", ask="?")) == NO_LIMITS
    assert limits_of(shed(), None) == NO_LIMITS


def test_binary_fractions_do_not_part_what_is_equal():
    limits = of({"quantity": "voltage", "unit": "V", "low": 11, "high": 13, "tolerance": 0.1})
    assert limits.agree(reading(12.3, "V"), reading(12.4, "V"))
    assert not limits.agree(reading(12.3, "V"), reading(12.41, "V"))


def test_the_safer_reading_is_the_farther_outside_and_of_two_alike_the_larger(sag):
    assert safer_reading(sag, []) is None
    assert safer_reading(sag, [reading(36), reading(10), reading(25)]) == reading(10)
    assert safer_reading(sag, [reading(13), reading(37)]) == reading(37)
    assert safer_reading(sag, [reading(37), reading(13)]) == reading(37)


@pytest.fixture
def gravity() -> Limits:
    return of({"quantity": "specific gravity", "unit": "SG", "low": 1.2, "tolerance": 0.01})


@pytest.mark.parametrize(("value", "possible"), [(0, True), (-1, False), (300, True), (301, False), (25, True)])
def test_a_check_bounds_what_a_reading_can_be_at_all(value, possible):
    limits = of({"quantity": "length", "unit": "mm", "low": 15, "high": 35, "least": 0, "most": 300})
    assert limits.can_be(reading(value)) is possible


@pytest.mark.parametrize(("value", "possible"), [(1.25, True), (2, False), (0.1, False), (1.5, True)])
def test_a_quantity_bounds_it_where_the_check_does_not(gravity, value, possible):
    assert gravity.can_be(reading(value, "SG")) is possible


def test_the_bounds_of_a_check_count_in_its_own_unit():
    limits = of({"quantity": "temperature", "unit": "°F", "high": 212, "most": 500})
    assert limits.can_be(reading(260, "°C"))
    assert not limits.can_be(reading(261, "°C"))
    assert not limits.can_be(reading(-273.15, "°C"))


def test_a_reading_in_a_foreign_unit_may_be(sag):
    assert sag.can_be(reading(-3, "furlong"))


def test_a_reading_that_cannot_be_disputes_none_and_lies_nowhere_outside(gravity):
    assert gravity.agree(reading(2, "SG"), reading(1.25, "SG"))
    assert gravity.agree(reading(1.25, "SG"), reading(2, "SG"))
    assert gravity.outside(reading(2, "SG")) == float("-inf")


def test_the_safer_reading_is_one_that_can_be(sag):
    assert safer_reading(sag, [reading(-100), reading(25)]) == reading(25)
    assert safer_reading(sag, [reading(25), reading(-100)]) == reading(25)
    assert safer_reading(sag, [reading(-100)]) == reading(-100)
