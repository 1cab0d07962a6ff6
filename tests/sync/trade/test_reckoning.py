"""The shape every calculation comes in: words, numbers, JSON, and the caution that cannot be left out."""

import json
import math

import pytest

from sync.errors import TradeError
from sync.trade.cautions import BY_SYSTEM, cautions_for
from sync.trade.facts import FACTS, fact, missing
from sync.trade.reckoning import (
    MANUAL_FIRST,
    Figure,
    Missing,
    Reckoning,
    gravest,
    need,
    number,
    positive,
)

WHOLE = Reckoning(
    subject="trial",
    headline="Four of six.",
    verdict="minor",
    formula="counted",
    source="nobody",
    figures=(Figure("found", 4.04, "mm"),),
    inputs=(Figure("given", 6, "mm", 0),),
    assumptions=("All were seen.",),
    cautions=("Mind the edge.",),
    todo=("Count again.",),
    missing=(Missing("span_1_mm", "the span"),),
)


def test_the_manual_comes_first_on_every_reckoning_once() -> None:
    assert WHOLE.cautions == ("Mind the edge.", MANUAL_FIRST)
    assert Reckoning("s", "h", "sound", "f", "s", cautions=(MANUAL_FIRST,)).cautions == (MANUAL_FIRST,)


def test_a_reckoning_reads_in_lines() -> None:
    assert WHOLE.lines() == [
        "Four of six.",
        "Verdict: minor",
        "  found: 4 mm",
        "From:",
        "  - given: 6 mm",
        "Formula: counted",
        "Source: nobody",
        "Assumed:",
        "  - All were seen.",
        "Caution:",
        "  - Mind the edge.",
        f"  - {MANUAL_FIRST}",
        "To do:",
        "  - Count again.",
        "Missing:",
        "  - Add span_1_mm under [facts] in the vehicle's file: the span.",
    ]


def test_json_keeps_full_precision_beside_the_text() -> None:
    plain = json.loads(json.dumps(WHOLE.as_json()))
    assert plain["figures"] == [{"name": "found", "value": 4.04, "unit": "mm", "digits": 1, "text": "4 mm"}]
    assert plain["missing"][0]["key"] == "span_1_mm"
    assert plain["cautions"][-1] == MANUAL_FIRST


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [(3.95, 1, "4"), (3.94, 1, "3.9"), (-0.04, 1, "0"), (100, 0, "100"), (0, 2, "0"), (-2.5, 1, "-2.5")],
)
def test_numbers_are_written_without_needless_noughts(value: float, digits: int, text: str) -> None:
    assert number(value, digits) == text


def test_gravities_keep_their_noughts() -> None:
    assert Figure("cell 1", 1.25, "SG", 3).text == "1.250 SG"


def test_words_stand_as_figures_too() -> None:
    assert Figure("barred", "start, drive").text == "start, drive"


def test_the_gravest_verdict_is_taken() -> None:
    assert gravest(["sound", "minor", "major"]) == "major"
    assert gravest(["sound", "not judged"]) == "sound"
    assert gravest([]) == "not judged"


@pytest.mark.parametrize(
    ("value", "least", "most", "words"),
    [
        (-1, 0, math.inf, "sag is -1 mm; possible is 0 mm or more. Measure again."),
        (9, 0, 5, "sag is 9 mm; possible is 0 to 5 mm. Measure again."),
        (math.nan, 0, 5, "sag is nan mm"),
        (math.inf, 0, math.inf, "sag is inf mm"),
    ],
)
def test_an_impossible_input_names_itself_what_was_found_and_what_is_possible(
    value: float, least: float, most: float, words: str
) -> None:
    with pytest.raises(TradeError, match=words.replace(".", r"\.")):
        need("sag", value, "mm", least, most)


def test_bounds_belong_to_what_is_possible() -> None:
    assert need("sag", 0, "mm", 0, 5) == 0
    assert need("sag", 5, "mm", 0, 5) == 5
    assert positive("span", 0.1, "mm") == 0.1
    with pytest.raises(TradeError, match="span is 0 mm; possible is more than 0"):
        positive("span", 0, "mm")


def test_a_fact_that_is_not_there_is_none_and_can_be_asked_for() -> None:
    assert fact({}, "track_pitch_mm") is None
    assert fact({"track_pitch_mm": 102}, "track_pitch_mm") == 102
    assert "track_pitch_mm" in missing("track_pitch_mm").text


def test_every_fact_says_what_it_is_and_what_is_possible() -> None:
    assert all(key.what and key.least < key.most for key in FACTS.values())


def test_cautions_go_by_system_and_none_is_no_error() -> None:
    assert cautions_for("Brakes") == BY_SYSTEM["brakes"]
    assert cautions_for(None) == cautions_for("upholstery") == ()
