"""From an edition and the latest readings to words, as a defect page asks for them."""

from datetime import date

import pytest

from builder.edition import VehicleView, compile_edition, read_edition
from builder.fleet import ReadingLimits
from builder.load import load_fleet
from sync.entries import Leak, Reading
from sync.trade.judge import PUT_RIGHT
from sync.trade.places import Dated, Latest, Short, Sighted, check_seen, in_short, said_of, series_of
from sync.trade.reckoning import MANUAL_FIRST
from sync.trade.trends import Point, advise
from sync.trade.units import Amount
from tests.sync.measured_day import SAG_AND_ADJUSTER

FILES = {
    "fleet": 'name = "Trial Shed"\ncode = "trial-shed"\n',
    "templates/tracks": """
name = "Tracks"
[[station]]
id = "left"
name = "Left"
order = 10
at = [0.5, 0.0]
mirror = "right"
"""
    + SAG_AND_ADJUSTER
    + """[[station.check]]
id = "drips"
ask = "Drips"
leak = "final drive oil"
[[station.check]]
id = "hubs"
ask = "Hub"
spots = 3
reckon = "odd one out"
reading = { quantity = "temperature", unit = "°C", high = 95 }
[[station]]
id = "right"
name = "Right"
order = 20
at = [0.5, 1.0]
mirror = "left"
[[station.check]]
id = "sag"
ask = "Right sag"
reckon = "track sag"
reading = { quantity = "length", unit = "mm", low = 15, high = 35, tolerance = 3 }
[[station.check]]
id = "adjuster"
ask = "Right adjuster"
reckon = "adjuster travel"
reading = { quantity = "length", unit = "mm", low = 10 }
""",
    "vehicles/otter": """
id = "otter"
name = "Otter"
kind = "tractor"
location = "bay 1"
templates = ["tracks"]
first_used = 1936-05-01
[facts]
track_pitch_mm = 102
idler_wrap_deg = 172
adjuster_travel_mm = 90
span_1_mm = 1520
""",
}


@pytest.fixture(scope="module")
def otter(tmp_path_factory: pytest.TempPathFactory) -> VehicleView:
    folder = tmp_path_factory.mktemp("fleet")
    for name, text in FILES.items():
        path = folder / f"{name}.toml"
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, "utf-8")
    return read_edition(compile_edition(load_fleet(folder))).by_vehicle["otter"]


LATEST: Latest = {
    ("left/sag", ""): Reading(61, "mm"),
    ("left/adjuster", ""): Reading(2, "mm"),
    ("right/adjuster", ""): Reading(80, "mm"),
    ("left/hubs", "1"): Reading(41, "°C"),
    ("left/hubs", "3"): Reading(88, "°C"),
}


def test_a_sag_is_reckoned_with_the_adjuster_of_its_own_side(otter: VehicleView) -> None:
    seen = check_seen(otter, otter.checks["left/sag"], LATEST, Sighted())
    assert seen.beside["adjuster travel"] == Amount(2, "mm")
    assert "the adjuster has only 2 mm left" in said_of(otter, otter.checks["left/sag"], LATEST)[-1].headline


def test_a_check_is_not_beside_itself(otter: VehicleView) -> None:
    seen = check_seen(otter, otter.checks["left/adjuster"], LATEST, Sighted())
    assert seen.beside["track sag"] == Amount(61, "mm")
    assert "adjuster travel" not in seen.beside


def test_the_severity_outside_is_that_of_the_fault_seen(otter: VehicleView) -> None:
    sag = otter.checks["left/sag"]
    assert said_of(otter, sag, LATEST, Sighted(fault="slack"))[0].verdict == "minor"
    assert said_of(otter, sag, LATEST)[0].verdict == "major"


def test_only_spots_that_were_read_are_judged(otter: VehicleView) -> None:
    found = said_of(otter, otter.checks["left/hubs"], LATEST)
    assert [r.headline.split(":")[0] for r in found[:-1]] == ["Hub, 1", "Hub, 3"]


def test_a_leak_is_judged_by_its_checks_fluid_and_round(otter: VehicleView) -> None:
    leak = Leak(leak_class=3, stream=False, level_ok=True)
    drips = otter.checks["left/drips"]
    before = said_of(otter, drips, LATEST, Sighted(leak=leak, round="before"))
    after = said_of(otter, drips, LATEST, Sighted(leak=leak, round="cold"))
    assert ("before running" in before[0].inputs[2].text, "after running" in after[0].inputs[2].text) == (True, True)
    assert [r.verdict for r in (*before, *after)] == ["major", "major"]


def test_a_leak_at_a_check_that_is_no_leak_check_is_not_judged(otter: VehicleView) -> None:
    leak = Leak(leak_class=3, stream=False, level_ok=True)
    assert check_seen(otter, otter.checks["left/sag"], LATEST, Sighted(leak=leak)).leak is None


def test_first_use_and_what_came_before_are_handed_on(otter: VehicleView) -> None:
    seen = check_seen(otter, otter.checks["left/sag"], LATEST, Sighted(earlier=Reading(50, "mm"), added=0.5))
    assert (seen.earlier, seen.added, seen.scope.exempt, seen.scope.tracked) == (Amount(50, "mm"), 0.5, True, True)


