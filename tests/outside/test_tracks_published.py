"""Tracks against scipy, handbooks and manuals; from a sag on a phone to links out."""

import math
from itertools import pairwise
from pathlib import Path

import pytest
from scipy.integrate import quad
from scipy.optimize import brentq

from builder.edition import compile_edition, read_edition
from builder.load import load_fleet
from sync.trade.checks import CheckSeen, reckonings
from sync.trade.track_advice import TrackSide, advise
from sync.trade.tracks import (
    Span,
    idler_factor,
    links_out,
    run_length,
    run_length_parabola,
    setting,
    take_up,
)
from sync.trade.units import Amount


def length_by_scipy(span: float, sag: float) -> float:
    """scipy.optimize.brentq for the parameter, scipy.integrate.quad along the curve: another way altogether."""
    a = brentq(lambda a: a * (math.cosh(span / (2 * a)) - 1) - sag, span / 8, 1e9, xtol=1e-9, rtol=1e-14)
    return float(quad(lambda x: math.cosh(x / a), -span / 2, span / 2)[0])


@pytest.mark.parametrize(("sag", "length"), [(140, 3614.477765), (95, 3606.676518)])
def test_a_run_of_3600_mm_has_the_length_computed_with_scipy(sag: float, length: float) -> None:
    """Exact catenary, computed beforehand with scipy."""
    assert run_length(3600, sag) == pytest.approx(length, abs=1e-6)


@pytest.mark.parametrize(("span", "sag"), [(3600, 140), (800, 12.7), (1200, 60), (3000, 300), (1000, 450), (1500, 0.5)])
def test_a_run_is_as_long_as_scipy_makes_its_catenary(span: float, sag: float) -> None:
    assert run_length(span, sag) == pytest.approx(length_by_scipy(span, sag), rel=1e-8)


@pytest.mark.parametrize(("ratio", "percent"), [(0.032, 0.19), (0.10, 1.8), (0.30, 14.6)])
def test_the_handbooks_parabola_errs_by_what_is_known(ratio: float, percent: float) -> None:
    """Error of 8 s^2 / 3 L against the catenary, by s/L (computed with scipy)."""
    span = 1000
    exact = run_length(span, ratio * span) - span
    short = run_length_parabola(span, ratio * span) - span
    assert 100 * (short / exact - 1) == pytest.approx(percent, rel=0.03)


def test_the_handbooks_parabola_is_good_for_shallow_runs() -> None:
    """L + 8 s^2 / 3 L: Marks', Roark (from memory)."""
    assert run_length(1000, 10) - 1000 == pytest.approx(8 * 10**2 / 3000, rel=2e-4)


@pytest.mark.parametrize(("wrap", "factor"), [(180, 2), (170, 1.99239), (150, 1.93185), (120, 1.73205)])
def test_the_idlers_factor_is_twice_the_sine_of_half_its_wrap(wrap: float, factor: float) -> None:
    """Plane geometry: 2 sin(w/2)."""
    assert idler_factor(wrap) == pytest.approx(factor, abs=5e-6)


def test_the_idlers_factor_is_the_slope_of_a_belt_drawn_out() -> None:
    """Geometry by another way: the belt's length round a shifted circle, differentiated numerically."""
    wrap = math.radians(150)
    lean = (math.pi - wrap) / 2

    def length(shift: float) -> float:
        far = 5.0
        return 2 * math.hypot(far * math.cos(lean) + shift, far * math.sin(lean))

    slope = (length(1e-6) - length(-1e-6)) / 2e-6
    assert idler_factor(150) == pytest.approx(slope, abs=1e-5)


#: name, spans, wrap, D, x, travel, pitch, links, idler. Computed beforehand with scipy.
EXAMPLES = [
    ("A", (Span(3600, 140, 95),), 180, 7.8012, 3.9006, 40, 110, 0, 3.9006),
    ("B", (Span(800, 38.1, 12.7),) * 3, 180, 12.8430, 6.4215, 3, 110, 1, -48.578),
    ("C", (Span(3000, 300, 95), Span(1200, 60, 15)), 150, 78.0165, 40.3843, 20, 152.4, 1, -38.504),
]


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda example: str(example[0]))
def test_an_exact_example_gives_take_up_idler_and_links(example: tuple[object, ...]) -> None:
    _, spans, wrap, taken_up, idler, travel, pitch, links, ends = example
    found = take_up(spans)  # type: ignore[arg-type]
    factor = idler_factor(wrap)  # type: ignore[arg-type]
    assert found == pytest.approx(taken_up, abs=5e-5)
    assert found / factor == pytest.approx(idler, abs=5e-5)
    result = setting(found, factor, travel, 60, pitch)  # type: ignore[arg-type]
    assert (result.links, result.idler) == (links, pytest.approx(ends, abs=5e-4))


