"""The leak table itself: complete, without dead rows, and never talked down."""

import itertools

import pytest

from builder.leak_rules import NEVER, RULES, LeakRules, leak_rules
from sync.errors import TradeError
from sync.trade.leaks import LeakSeen, advise, decide, found_on

RULED = leak_rules()
GRAVITY = ["advisory", "minor", "major", "dangerous"]
EVERY = [
    LeakSeen(fluid, leak_class, found, stream, level_ok)
    for fluid, leak_class, found, stream, level_ok in itertools.product(
        ("petrol", "brake fluid", "brake air", "engine oil"),
        (1, 2, 3),
        ("before", "during", "after"),
        (False, True),
        (True, False, None),
    )
]


def gravity(seen: LeakSeen) -> int:
    return GRAVITY.index(decide(seen).severity)


def test_every_row_of_the_table_is_reached_by_some_leak() -> None:
    assert {decide(seen).id for seen in EVERY} == {rule.id for rule in RULES}


def test_every_row_names_its_source_and_an_instruction() -> None:
    assert all(rule.source and rule.instruction.endswith(".") for rule in RULES)


def test_a_greater_class_is_never_less_grave() -> None:
    for seen in EVERY:
        if seen.leak_class < 3:
            worse = LeakSeen(seen.fluid, seen.leak_class + 1, seen.found, seen.stream, seen.level_ok)  # type: ignore[arg-type]
            assert gravity(worse) >= gravity(seen)


def test_a_low_level_is_never_less_grave_than_one_in_range() -> None:
    for seen in EVERY:
        if seen.level_ok:
            low = LeakSeen(seen.fluid, seen.leak_class, seen.found, seen.stream, False)
            assert gravity(low) >= gravity(seen)


def test_a_level_not_looked_at_counts_as_low() -> None:
    for seen in EVERY:
        if seen.level_ok is None:
            low = LeakSeen(seen.fluid, seen.leak_class, seen.found, seen.stream, False)
            assert decide(seen) == decide(low)


def test_a_stream_is_judged_as_class_three_whatever_was_marked() -> None:
    marked = decide(LeakSeen("engine oil", 1, "after", stream=True, level_ok=True))
    assert marked == decide(LeakSeen("engine oil", 3, "after", stream=True, level_ok=True))
    said = advise(LeakSeen("engine oil", 1, "after", stream=True, level_ok=True))
    assert any("judged as class 3" in line for line in said.assumptions)


def test_what_is_dangerous_bars_starting_and_driving() -> None:
    assert all(rule.bars == ("start", "drive") for rule in RULES if rule.severity == "dangerous")


def test_no_decision_goes_below_the_floor_of_its_fluid() -> None:
    floored = [seen for seen in EVERY if (RULED.floor(seen.fluid) is not None)]
    assert {seen.fluid for seen in floored} == {"petrol", "brake fluid"}
    assert all(gravity(seen) >= GRAVITY.index(str(RULED.floor(seen.fluid))) for seen in floored)


def test_the_never_rules_are_fuel_and_hydraulic_brake_fluid() -> None:
    assert {group for rule in NEVER for group in rule.groups} == {"fuel", "brake fluid"}


def test_no_floor_is_named_for_no_leak_or_an_unknown_fluid() -> None:
    assert RULED.floor(None) is None
    assert RULED.floor("treacle") is None


def test_a_fluid_is_known_whatever_its_capitals() -> None:
    assert RULED.floor(" Petrol ") == "dangerous"


def test_an_unknown_fluid_is_refused_with_those_there_are() -> None:
    with pytest.raises(TradeError, match=r'"treacle" is no fluid .* petrol'):
        decide(LeakSeen("treacle", 1, "before"))


def test_an_unknown_round_counts_as_after_running() -> None:
    assert found_on("evening") == "after"


def test_the_table_survives_the_edition() -> None:
    plain = leak_rules().model_dump_json(exclude_none=True)
    assert LeakRules.model_validate_json(plain) == leak_rules()


def test_the_advice_says_severity_instruction_bars_and_that_the_manual_comes_first() -> None:
    said = advise(LeakSeen("coolant", 3, "after", level_ok=False))
    assert said.headline == "Coolant leak, class 3 (drops fall): dangerous."
    assert said.figures[0].text == "start, drive"
    assert said.todo == (decide(LeakSeen("coolant", 3, "after", level_ok=False)).instruction,)
    assert "maker's manual" in said.cautions[-1]
    assert any("Hot coolant" in line for line in said.cautions)


def test_the_advice_on_fuel_says_that_it_cannot_be_talked_down() -> None:
    said = advise(LeakSeen("diesel", 1, "before", level_ok=True))
    assert said.verdict == "dangerous"
    assert any("no fuel leak of any class" in line for line in said.assumptions)


def test_the_advice_on_a_seep_bars_nothing() -> None:
    said = advise(LeakSeen("grease", 1, "before", level_ok=True))
    assert (said.verdict, said.figures[0].text) == ("advisory", "nothing")