def test_nothing_measured_is_nothing_said(otter: VehicleView) -> None:
    assert said_of(otter, otter.checks["left/sag"], {}) == ()
    assert in_short(()) == Short("not judged", (), (), (), (), (), ())


def test_several_reckonings_become_one_line_that_says_each_thing_once(otter: VehicleView) -> None:
    found = said_of(otter, otter.checks["left/sag"], LATEST)
    short = in_short((*found, *found))
    assert (short.verdict, short) == ("major", in_short(found))
    assert short.says[0].startswith("Left sag: 61 mm is 26 mm above")
    assert short.figures[0] == "beyond its limit: 26 mm"
    assert "Move the idler" in short.do[0] or "Slacken fully" in short.do[0]
    assert (short.care[0][:5], short.care[-1]) == ("Chock", MANUAL_FIRST)


def test_where_a_calculation_says_what_to_do_the_general_word_is_left_out(otter: VehicleView) -> None:
    found = said_of(otter, otter.checks["left/sag"], LATEST)
    assert found[0].todo == (PUT_RIGHT,)
    assert PUT_RIGHT not in in_short(found).do
    assert in_short(found[:1]).do == (PUT_RIGHT,)


def test_a_missing_fact_is_said_with_how_sure_it_is(otter: VehicleView) -> None:
    bare = with_facts(otter, idler_wrap_deg=None)
    short = in_short(said_of(bare, otter.checks["left/sag"], LATEST))
    assert any(line.startswith("Add idler_wrap_deg under [facts] in the vehicle's file") for line in short.sure)


def with_facts(view: VehicleView, **facts: float | None) -> VehicleView:
    """The vehicle with other facts; None takes one away."""
    known = {key: value for key, value in {**view.vehicle.facts, **facts}.items() if value is not None}
    return VehicleView(view.edition, view.vehicle.model_copy(update={"facts": known}))


def test_a_sag_is_compared_with_the_other_sides(otter: VehicleView) -> None:
    both = {**LATEST, ("right/sag", ""): Reading(30, "mm")}
    said = said_of(otter, otter.checks["left/sag"], both)[-1]
    assert said.subject == "sides"
    assert said.headline == "Left sag: Left and Right differ by 31 mm: two alone do not say which is wrong."
    assert [figure.text for figure in said.inputs] == ["61 mm", "30 mm", "6 mm"]


def test_a_side_that_was_not_measured_is_compared_with_nothing(otter: VehicleView) -> None:
    assert "sides" not in [one.subject for one in said_of(otter, otter.checks["left/sag"], LATEST)]


def test_a_side_that_cannot_be_is_compared_with_nothing(otter: VehicleView) -> None:
    both = {**LATEST, ("right/sag", ""): Reading(-30, "mm")}
    assert "sides" not in [one.subject for one in said_of(otter, otter.checks["left/sag"], both)]


def test_a_reading_beside_it_in_a_foreign_unit_is_not_used(otter: VehicleView) -> None:
    strange = {**LATEST, ("left/adjuster", ""): Reading(2, "bar")}
    assert "adjuster travel" not in check_seen(otter, otter.checks["left/sag"], strange, Sighted()).beside


def test_what_another_read_that_can_be_needs_no_word(otter: VehicleView) -> None:
    said = said_of(otter, otter.checks["left/sag"], LATEST, Sighted(also=(Reading(60, "mm"), Reading(-1, "mm"))))
    assert [one.headline for one in said if "set aside" in one.headline] == [
        "Left sag, set aside: -1 mm cannot be (expected at least 0 and at most 300 mm): measure again, and look at the "
        "unit."
    ]


LINING = ReadingLimits(quantity="length", unit="mm", low=3, tolerance=0.5, least=0, most=25)


def test_dated_readings_become_a_series_in_days_and_in_the_limits_unit() -> None:
    dated = [Dated(date(2026, 5, 11), Reading(0.4, "in")), Dated(date(2026, 5, 1), Reading(12, "mm"))]
    series = series_of("Lining", dated, LINING)
    assert series.points == (Point(10, pytest.approx(10.16)), Point(0, 12))
    assert (series.unit, series.unit_x, series.low, series.high) == ("mm", "days", 3, None)
    assert series.first_day == date(2026, 5, 1)


def test_a_series_is_over_running_hours_only_where_every_reading_has_them() -> None:
    whole = [Dated(date(2026, 5, d), Reading(12 - d, "mm"), hours=100.0 + d) for d in (1, 2)]
    series = series_of("Lining", whole, LINING)
    assert (series.unit_x, series.points, series.first_day) == ("running hours", (Point(101, 11), Point(102, 10)), None)
    mixed = [*whole, Dated(date(2026, 5, 3), Reading(9, "mm"))]
    assert series_of("Lining", mixed, LINING).unit_x == "days"


def test_readings_that_cannot_be_are_left_out_of_a_series() -> None:
    dated = [Dated(date(2026, 5, 1), Reading(-12, "mm")), Dated(date(2026, 5, 2), Reading(12, "mm"))]
    assert series_of("Lining", dated, LINING).points == (Point(0, 12),)


def test_no_readings_at_all_are_a_series_without_evidence() -> None:
    assert "not enough to tell: 0 readings" in advise(series_of("Lining", [], LINING)).headline
