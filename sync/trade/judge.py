"""A reading against its limits, low and high alike, and two people's readings against each other.

The phone judges by the same arithmetic in the same order (tests/vectors/judge.json), so both say the same.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from builder.fleet import ReadingLimits
from builder.plausible import PLAUSIBLE
from sync.trade.reckoning import Figure, Reckoning, Verdict, number
from sync.trade.units import Amount, convert, to_base

Position = Literal["within", "below", "above", "risen", "implausible", "no limits"]

#: Conversion must not push a reading that stands on its limit over it.
EPSILON = 1e-9


@dataclass(frozen=True, slots=True)
class Judgement:
    """Where a reading lies. `outside` is how far beyond its limit, in the limits' unit (0 within).

    `marginal`: outside, but by no more than two people's readings may differ. Only "within" is green.
    """

    position: Position
    words: str
    outside: float = 0
    marginal: bool = False

    @property
    def green(self) -> bool:
        return self.position == "within"


def judge(reading: Amount, limits: ReadingLimits, earlier: Amount | None = None) -> Judgement:
    """Judge a reading against low and high, limits included; `earlier` where a rise by itself is a fault.

    An implausible reading is said to be one and judged no further. A level that rose since `earlier` never reads
    "within": it reads "risen", however little. Raises TradeError for a unit of another quantity.
    """
    value = convert(reading.value, reading.unit, limits.unit, limits.quantity)
    if not plausible(reading, limits):
        return Judgement("implausible", _implausible_words(reading, limits))
    beyond = _beyond(value, limits)
    if beyond:
        side, limit, outside = beyond
        marginal = outside <= limits.tolerance * (1 + EPSILON)
        return Judgement(side, _outside_words(reading, limits, side, limit), outside, marginal)
    if earlier is not None and value > convert(earlier.value, earlier.unit, limits.unit, limits.quantity):
        return Judgement("risen", f"{reading} is in range but has risen from {earlier}: find out why first")
    if limits.low is None and limits.high is None:
        return Judgement("no limits", f"{reading}: no limits are given for this check")
    return Judgement("within", f"{reading} is in range ({_range_words(reading, limits)})")


def plausible(reading: Amount, limits: ReadingLimits) -> bool:
    """Whether a reading can be at all: by its quantity, and by the check's `least` and `most`."""
    least, most = PLAUSIBLE[limits.quantity]
    base = to_base(reading.value, reading.unit, limits.quantity)
    value = convert(reading.value, reading.unit, limits.unit, limits.quantity)
    return (
        math.isfinite(base)
        and _not_under(base, least)
        and _not_over(base, most)
        and _not_under(value, limits.least)
        and _not_over(value, limits.most)
    )


def agree(readings: Sequence[Amount], limits: ReadingLimits) -> bool:
    """Whether readings of one thing agree: largest minus smallest within the check's tolerance."""
    values = [convert(r.value, r.unit, limits.unit, limits.quantity) for r in readings]
    spread = max(values) - min(values) if values else 0.0
    return spread <= limits.tolerance + EPSILON * max(1.0, limits.tolerance)


def advise(
    name: str,
    reading: Amount,
    limits: ReadingLimits,
    earlier: Amount | None = None,
    outside: Verdict = "major",
) -> Reckoning:
    """The judgement as a reckoning; `name` is what was measured, `outside` the severity of its usual fault."""
    judged = judge(reading, limits, earlier)
    verdict, todo = _ADVICE[judged.position]
    verdict = outside if judged.outside else verdict
    beyond = Figure("beyond its limit", judged.outside, _difference_unit(limits.unit), 4)
    if judged.marginal:
        todo = ("It is outside by no more than two readings may differ: measure once more.", *todo)
    return Reckoning(
        subject="reading",
        headline=f"{name}: {judged.words}.",
        verdict=verdict,
        figures=(beyond,) if judged.outside else (),
        inputs=_inputs(reading, limits, earlier),
        formula="the reading, in the limits' unit, against the lowest and the highest allowed, both included",
        source="limits of the vehicle's own file and templates; unit factors of NIST SP 811",
        todo=todo,
    )


#: What there is to do where no calculation says more.
PUT_RIGHT = "Put it right, or have the lead say what it may still do."
_ADVICE: dict[Position, tuple[Verdict, tuple[str, ...]]] = {
    "within": ("sound", ()),
    "below": ("major", (PUT_RIGHT,)),
    "above": ("major", (PUT_RIGHT,)),
    "risen": ("advisory", ("Find out what came in before anything is drained or topped up.",)),
    "implausible": ("not judged", ("Measure again, and look at the unit.",)),
    "no limits": ("not judged", ("Give low and high for this check, from the maker's manual.",)),
}


def _inputs(reading: Amount, limits: ReadingLimits, earlier: Amount | None) -> tuple[Figure, ...]:
    named = [("reading", reading.value, reading.unit)]
    if earlier is not None:
        named.append(("earlier", earlier.value, earlier.unit))
    for name in ("low", "high", "tolerance"):
        value = getattr(limits, name)
        if value is not None:
            named.append((name, value, limits.unit))
    return tuple(Figure(name, value, unit, 4) for name, value, unit in named)


def _beyond(value: float, limits: ReadingLimits) -> tuple[Literal["below", "above"], float, float] | None:
    if limits.low is not None and not _not_under(value, limits.low):
        return "below", limits.low, limits.low - value
    if limits.high is not None and not _not_over(value, limits.high):
        return "above", limits.high, value - limits.high
    return None


def _not_under(value: float, least: float | None) -> bool:
    return least is None or value >= least - EPSILON * max(1.0, abs(least))


def _not_over(value: float, most: float | None) -> bool:
    return most is None or value <= most + EPSILON * max(1.0, abs(most))


def _outside_words(reading: Amount, limits: ReadingLimits, side: str, limit: float) -> str:
    allowed = convert(limit, limits.unit, reading.unit, limits.quantity)
    by = Amount(abs(reading.value - allowed), _difference_unit(reading.unit))
    bound = "lowest" if side == "below" else "highest"
    return f"{reading} is {by} {side} the {bound} allowed ({_in_both(limit, reading.unit, limits)})"


def _implausible_words(reading: Amount, limits: ReadingLimits) -> str:
    least, most = limits.least, limits.most
    bounds = [f"at least {number(least, 4)}"] if least is not None else []
    bounds += [f"at most {number(most, 4)}"] if most is not None else []
    expected = f" (expected {' and '.join(bounds)} {limits.unit})" if bounds else ""
    return f"{reading} cannot be{expected}: measure again, and look at the unit"


def _range_words(reading: Amount, limits: ReadingLimits) -> str:
    low, high = limits.low, limits.high
    if low is not None and high is not None:
        return f"{_in_both(low, reading.unit, limits)} to {_in_both(high, reading.unit, limits)}"
    if low is not None:
        return f"{_in_both(low, reading.unit, limits)} or more"
    return f"at most {_in_both(high or 0.0, reading.unit, limits)}"


def _in_both(limit: float, unit: str, limits: ReadingLimits) -> str:
    own = f"{number(limit, 4)} {limits.unit}"
    if unit == limits.unit:
        return own
    return f"{number(convert(limit, limits.unit, unit, limits.quantity), 2)} {unit} = {own}"


def _difference_unit(unit: str) -> str:
    return {"°C": "K", "°F": "Δ°F"}.get(unit, unit)
