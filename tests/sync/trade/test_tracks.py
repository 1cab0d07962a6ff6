"""Tracks: from sags to idler and links, each way out of travel, and what to say when a fact is missing."""

import math
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import TradeError
from sync.trade import track_advice, tracks
from sync.trade.track_advice import TrackSide, advise, advise_pitch
from sync.trade.tracks import Setting, Span, run_length, setting, take_up

SLACK = TrackSide(
    name="Right track",
    spans=(Span(3000, 300, 95), Span(1200, 60, 15)),
    wrap=150,
    outward=20,
    inward=60,
    pitch=152.4,
    low=20,
    high=100,
)
TIGHT = TrackSide("Left track", (Span(3000, 50, 95),), wrap=150, outward=200, inward=1, pitch=152.4)


def test_a_run_without_sag_is_as_long_as_its_span() -> None:
    assert run_length(3600, 0) == 3600


@given(st.floats(100, 10_000), st.floats(0.001, 0.5), st.floats(0.001, 0.5))
def test_a_deeper_run_is_longer(span: float, one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert run_length(span, less * span) <= run_length(span, more * span)


@given(st.floats(100, 10_000), st.floats(0.0001, 0.5))
def test_a_run_solves_its_catenary(span: float, ratio: float) -> None:
    u = tracks._half_angle(ratio)
    assert (math.cosh(u) - 1) / (2 * u) == pytest.approx(ratio, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize(
    ("span", "sag", "words"),
    [
        (0, 0, "span is 0 mm; possible is more than 0"),
        (-1, 0, "span is -1 mm"),
        (math.nan, 0, "span is nan mm"),
        (3600, -5, "sag is -5 mm; possible is 0 to 1800 mm"),
        (3600, 1801, "sag is 1801 mm"),
        (3600, math.inf, "sag is inf mm"),
    ],
)
def test_an_impossible_run_is_refused_with_what_is_possible(span: float, sag: float, words: str) -> None:
    for formula in (run_length, tracks.run_length_parabola):
        with pytest.raises(TradeError, match=words):
            formula(span, sag)


def test_no_span_at_all_is_refused() -> None:
    with pytest.raises(TradeError, match="no span was given"):
        take_up([])


@pytest.mark.parametrize("wrap", [59, 241, math.nan])
def test_an_impossible_wrap_is_refused(wrap: float) -> None:
    with pytest.raises(TradeError, match="wrap angle"):
        tracks.idler_factor(wrap)


def test_a_factor_of_nought_is_refused() -> None:
    with pytest.raises(TradeError, match="idler factor"):
        tracks.idler_travel(5, 0)


@pytest.mark.parametrize(
    ("taken_up", "outward", "inward", "expected"),
    [
        (10, 5, 60, Setting(0, 5, True)),  # just enough travel
        (1, 0.6, 0.1, Setting(0, 0.5, True)),  # less than a millimetre is still outwards
        (10, 4.9, 60, Setting(1, -50, True)),  # a link out, and back
        (10, 4.9, 49, Setting(1, -50, False)),  # a link out, and not far enough back
        (10, 4.9, None, Setting(1, -50, None)),  # a link out, nobody knows how far back
        (10, None, 60, Setting(0, 5, None)),  # travel not known
        (230, 10, 60, Setting(2, 5, True)),  # two links out, and still a little outwards
        (110 + 2 * 5, 5, 60, Setting(1, 5, True)),  # a whole number of links is not rounded up
        (-10, 60, 5, Setting(0, -5, True)),  # too tight, enough travel inwards
        (-10, 60, 4.9, Setting(-1, 50, True)),  # a link in, and out
        (-10, 49, 4.9, Setting(-1, 50, False)),  # a link in, and not far enough out
        (-10, None, 4.9, Setting(-1, 50, None)),  # a link in, nobody knows how far out
        (-10, 60, None, Setting(0, -5, None)),  # too tight, travel not known
    ],
)
def test_links_and_idler_come_from_travel_both_ways(
    taken_up: float, outward: float | None, inward: float | None, expected: Setting
) -> None:
    assert setting(taken_up, 2, outward, inward, 110) == expected


@given(st.floats(-600, 600), st.floats(1.7, 2), st.floats(0, 100), st.floats(0, 100), st.floats(80, 200))
def test_links_and_idler_together_take_up_what_is_wanted(
    taken_up: float, factor: float, outward: float, inward: float, pitch: float
) -> None:
    found = setting(taken_up, factor, outward, inward, pitch)
    assert found.links * pitch + found.idler * factor == pytest.approx(taken_up, abs=1e-6)
    assert found.fits == (-inward - 1e-9 <= found.idler <= outward + 1e-9)


def test_no_link_is_taken_out_that_the_adjuster_could_spare() -> None:
    assert tracks.links_out(10, 2, 5, 110) == 0
    with pytest.raises(TradeError, match="adjuster travel left is -1 mm"):
        tracks.links_out(10, 2, -1, 110)
    with pytest.raises(TradeError, match="track pitch is 0 mm"):
        tracks.links_out(10, 2, 5, 0)


def test_a_slack_track_out_of_travel_says_how_many_links_and_where_the_idler_ends() -> None:
    said = advise(SLACK)
    assert said.headline == (
        "Right track: 78 mm to take up: the idler moves 40.4 mm outwards, but the adjuster has only 20 mm left: "
        "take out 1 link; the idler then ends 38.5 mm farther inwards than now."
    )
    assert said.verdict == "major"
    assert said.todo[0] == "Slacken fully, take out 1 link, adjust again (TM 9-2350-230-12)."
    assert not said.missing


def test_a_track_that_the_adjuster_can_tighten_says_how_far() -> None:
    said = advise(replace(SLACK, outward=50))
    assert said.headline.endswith("moves 40.4 mm outwards; the adjuster has 50 mm left. Enough.")
    assert said.todo[0] == "Move the idler 40.4 mm outwards with the adjuster."


def test_a_tight_track_out_of_travel_gets_a_link() -> None:
    said = advise(TIGHT)
    assert "put in 1 link; the idler then ends 75.9 mm farther outwards than now" in said.headline
    assert said.figures[0].text == "5.8 mm"
    assert said.figures[0].name == "to let out"


def test_a_tight_track_with_travel_moves_the_idler_in() -> None:
    assert "moves 3 mm inwards; the adjuster has 40 mm left" in advise(replace(TIGHT, inward=40)).headline


@pytest.mark.parametrize(
    ("side", "words", "more"),
    [(replace(SLACK, inward=30), "fewer", "-"), (replace(TIGHT, outward=20), "more", "-")],
)
def test_where_no_number_of_links_fits_it_is_said(side: TrackSide, words: str, more: str) -> None:
    said = advise(side)
    assert f"1 link {words} does not fit either" in said.headline
    assert said.todo[0].startswith("No whole number of links")


@pytest.mark.parametrize(
    ("side", "key", "words"),
    [
        (replace(SLACK, wrap=None), "idler_wrap_deg", "how far the idler has to move is not known"),
        (replace(SLACK, outward=None), "adjuster_travel_mm", "whether the adjuster has that left is not known"),
        (replace(SLACK, pitch=None), "track_pitch_mm", "how many links that is, is not known"),
        (replace(SLACK, inward=None), "adjuster_travel_mm", "take out 1 link"),
        (replace(TIGHT, inward=None), "adjuster_travel_mm", "whether the adjuster has that left is not known"),
    ],
)
def test_a_missing_fact_is_named_by_its_key_and_the_rest_still_said(side: TrackSide, key: str, words: str) -> None:
    said = advise(side)
    assert [fact.key for fact in said.missing] == [key]
    assert key in said.missing[0].text
    assert words in said.headline
    assert f"{abs(take_up(side.spans)):.1f}".rstrip("0").rstrip(".") in said.headline


def test_links_out_without_known_inward_travel_are_to_be_made_sure_of_first() -> None:
    assert advise(replace(SLACK, inward=None)).todo[0] == ("First make sure that the idler can go 38.5 mm inwards.")


def test_more_than_two_links_ask_for_measuring_again() -> None:
    side = replace(SLACK, spans=(Span(3000, 900, 95),), inward=100)
    assert any("More than two links" in line for line in advise(side).todo)
    assert not any("More than two links" in line for line in advise(SLACK).todo)


def test_a_track_as_wanted_has_nothing_to_adjust() -> None:
    said = advise(replace(SLACK, spans=(Span(3000, 95, 95),)))
    assert said.headline.startswith("Right track: as wanted; nothing to adjust.")
    assert said.verdict == "sound"


@pytest.mark.parametrize(("wanted", "nothing"), [(92, True), (91.9, False)])
def test_less_than_half_a_millimetre_of_track_is_nothing_to_adjust(wanted: float, nothing: bool) -> None:
    side = replace(SLACK, spans=(Span(3000, 95, wanted),))
    assert (take_up(side.spans) < 0.5) is nothing
    assert ("nothing to adjust" in advise(side).headline) is nothing


@pytest.mark.parametrize(
    ("low", "high", "judged", "verdict"),
    [
        (None, None, None, "not judged"),
        (None, 100, None, "major"),
        (None, 200, None, "sound"),
        (200, None, None, "major"),
        (180, None, None, "sound"),  # the mean of 300 and 60
        (None, 180, None, "sound"),
        (None, 200, 300, "major"),  # the one measured, not the mean
    ],
)
def test_the_verdict_is_by_the_vehicles_own_limits(
    low: float | None, high: float | None, judged: float | None, verdict: str
) -> None:
    assert advise(replace(SLACK, low=low, high=high, judged=judged)).verdict == verdict


def test_a_sound_track_that_could_be_nearer_the_wanted_sag_says_that_it_need_not() -> None:
    said = advise(replace(SLACK, high=200))
    assert said.headline.endswith("within its limits: this would only bring it to the wanted one.")


def test_track_advice_carries_cautions_for_grease_and_hands() -> None:
    cautions = " ".join(advise(SLACK).cautions)
    assert "open the bleed slowly" in cautions
    assert "between track and wheel" in cautions
    assert track_advice.BEFORE[0] in advise(SLACK).todo


@pytest.mark.parametrize(
    ("length", "limit", "verdict", "words"),
    [
        (1524, 156, "sound", "Pitch 152.4 mm, 0 % over new, below its limit of 156 mm."),
        (1560, 156, "major", "Pitch 156 mm, 2.36 % over new, at or past its limit of 156 mm."),
        (1560, None, "not judged", "Pitch 156 mm, 2.36 % over new."),
    ],
)
def test_pitch_wear_is_judged_by_the_vehicles_own_limit(
    length: float, limit: float | None, verdict: str, words: str
) -> None:
    said = advise_pitch(length, 10, 152.4, limit)
    assert (said.verdict, said.headline) == (verdict, words)
    assert [fact.key for fact in said.missing] == ([] if limit else ["track_pitch_limit_mm"])
    assert bool(said.todo) is (verdict == "major")


@pytest.mark.parametrize(
    ("length", "links", "new", "words"),
    [
        (0, 10, 152.4, "measured length is 0 mm"),
        (1524, 0, 152.4, "links measured is 0 links; possible is 1 links or more"),
        (1524, 10, 0, "new pitch is 0 mm"),
    ],
)
def test_an_impossible_pitch_is_refused(length: float, links: int, new: float, words: str) -> None:
    with pytest.raises(TradeError, match=words):
        advise_pitch(length, links, new, None)
