"""The vectors that phone and workshop share: same inputs, same verdicts."""

import json
from pathlib import Path
from typing import Any

import pytest

from builder.fleet import ReadingLimits
from builder.leak_rules import FLUIDS, leak_rules
from builder.plausible import PLAUSIBLE
from builder.quantities import QUANTITIES, conversions
from sync.trade.judge import agree, judge
from sync.trade.leaks import LeakSeen, decide, found_on, group_of
from sync.trade.spots import odd_ones
from sync.trade.units import Amount, convert

VECTORS = Path(__file__).resolve().parents[2] / "vectors"


def vectors(name: str) -> dict[str, Any]:
    return dict(json.loads((VECTORS / f"{name}.json").read_text("utf-8")))


def said(case: dict[str, Any]) -> str:
    return str(case.get("name") or " ".join(str(value) for value in case.values()))


def amount(plain: dict[str, Any]) -> Amount:
    return Amount(plain["value"], plain["unit"])


@pytest.mark.parametrize("case", vectors("units")["cases"], ids=said)
def test_a_conversion_gives_what_the_vector_says(case: dict[str, Any]) -> None:
    found = convert(case["value"], case["from"], case["to"], case["quantity"])
    assert found == pytest.approx(case["expected"], rel=1e-9, abs=1e-9)


def test_the_unit_vectors_cover_every_unit_of_every_quantity() -> None:
    covered = {(case["quantity"], case["from"]) for case in vectors("units")["cases"]}
    assert covered == {(quantity, unit) for quantity, units in conversions().items() for unit in units}


@pytest.mark.parametrize("case", vectors("judge")["cases"], ids=said)
def test_a_reading_is_judged_as_the_vector_says(case: dict[str, Any]) -> None:
    limits = ReadingLimits(**case["limits"])
    earlier = amount(case["earlier"]) if "earlier" in case else None
    found = judge(amount(case["reading"]), limits, earlier)
    assert found.position == case["position"]
    assert found.outside == pytest.approx(case["outside"], abs=1e-6)
    assert found.marginal is case["marginal"]
    assert found.green is (case["position"] == "within")


def test_the_judging_vectors_reach_every_position() -> None:
    reached = {case["position"] for case in vectors("judge")["cases"]}
    assert reached == {"within", "below", "above", "risen", "implausible", "no limits"}


@pytest.mark.parametrize("case", vectors("agree")["cases"], ids=said)
def test_readings_agree_as_the_vector_says(case: dict[str, Any]) -> None:
    assert agree([amount(r) for r in case["readings"]], ReadingLimits(**case["limits"])) is case["agree"]


@pytest.mark.parametrize("case", vectors("odd")["cases"], ids=said)
def test_the_odd_one_out_is_the_vectors(case: dict[str, Any]) -> None:
    found = odd_ones(case["values"], case["may_differ"])
    assert [one.spot for one in found.odd] == case["odd"]
    assert found.differ is case["differ"]


@pytest.mark.parametrize("case", vectors("leaks")["cases"], ids=said)
def test_a_leak_is_decided_as_the_vector_says(case: dict[str, Any]) -> None:
    seen = LeakSeen(case["fluid"], case["class"], case["found"], case["stream"], case["level_ok"])
    rule = decide(seen)
    assert (rule.severity, rule.id, list(rule.bars)) == (case["severity"], case["rule"], case["bars"])


@pytest.mark.parametrize("case", vectors("leaks")["fluids"], ids=said)
def test_a_fluid_has_the_group_and_floor_of_the_vector(case: dict[str, Any]) -> None:
    assert (group_of(case["fluid"]), leak_rules().floor(case["fluid"])) == (case["group"], case["floor"])


def test_the_leak_vectors_cover_every_fluid() -> None:
    assert {case["fluid"] for case in vectors("leaks")["fluids"]} == set(FLUIDS)


@pytest.mark.parametrize("case", vectors("leaks")["rounds"], ids=said)
def test_a_round_finds_leaks_when_the_vector_says(case: dict[str, Any]) -> None:
    assert found_on(case["round"]) == case["found"]


def test_every_quantity_has_bounds_of_what_can_be() -> None:
    assert set(PLAUSIBLE) == set(QUANTITIES)