def test_links_out_are_the_least_that_are_enough() -> None:
    """Brute force: the first whole number of links after which the travel is enough."""
    for taken_up, travel in ((10.0, 4.0), (78.0165, 20.0), (250.0, 3.0), (305.0, 0.0), (39.9, 20.0)):
        least = next(n for n in range(100) if (taken_up - n * 152.4) / 1.93185 <= travel)
        assert links_out(taken_up, 1.93185, travel, 152.4) == least


def test_the_mean_of_two_spans_is_judged_by_the_manuals_limits() -> None:
    """TM 5-2410-240-10: no adjustment while the mean of both spans' sags is 29 to 41 mm."""
    for sags, verdict in (((25, 35), "sound"), ((41, 41), "sound"), ((40, 44), "major"), ((25, 31), "major")):
        spans = tuple(Span(1500, sag, 35) for sag in sags)
        assert advise(TrackSide("Track", spans, low=29, high=41)).verdict == verdict


def test_an_adjuster_at_its_limit_means_one_shoe_out() -> None:
    """TM 9-2350-267-10: adjuster at its limit: remove one shoe. TM 9-2350-230-12: slacken, one shoe, readjust."""
    said = advise(TrackSide("Track", (Span(2400, 110, 60),), wrap=180, outward=0, inward=90, pitch=152.4))
    assert "take out 1 link" in said.headline
    assert said.todo[0].startswith("Slacken fully, take out 1 link, adjust again")


def test_sag_and_take_up_rise_together() -> None:
    """A longer take-up for every deeper sag, as any track manual's table has it (common practice, no source)."""
    found = [take_up([Span(3600, sag, 95)]) for sag in (95, 110, 125, 140, 200)]
    assert found[0] == 0
    assert all(less < more for less, more in pairwise(found))


FLEET = """
name = "Trial Shed"
code = "trial-shed"
"""
TEMPLATE = """
name = "Tracks"
[[station]]
id = "left-track"
name = "Left track"
order = 10
at = [0.5, 0.0]
[[station.check]]
id = "sag"
ask = "Left track, sag of the top run"
rounds = ["cold", "full"]
spots = ["front", "rear"]
reckon = "track sag"
reading = { quantity = "length", unit = "mm", low = 60, high = 130, tolerance = 3, least = 0, most = 600 }
[[station.check]]
id = "adjuster"
ask = "Adjuster: travel left"
reckon = "adjuster travel"
reading = { quantity = "length", unit = "mm", low = 10, least = 0, most = 100 }
"""
VEHICLE = """
id = "otter"
name = "Otter"
kind = "tractor"
location = "bay 1"
templates = ["tracks"]
[facts]
track_pitch_mm = 152.4
idler_wrap_deg = 150
adjuster_travel_mm = 80
span_1_mm = 3000
span_2_mm = 1200
"""


def test_from_fleet_file_and_sag_readings_come_links_out(tmp_path: Path) -> None:
    """Spans, wrap, travel and pitch of example C, sags in inches and mm; lengths by scipy, links by hand."""
    for name, text in (("fleet", FLEET), ("templates/tracks", TEMPLATE), ("vehicles/otter", VEHICLE)):
        path = tmp_path / f"{name}.toml"
        path.parent.mkdir(exist_ok=True)
        path.write_text(text, "utf-8")
    vehicle = read_edition(compile_edition(load_fleet(tmp_path))).by_vehicle["otter"]
    check = vehicle.checks["left-track/sag"]
    readings = {"front": Amount(11.811023622, "in"), "rear": Amount(180, "mm")}
    said = reckonings(
        CheckSeen(
            check.ask,
            check.reckon,
            readings,
            check.reading,
            vehicle.vehicle.facts,
            beside={"adjuster travel": Amount(20, "mm")},
        )
    )
    assert [r.verdict for r in said] == ["major", "major", "major"]
    spans = ((3000, 300), (1200, 180))
    taken_up = sum(length_by_scipy(span, sag) - length_by_scipy(span, 95) for span, sag in spans)
    # Some 119 mm to take up, of which the adjuster's 20 mm make 38.6: one link of 152.4 mm out, and back by the rest.
    back = (152.4 - taken_up) / 1.931852
    assert "take out 1 link;" in said[-1].headline
    assert f"the idler then ends {back:.1f} mm farther inwards than now" in said[-1].headline
