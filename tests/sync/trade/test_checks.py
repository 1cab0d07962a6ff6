"""The one door for pages: what is said about a check, with facts missing, readings impossible, and all at once."""

from datetime import date
from typing import Any, get_args

import pytest

from builder.fleet import ReadingLimits, Reckon
from sync.trade.checks import CheckSeen, reckonings
from sync.trade.leaks import LeakSeen
from sync.trade.reckoning import MANUAL_FIRST, Reckoning
from sync.trade.units import Amount

SAG = ReadingLimits(quantity="length", unit="mm", low=15, high=35, tolerance=3, least=0, most=300)
TRACK = {
    "track_pitch_mm": 102,
    "span_1_mm": 1520,
    "idler_wrap_deg": 172,
    "adjuster_travel_mm": 90,
}


def limits(quantity: str, unit: str, **more: float) -> ReadingLimits:
    return ReadingLimits(quantity=quantity, unit=unit, **more)


def one(reckon: Reckon, reading: Amount, given: ReadingLimits, **more: Any) -> Reckoning:
    """The check's own calculation, after the judgement of its one reading."""
    found = reckonings(CheckSeen("Check", reckon, {"": reading}, given, **more))
    assert [r.subject for r in found[:-1]] == ["reading"]
    return found[1]


def test_a_check_without_reading_or_leak_has_nothing_to_say() -> None:
    assert reckonings(CheckSeen("Sag", "track sag", {}, SAG, TRACK)) == ()
    assert reckonings(CheckSeen("Look")) == ()


def test_every_reading_is_judged_under_its_spots_name() -> None:
    seen = CheckSeen("Hubs", None, {"1": Amount(20, "mm"), "2": Amount(61, "mm")}, SAG, outside="minor")
    found = reckonings(seen)
    assert [r.headline.split(":")[0] for r in found] == ["Hubs, 1", "Hubs, 2"]
    assert [r.verdict for r in found] == ["sound", "minor"]


def test_a_leak_is_said_first() -> None:
    seen = CheckSeen("Leak", leak=LeakSeen("petrol", 1, "before"))
    assert [r.subject for r in reckonings(seen)] == ["leak"]


def test_an_impossible_reading_is_set_aside_and_the_others_are_used() -> None:
    cells = {"1": Amount(1.26, "SG"), "2": Amount(2, "SG"), "3": Amount(1.27, "SG")}
    seen = CheckSeen("Gravity", "cell gravity", cells, limits("specific gravity", "SG", low=1.2))
    found = reckonings(seen)
    assert [r.verdict for r in found[:3]] == ["sound", "not judged", "sound"]
    assert "2 SG cannot be" in found[1].headline
    assert [f.name for f in found[3].inputs] == ["cell 1", "cell 3", "electrolyte"]


def test_where_every_reading_is_impossible_nothing_is_calculated() -> None:
    found = reckonings(CheckSeen("Sag", "track sag", {"": Amount(-5, "mm")}, SAG, TRACK))
    assert [r.subject for r in found] == ["reading"]


def test_a_unit_of_another_quantity_is_said_and_not_raised() -> None:
    found = reckonings(CheckSeen("Sag", "track sag", {"": Amount(5, "psi")}, SAG, TRACK))
    assert [r.verdict for r in found] == ["not judged"]
    assert '"psi" is no unit of length' in found[0].headline


def test_a_sag_becomes_links_out_from_the_vehicles_facts() -> None:
    said = one("track sag", Amount(120, "mm"), SAG, facts=TRACK, beside={"adjuster travel": Amount(2, "mm")})
    assert "take out 1 link" in said.headline
    assert "idler then ends" in said.headline
    assert said.verdict == "major"


def test_inward_travel_is_what_the_adjuster_is_already_out() -> None:
    said = one("track sag", Amount(120, "mm"), SAG, facts=TRACK, beside={"adjuster travel": Amount(60, "mm")})
    inputs = {figure.name: figure.value for figure in said.inputs}
    assert (inputs["travel left outwards"], inputs["travel left inwards"]) == (60, 30)


def test_one_sag_for_two_spans_is_carried_over_by_the_square_of_their_length() -> None:
    facts = {**TRACK, "span_2_mm": 760}
    said = one("track sag", Amount(60, "mm"), SAG, facts=facts)
    inputs = {figure.name: figure.value for figure in said.inputs}
    assert (inputs["sag 2 now"], inputs["sag 2 wanted"]) == (15, 6.25)
    assert any("Only the first span was measured" in line for line in said.assumptions)


