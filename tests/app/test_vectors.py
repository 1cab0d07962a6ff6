"""What the phone reckons is what the workshop reckons: the same vectors, run in the browser."""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.app.conftest import Bench

VECTORS = Path(__file__).resolve().parent.parent / "vectors"
EDITION = 'const edition = await (await fetch("edition.json")).json();'


def cases(name: str, part: str = "cases") -> list[dict[str, Any]]:
    found = json.loads((VECTORS / f"{name}.json").read_text("utf-8"))[part]
    assert found
    return list(found)


def test_units_convert_as_at_the_workshop(bench: Bench) -> None:
    given = cases("units")
    got = bench.run(
        EDITION + "const { convert } = await load('units');"
        "return given.map((c) => convert(c.value, c.from, c.to, c.quantity, edition.conversions));",
        given,
    )
    for case, value in zip(given, got, strict=True):
        assert value == pytest.approx(case["expected"], rel=1e-9, abs=1e-9), case


def test_readings_are_judged_as_at_the_workshop(bench: Bench) -> None:
    given = cases("judge")
    got = bench.run(
        EDITION + "const { judge } = await load('judge');"
        "return given.map((c) => judge(c.reading, c.limits, edition, c.earlier ?? null));",
        given,
    )
    for case, judged in zip(given, got, strict=True):
        assert (judged["position"], judged["marginal"]) == (case["position"], case["marginal"]), case["name"]
        assert judged["outside"] == pytest.approx(case["outside"], abs=1e-6), case["name"]


def of_leaks(bench: Bench, given: list[Any], returned: str) -> Any:
    """What the phone's leak rules return for each case `c`."""
    rules = "const { callLeak, neverRule, foundOn } = await load('leaks');"
    return bench.run(f"{EDITION}{rules} return given.map((c) => {returned});", given)


def test_leaks_are_called_as_at_the_workshop(bench: Bench) -> None:
    given = cases("leaks")
    got = of_leaks(bench, given, "callLeak(edition.leak_rules, c.fluid, c, c.found)")
    for case, call in zip(given, got, strict=True):
        said = (call["severity"], call["rule"]["id"], call["rule"].get("bars", []))
        assert said == (case["severity"], case["rule"], case["bars"]), case


def test_no_leak_goes_below_its_published_floor(bench: Bench) -> None:
    given = cases("leaks", "fluids")
    got = of_leaks(bench, given, "neverRule(edition.leak_rules, c.fluid)?.floor ?? null")
    assert got == [case["floor"] for case in given]


def test_a_round_finds_leaks_when_the_workshop_says(bench: Bench) -> None:
    given = cases("leaks", "rounds")
    got = of_leaks(bench, given, "foundOn(edition.leak_rules, c.round)")
    assert got == [case["found"] for case in given]


def test_the_odd_one_out_is_the_workshops(bench: Bench) -> None:
    given = cases("odd")
    got = bench.run(
        "const { oddOnes } = await load('spots');return given.map((c) => oddOnes(c.values, c.may_differ));", given
    )
    for case, found in zip(given, got, strict=True):
        assert [one["spot"] for one in found["odd"]] == case["odd"], case["name"]
        assert found["differ"] == case["differ"], case["name"]


def test_numbers_are_read_as_people_type_them(bench: Bench) -> None:
    typed = {
        "61": 61, " 61,5 ": 61.5, "0.25": 0.25, ".5": 0.5, "-4": -4, "−4": -4, "3/8": 0.375, "2 3/8": 2.375,
        "": None, "six": None, "1/0": None, "1 2": None, "--1": None, "1e3": None, "1,2,3": None,
    }  # fmt: skip
    got = bench.run("const { parseValue } = await load('judge'); return given.map(parseValue);", list(typed))
    assert dict(zip(typed, got, strict=True)) == typed
