"""Amounts as people type them, and units that do not belong together."""

import pytest

from builder.quantities import conversions
from sync.errors import TradeError
from sync.trade.units import Amount, advise, convert, parse, quantity_of, spelled, to_base


@pytest.mark.parametrize(
    ("text", "quantity", "value", "unit"),
    [
        ("61 mm", "length", 61, "mm"),
        ("61mm", "length", 61, "mm"),
        ("3 1/2 in", "length", 3.5, "in"),
        ('3/8"', "length", 0.375, "in"),
        ("-4 C", "temperature", -4, "°C"),
        ("+.5 bar", "pressure", 0.5, "bar"),
        ("600 lbf.ft", "torque", 600, "lbf ft"),
        ("1 gal UK", "volume", 1, "gal UK"),
        ("1.265", "specific gravity", 1.265, "SG"),
        ("20%", "percent", 20, "%"),
        ("  12.  V ", "voltage", 12, "V"),
    ],
)
def test_an_amount_is_read_as_typed(text: str, quantity: str, value: float, unit: str) -> None:
    assert parse(text, quantity) == Amount(value, unit)


@pytest.mark.parametrize(
    ("text", "quantity", "words"),
    [
        ("61", "length", "has no unit"),
        ("1 gal", "volume", "no unit of volume: use one of L, mL, gal UK, gal US"),
        ("12 V", "length", "no unit of length"),
        ("long", "length", "is no amount"),
        ("", "length", "is no amount"),
        ("3/0 in", "length", "divides by nought"),
        ("1 mm", "colour", '"colour" is no quantity'),
    ],
)
def test_what_is_no_amount_is_refused_with_the_way_out(text: str, quantity: str, words: str) -> None:
    with pytest.raises(TradeError, match=words):
        parse(text, quantity)


def test_a_value_in_its_own_unit_is_not_touched() -> None:
    assert convert(0.1 + 0.2, "psi", "psi", "pressure") == 0.1 + 0.2


def test_a_foreign_unit_is_refused_by_name() -> None:
    with pytest.raises(TradeError, match='"psi" is no unit of length'):
        to_base(1, "psi", "length")
    with pytest.raises(TradeError, match='"V" is no unit of length'):
        convert(1, "mm", "V", "length")


def test_every_unit_belongs_to_the_quantity_that_lists_it() -> None:
    assert all(quantity_of(unit) == q for q, units in conversions().items() for unit in units)
    with pytest.raises(TradeError, match="furlong"):
        quantity_of("furlong")


def test_every_spelling_leads_to_a_known_unit() -> None:
    known = {unit for units in conversions().values() for unit in units}
    assert {spelled(unit) for unit in ("kpa", "NM", "Deg C".replace(" ", ""), "litres", "sg")} <= known
    assert spelled("furlong") == "furlong"


def test_an_amount_reads_without_needless_noughts() -> None:
    assert [str(Amount(61.0, "mm")), str(Amount(2.5, "in"))] == ["61 mm", "2.5 in"]


def test_a_conversion_is_said_with_both_units() -> None:
    assert advise(Amount(45, "psi"), "kPa").headline == "45 psi = 310.2641 kPa"