def test_a_sag_for_each_span_is_taken_as_it_is() -> None:
    facts = {**TRACK, "span_2_mm": 760}
    sags = {"front": Amount(60, "mm"), "rear": Amount(20, "mm")}
    said = reckonings(CheckSeen("Sag", "track sag", sags, SAG, facts))[-1]
    assert {f.name: f.value for f in said.inputs}["sag 2 now"] == 20
    assert not any("Only the first" in line for line in said.assumptions)


def test_sags_that_do_not_match_the_spans_are_said_to() -> None:
    sags = {"1": Amount(60, "mm"), "2": Amount(20, "mm")}
    said = reckonings(CheckSeen("Sag", "track sag", sags, SAG, TRACK))[-1]
    assert (said.verdict, "2 sags for 1 spans" in said.headline) == ("not judged", True)


@pytest.mark.parametrize(("low", "high", "wanted"), [(15, None, 15), (None, 35, 35), (15, 35, 25)])
def test_the_wanted_sag_is_the_middle_of_its_limits(low: float | None, high: float | None, wanted: float) -> None:
    given = ReadingLimits(quantity="length", unit="mm", low=low, high=high)
    said = one("track sag", Amount(60, "mm"), given, facts=TRACK)
    assert {f.name: f.value for f in said.inputs}["sag 1 wanted"] == wanted


def test_without_limits_no_take_up_is_reckoned() -> None:
    said = one("track sag", Amount(60, "mm"), limits("length", "mm"), facts=TRACK)
    assert (said.verdict, "without limits for the sag" in said.headline) == ("not judged", True)


@pytest.mark.parametrize(
    ("reckon", "reading", "given", "facts", "keys"),
    [
        ("track sag", Amount(60, "mm"), SAG, {}, ["span_1_mm"]),
        ("track sag", Amount(60, "mm"), SAG, {"span_1_mm": 1520}, ["idler_wrap_deg"]),
        ("track pitch", Amount(900, "mm"), limits("length", "mm"), {}, ["track_pitch_links", "track_pitch_mm"]),
        ("track pitch", Amount(900, "mm"), limits("length", "mm"), {"track_pitch_mm": 102}, ["track_pitch_links"]),
        ("rest volts", Amount(12.4, "V"), limits("voltage", "V"), {}, ["battery_volts"]),
        ("cranking volts", Amount(9.9, "V"), limits("voltage", "V"), {}, ["battery_volts"]),
        ("oil pressure", Amount(40, "psi"), limits("pressure", "psi", low=20), {}, ["oil_pressure_high_kpa"]),
        ("parking brake", Amount(20, "%"), limits("percent", "%"), {}, ["parking_brake_percent"]),
        ("brake build-up", Amount(2, "min"), limits("time", "min"), {}, ["brake_energy"]),
    ],
)
def test_a_missing_fact_is_named_by_its_key(
    reckon: Reckon, reading: Amount, given: ReadingLimits, facts: dict[str, object], keys: list[str]
) -> None:
    said = one(reckon, reading, given, facts=facts)
    assert [fact.key for fact in said.missing] == keys


@pytest.mark.parametrize(
    ("facts", "words"),
    [
        ({"span_1_mm": "long"}, 'fact span_1_mm is "long": expected a number in mm'),
        ({"span_1_mm": True}, 'fact span_1_mm is "True"'),
        ({"span_1_mm": 5}, "fact span_1_mm is 5 mm; possible is 100 to 20000 mm"),
    ],
)
def test_a_fact_that_cannot_be_is_said_by_its_key(facts: dict[str, object], words: str) -> None:
    said = one("track sag", Amount(60, "mm"), SAG, facts=facts)
    assert (said.verdict, words in said.headline) == ("not judged", True)


