"""Engine oil: what a rising level, a thin sample and a gauge say, each branch."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from sync.errors import TradeError
from sync.trade import oil
from sync.trade.oil import LevelSeen, advise_level, advise_pressure, advise_viscosity


@pytest.mark.parametrize(
    ("percent", "verdict"),
    [(0, "advisory"), (1.99, "advisory"), (2, "major"), (5, "major"), (5.01, "dangerous"), (100, "dangerous")],
)
def test_dilution_is_graded_by_the_published_steps_and_never_sound(percent: float, verdict: str) -> None:
    assert oil.grade_dilution(percent) == verdict


@pytest.mark.parametrize("percent", [-1, 101, math.nan])
def test_an_impossible_dilution_is_refused(percent: float) -> None:
    with pytest.raises(TradeError, match="dilution"):
        oil.grade_dilution(percent)


@pytest.mark.parametrize(
    ("after", "verdict"),
    [(10.1, "advisory"), (10.3, "major"), (11, "dangerous"), (10, "not judged"), (9, "not judged")],
)
def test_a_level_that_rose_is_graded_and_one_that_held_is_not_called_sound(after: float, verdict: str) -> None:
    assert advise_level(LevelSeen(10, after, 0, sump=10)).verdict == verdict


@given(st.floats(1, 50), st.floats(1e-6, 20), st.floats(0, 5), st.one_of(st.none(), st.floats(1, 50)))
def test_no_rise_ever_gives_a_sound_verdict(before: float, rise: float, added: float, sump: float | None) -> None:
    assert advise_level(LevelSeen(before, before + added + rise, added, sump)).verdict != "sound"


def test_a_level_that_held_is_not_said_to_have_risen() -> None:
    assert advise_level(LevelSeen(10, 10)).headline == (
        "The oil level has not risen by itself: nothing can be told from it, since burnt oil hides what came in."
    )


def test_oil_that_was_added_is_no_rise() -> None:
    said = advise_level(LevelSeen(10, 11, added=1, sump=10))
    assert said.verdict == "not judged"
    assert "has not risen by itself" in said.headline


def test_a_rise_beyond_what_was_added_counts() -> None:
    said = advise_level(LevelSeen(10, 12, added=1, sump=10))
    assert said.headline == "The oil level rose by 1 L by itself: at least 9.09 % is not oil."
    assert said.todo[1].startswith("Do not start it.")


def test_a_rise_without_a_known_sump_is_a_fault_that_names_the_fact() -> None:
    said = advise_level(LevelSeen(10, 10.5))
    assert said.verdict == "major"
    assert [fact.key for fact in said.missing] == ["sump_litres"]


@pytest.mark.parametrize(
    ("sump", "rise", "words"),
    [(0, 1, "oil in the sump"), (10, -1, "rise of the level"), (math.inf, 1, "oil in the sump")],
)
def test_impossible_levels_are_refused(sump: float, rise: float, words: str) -> None:
    with pytest.raises(TradeError, match=words):
        oil.dilution_from_level(sump, rise)


def test_oil_taken_away_cannot_be_added() -> None:
    with pytest.raises(TradeError, match="oil added is -1 L"):
        advise_level(LevelSeen(10, 10, added=-1))


@pytest.mark.parametrize("viscosity", [0.2, 0, -3, math.nan])
def test_a_viscosity_out_of_the_equations_domain_is_refused(viscosity: float) -> None:
    with pytest.raises(TradeError, match="viscosity"):
        oil.blending_number(viscosity)


@pytest.mark.parametrize("share", [-0.1, 1.1])
def test_a_share_is_between_nought_and_one(share: float) -> None:
    for law in (oil.blend, oil.blend_log):
        with pytest.raises(TradeError, match="share"):
            law(100, 3, share)


@given(st.floats(20, 500), st.floats(0.5, 10), st.floats(0, 1))
def test_either_law_finds_back_the_share_it_was_blended_with(fresh: float, thin: float, share: float) -> None:
    for law in (oil.blend, oil.blend_log):
        now = min(max(law(fresh, thin, share), thin), fresh)
        found = oil.dilution_from_viscosity(fresh, now, thin)
        assert found.least - 1e-6 <= 100 * share <= found.most + 1e-6


@pytest.mark.parametrize(
    ("fresh", "now", "thin", "words"),
    [
        (100, 90, 100, "does not thin oil"),
        (100, 110, 3, "thicker than fresh"),
        (100, 2, 3, "thinner than the fuel"),
    ],
)
def test_viscosities_that_tell_no_dilution_are_refused_with_what_they_may_mean(
    fresh: float, now: float, thin: float, words: str
) -> None:
    with pytest.raises(TradeError, match=words):
        oil.dilution_from_viscosity(fresh, now, thin)


@pytest.mark.parametrize(("now", "verdict"), [(100, "sound"), (95, "advisory"), (90, "major"), (75.59, "dangerous")])
def test_viscosity_is_judged_by_the_greater_end_of_the_range(now: float, verdict: str) -> None:
    assert advise_viscosity(100, now, 3).verdict == verdict


def test_viscosity_is_said_as_a_range() -> None:
    assert advise_viscosity(100, 75.587, 3).headline == "Between 5 and 8 % fuel in the oil."


@pytest.mark.parametrize(
    ("pressure", "low", "high", "verdict", "words"),
    [
        (150, 200, 400, "dangerous", "too low"),
        (500, 200, 400, "major", "too high"),
        (200, 200, 400, "sound", "in range"),
        (400, 200, 400, "sound", "in range"),
        (150, 200, None, "dangerous", "too low"),
        (500, None, 400, "major", "too high"),
        (300, 200, None, "not judged", "not judged on both sides"),
        (300, None, None, "not judged", "not judged on both sides"),
    ],
)
def test_pressure_too_low_and_too_high_are_both_faults(
    pressure: float, low: float | None, high: float | None, verdict: str, words: str
) -> None:
    said = advise_pressure(pressure, low, high)
    assert said.verdict == verdict
    assert said.headline.endswith(f"{words}.")


def test_low_pressure_says_stop_and_high_pressure_says_warm_up_first() -> None:
    assert advise_pressure(150, 200, 400).todo[0].startswith("Stop the engine now")
    assert advise_pressure(500, 200, 400).todo[0].startswith("Let it warm")


def test_a_missing_pressure_limit_is_named() -> None:
    assert [fact.key for fact in advise_pressure(300, None, 400).missing] == ["oil_pressure_low_kpa"]


@pytest.mark.parametrize(
    ("pressure", "low", "high", "words"),
    [(-1, None, None, "oil pressure is -1 kPa"), (300, 400, 200, "stand the wrong way round")],
)
def test_impossible_pressures_and_limits_are_refused(
    pressure: float, low: float | None, high: float | None, words: str
) -> None:
    with pytest.raises(TradeError, match=words):
        oil.pressure_side(pressure, low, high)
