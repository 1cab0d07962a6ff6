"""Batteries: gravity, rest, cranking, cells, each branch."""

import math

import pytest

from sync.errors import TradeError
from sync.trade import battery
from sync.trade.battery import Charge, advise_cranking, advise_gravity, advise_rest

LEVEL = battery.REFERENCE_CELSIUS


def test_between_two_rows_the_charge_is_read_off_linearly() -> None:
    assert battery.cranking_power(1.255).percent == pytest.approx((75 + 83.3) / 2)
    assert battery.charge_at_rest(12.3, 12).percent == pytest.approx(62.5)


def test_outside_the_table_only_the_side_is_said() -> None:
    assert battery.cranking_power(1.2) == Charge(50, "under")
    assert battery.cranking_power(1.3) == Charge(100, "over")
    assert [battery.cranking_power(g).text for g in (1.2, 1.25, 1.3)] == ["under 50 %", "about 75 %", "100 %"]
    assert battery.charge_at_rest(10, 12) == Charge(0, "under")


@pytest.mark.parametrize(("volts", "nominal"), [(6.2, 6), (12.4, 12), (24.8, 24)])
def test_six_and_twenty_four_volts_go_by_cells(volts: float, nominal: int) -> None:
    assert battery.charge_at_rest(volts, nominal).percent == pytest.approx(75)


@pytest.mark.parametrize(
    ("gravity", "celsius", "words"),
    [
        (2, 20, "specific gravity is 2; possible is 1 to 1.4"),
        (0.9, 20, "specific gravity"),
        (1.25, -41, "electrolyte temperature is -41 °C"),
        (1.25, -273.15, "electrolyte temperature"),
        (math.nan, 20, "specific gravity"),
    ],
)
def test_an_impossible_gravity_or_temperature_is_refused(gravity: float, celsius: float, words: str) -> None:
    with pytest.raises(TradeError, match=words):
        battery.gravity_at_80f(gravity, celsius)


@pytest.mark.parametrize(
    ("volts", "nominal", "words"),
    [
        (13.3, 12, "is no rested 12 V battery"),
        (26.6, 24, "is no rested 24 V battery"),
        (-1, 12, "volts is -1 V"),
        (12, 8, "a battery of 8 V is not known here: expected 6, 12 or 24"),
    ],
)
def test_volts_that_no_rested_battery_has_are_refused(volts: float, nominal: int, words: str) -> None:
    with pytest.raises(TradeError, match=words):
        battery.charge_at_rest(volts, nominal)


@pytest.mark.parametrize("cells", [[], [1.25]])
def test_a_spread_needs_two_cells(cells: list[float]) -> None:
    with pytest.raises(TradeError, match="has no fellows"):
        battery.cell_spread(cells)


@pytest.mark.parametrize(
    ("cells", "verdict", "words"),
    [
        ((1.265, 1.265, 1.26), "sound", "the cells agree"),
        ((1.24, 1.24, 1.24), "advisory", "the cells agree"),
        ((1.21, 1.21, 1.21), "minor", "the cells agree"),
        ((1.28, 1.28, 1.25), "minor", "cell 3 is 0.03 below the best"),
        ((1.28, 1.28, 1.255), "sound", "the cells agree"),
    ],
)
def test_the_weakest_cell_and_the_spread_are_judged(cells: tuple[float, ...], verdict: str, words: str) -> None:
    said = advise_gravity({str(n): cell for n, cell in enumerate(cells, 1)}, LEVEL)
    assert said.verdict == verdict
    assert words in said.headline
    assert bool(said.todo) is (verdict != "sound")


def test_uneven_cells_ask_for_a_full_charge_first() -> None:
    said = advise_gravity({"1": 1.28, "2": 1.25}, LEVEL)
    assert said.todo == ("Charge it fully and measure again: over 0.025 between cells then, it is unserviceable.",)


def test_a_cold_cell_reads_lower_after_correction() -> None:
    said = advise_gravity({"1": 1.25, "2": 1.25}, -6.667)
    assert said.headline.startswith("Weakest cell 1: 1.226 at 80 °F, about 55 % charged")


@pytest.mark.parametrize(
    ("volts", "verdict"),
    [(12.6, "sound"), (12.4, "sound"), (12.39, "advisory"), (12.2, "advisory"), (12.19, "minor"), (11, "minor")],
)
def test_rest_volts_are_graded_by_charge(volts: float, verdict: str) -> None:
    said = advise_rest(volts, 12)
    assert said.verdict == verdict
    assert bool(said.todo) is (verdict != "sound")


@pytest.mark.parametrize(
    ("volts", "nominal", "verdict"),
    [
        (4.8, 6, "sound"),
        (4.7, 6, "minor"),
        (9.6, 12, "sound"),
        (9.5, 12, "minor"),
        (18, 24, "sound"),
        (17.9, 24, "minor"),
    ],
)
def test_cranking_volts_are_held_against_the_published_least(volts: float, nominal: int, verdict: str) -> None:
    said = advise_cranking(volts, nominal)
    assert said.verdict == verdict
    assert said.todo[-1] == "Crank at most 30 s, then let the starter cool 2 min."


def test_volts_over_any_battery_of_its_kind_are_refused() -> None:
    with pytest.raises(TradeError, match="volts while cranking is 24 V"):
        advise_cranking(24, 12)


def test_without_the_nominal_voltage_the_fact_is_named() -> None:
    for said in (advise_rest(12.4, None), advise_cranking(9.8, None)):
        assert said.verdict == "not judged"
        assert [fact.key for fact in said.missing] == ["battery_volts"]


def test_battery_work_warns_of_the_electrolyte() -> None:
    assert "goggles and gloves" in advise_rest(12.4, 12).cautions[0]


def test_of_one_cell_the_charge_is_said_and_that_it_has_no_fellow() -> None:
    said = advise_gravity({"3": 1.25}, LEVEL)
    assert said.headline == "Weakest cell 3: 1.250 at 80 °F, about 75 % charged; no other cell was measured."
    assert [figure.name for figure in said.figures] == ["cell 3 at 80 °F", "charge of the weakest"]


def test_a_battery_below_the_table_at_rest_is_not_charged_at_all() -> None:
    assert battery.advise_rest(11.4, 12).headline == "11.4 V at rest: not at all charged."