@pytest.mark.parametrize(
    ("reckon", "reading", "given", "facts", "verdict", "words"),
    [
        (
            "track pitch",
            Amount(1045, "mm"),
            limits("length", "mm"),
            {"track_pitch_links": 10, "track_pitch_mm": 102, "track_pitch_limit_mm": 104},
            "major",
            "Pitch 104.5 mm",
        ),
        ("oil pressure", Amount(10, "psi"), limits("pressure", "psi", low=20, high=60), {}, "dangerous", "too low"),
        (
            "oil pressure",
            Amount(10, "psi"),
            limits("pressure", "psi"),
            {"oil_pressure_low_kpa": 100, "oil_pressure_high_kpa": 400},
            "dangerous",
            "too low",
        ),
        ("rest volts", Amount(12.1, "V"), limits("voltage", "V"), {"battery_volts": 12}, "minor", "12.1 V at rest"),
        (
            "cranking volts",
            Amount(9, "V"),
            limits("voltage", "V"),
            {"battery_volts": 12},
            "minor",
            "9 V while cranking",
        ),
        (
            "brake build-up",
            Amount(4, "min"),
            limits("time", "min"),
            {"brake_energy": "air"},
            "major",
            "240 s to build up",
        ),
        (
            "brake build-up",
            Amount(4, "min"),
            limits("time", "min"),
            {"brake_energy": "steam"},
            "not judged",
            "no stored-energy brake",
        ),
        ("brake applications", Amount(3, "count"), limits("count", "count"), {}, "major", "3 full applications"),
        ("brake lining", Amount(1.2, "mm"), limits("length", "mm"), {}, "dangerous", "Lining 1.2 mm"),
        ("parking brake", Amount(7, "%"), limits("percent", "%"), {"parking_brake_percent": 16}, "dangerous", "7 %"),
        ("tread missing", Amount(30, "%"), limits("percent", "%"), {}, "major", "tread missing"),
        ("tread missing", Amount(30, "%"), limits("percent", "%"), {"rubber_missing_percent": 40}, "sound", "sound"),
        ("path rubber", Amount(60, "%"), limits("percent", "%"), {}, "major", "60 %"),
        ("compression", Amount(120, "psi"), limits("pressure", "psi"), {}, "not judged", "1 cylinder has no fellows"),
        ("odd one out", Amount(60, "°C"), limits("temperature", "°C"), {}, "not judged", "has no fellows"),
    ],
)
def test_each_calculation_is_reached_by_its_name(
    *,
    reckon: Reckon,
    reading: Amount,
    given: ReadingLimits,
    facts: dict[str, object],
    verdict: str,
    words: str,
) -> None:
    said = one(reckon, reading, given, facts=facts)
    assert said.verdict == verdict
    assert words in said.headline


def test_adjuster_travel_is_judged_by_its_limits_alone() -> None:
    found = reckonings(CheckSeen("Adjuster", "adjuster travel", {"": Amount(10, "mm")}, SAG))
    assert [r.subject for r in found] == ["reading"]


def test_hubs_are_compared_in_one_unit() -> None:
    hubs = {"1": Amount(41, "°C"), "2": Amount(109.4, "°F"), "3": Amount(40, "°C"), "4": Amount(88, "°C")}
    said = reckonings(CheckSeen("Hub", "odd one out", hubs, limits("temperature", "°C", high=95)))[-1]
    assert said.headline.startswith("Hub: 4 is the odd one: 88 °C")
    assert said.verdict == "major"


def test_other_spots_may_differ_by_two_tolerances() -> None:
    given = limits("length", "mm", tolerance=3)
    sags = {str(n): Amount(v, "mm") for n, v in enumerate((30, 31, 30, 36.5), 1)}
    assert reckonings(CheckSeen("Sag", "odd one out", sags, given))[-1].verdict == "advisory"
    sags["4"] = Amount(36, "mm")
    assert reckonings(CheckSeen("Sag", "odd one out", sags, given))[-1].verdict == "sound"


def test_compressions_go_by_cylinder() -> None:
    cylinders = {str(n): Amount(v, "psi") for n, v in enumerate((125, 122, 118, 95), 1)}
    said = reckonings(CheckSeen("Compression", "compression", cylinders, limits("pressure", "psi")))[-1]
    assert said.verdict == "advisory"


def test_an_uncorrected_gravity_says_so_and_a_corrected_one_does_not() -> None:
    cells = {"1": Amount(1.25, "SG"), "2": Amount(1.25, "SG")}
    given = limits("specific gravity", "SG", low=1.2)
    bare = reckonings(CheckSeen("Gravity", "cell gravity", cells, given))[-1]
    cold = reckonings(CheckSeen("Gravity", "cell gravity", cells, given, celsius=-6.667))[-1]
    assert any("was not taken" in line for line in bare.assumptions)
    assert not any("was not taken" in line for line in cold.assumptions)
    assert (bare.verdict, cold.verdict) == ("sound", "advisory")


LEVEL = limits("length", "mm", low=10, high=40)
OIL = {"sump_litres": 9, "dipstick_litres_per_mm": 0.05}


def test_a_risen_dipstick_level_is_not_sound_by_either_reckoning() -> None:
    seen = CheckSeen("Oil", "oil level", {"": Amount(30, "mm")}, LEVEL, OIL, earlier=Amount(25, "mm"))
    judged, reckoned = reckonings(seen)
    assert judged.verdict == "advisory"
    assert reckoned.verdict == "major"
    assert "rose by 0.25 L by itself: at least 2.7 % is not oil" in reckoned.headline


def test_a_level_topped_up_is_not_judged_by_its_rise_alone() -> None:
    seen = CheckSeen("Oil", "oil level", {"": Amount(30, "mm")}, LEVEL, OIL, earlier=Amount(25, "mm"), added=0.25)
    judged, reckoned = reckonings(seen)
    assert judged.verdict == "sound"
    assert reckoned.verdict == "not judged"


def test_a_level_in_litres_needs_no_dipstick() -> None:
    given = limits("volume", "L", low=5, high=12)
    said = one("oil level", Amount(2, "gal UK"), given, facts={"sump_litres": 9}, earlier=Amount(9, "L"))
    assert "rose by 0.09 L" in said.headline


@pytest.mark.parametrize(
    ("facts", "earlier", "words"),
    [
        (OIL, None, "No earlier level"),
        ({"sump_litres": 9}, Amount(25, "mm"), "from the dipstick alone"),
    ],
)
def test_a_level_that_cannot_be_compared_is_not_judged(
    facts: dict[str, object], earlier: Amount | None, words: str
) -> None:
    said = one("oil level", Amount(25, "mm"), LEVEL, facts=facts, earlier=earlier)
    assert (said.verdict, words in said.headline) == ("not judged", True)


def test_a_track_pitch_among_the_facts_makes_a_vehicle_tracked() -> None:
    said = one("brake applications", Amount(4, "count"), limits("count", "count"), facts=TRACK)
    assert any("guide only" in line for line in said.assumptions)
    bare = one("brake applications", Amount(4, "count"), limits("count", "count"))
    assert not any("guide only" in line for line in bare.assumptions)


def test_first_use_reaches_the_brake_rules() -> None:
    said = one(
        "brake build-up",
        Amount(4, "min"),
        limits("time", "min"),
        facts={"brake_energy": "vacuum"},
        first_used=date(1936, 1, 1),
    )
    assert said.verdict == "not judged"


@pytest.mark.parametrize("reckon", get_args(Reckon))
def test_whatever_the_calculation_the_manual_comes_first_and_nothing_is_raised(reckon: Reckon) -> None:
    for quantity, unit in (("length", "mm"), ("percent", "%"), ("pressure", "psi"), ("temperature", "°F")):
        found = reckonings(CheckSeen("Check", reckon, {"": Amount(7, unit)}, limits(quantity, unit)))
        assert found
        assert all(r.cautions[-1] == MANUAL_FIRST for r in found)


def test_a_leak_down_is_judged_over_the_minutes_it_was_watched() -> None:
    """4 psi in two minutes is 2 psi a minute, under the 3 of 49 CFR; in one minute it is over."""
    lost = limits("pressure", "kPa", high=20)
    slow = one("brake leak-down", Amount(4, "psi"), lost, facts={"brake_leak_minutes": 2})
    fast = one("brake leak-down", Amount(4, "psi"), lost)
    assert (slow.verdict, fast.verdict) == ("sound", "major")
    assert any("Watched for one minute" in line for line in fast.assumptions)
    assert not any("Watched" in line for line in slow.assumptions)


def test_a_roll_test_is_judged_by_the_speed_in_the_vehicles_file() -> None:
    """49 CFR 393.52: 35 ft from 20 mph."""
    stop = limits("length", "m", high=12)
    assert one("roll test", Amount(34, "ft"), stop, facts={"roll_test_kmh": 32.18688}).verdict == "sound"
    assert one("roll test", Amount(36, "ft"), stop, facts={"roll_test_kmh": 32.18688}).verdict == "major"
    asked = one("roll test", Amount(36, "ft"), stop)
    assert (asked.verdict, [fact.key for fact in asked.missing]) == ("not judged", ["roll_test_kmh"])


@pytest.mark.parametrize(
    ("system", "words"), [("brakes", "a dragging brake"), ("steering", "a band, clutch or bearing")]
)
def test_what_runs_hot_is_looked_for_where_it_belongs(system: str, words: str) -> None:
    heat = limits("temperature", "°C", high=115)
    sides = {"left": Amount(121, "°C"), "right": Amount(70, "°C")}
    seen = CheckSeen("Casing", "odd one out", sides, heat, system=system)
    assert words in reckonings(seen)[-1].todo[0]


def test_two_sides_of_one_temperature_are_compared() -> None:
    heat = limits("temperature", "°C", high=200, tolerance=5)
    both = {"Left track": Amount(188, "°C"), "Right track": Amount(60, "°C")}
    seen = CheckSeen("Drum", None, {"": Amount(188, "°C")}, heat, sides=both, system="brakes")
    assert reckonings(seen)[-1].headline.startswith("Drum: Left track and Right track differ by 128 °C")
