"""Readings: whether two agree, and which of several is the farther outside its limits.

A reading that cannot be at all (a negative sag, a gravity of 2) is kept and shown, and claims nothing here.
"""

from dataclasses import dataclass

from builder.edition import Edition, EditionCheck
from builder.fleet import ReadingLimits
from sync.entries import Reading

#: Two readings that are equal but for binary fractions agree.
_EPSILON = 1e-9


@dataclass(frozen=True, slots=True)
class Limits:
    """A check's limits in the base unit of its quantity; `None` where there is no bound.

    `possible`: the least and most that a reading can be, each of them from the quantity and from the check.
    """

    units: dict[str, tuple[float, float]]
    low: float | None
    high: float | None
    tolerance: float
    possible: tuple[tuple[float | None, float | None], ...] = ()

    def base(self, reading: Reading) -> float | None:
        """The value in the base unit; None for a unit that the quantity does not have."""
        found = self.units.get(reading.unit)
        return None if found is None else reading.value * found[0] + found[1]

    def can_be(self, reading: Reading) -> bool:
        """Whether a reading can be at all; one in a unit that cannot be compared may be."""
        value = self.base(reading)
        return value is None or all(_within(value, least, most) for least, most in self.possible)

    def agree(self, one: Reading, other: Reading) -> bool:
        """Within the tolerance of each other; in units that cannot be compared, only if they are the same.

        What cannot be disputes nothing.
        """
        first, second = self.base(one), self.base(other)
        if first is None or second is None:
            return one == other
        if not (self.can_be(one) and self.can_be(other)):
            return True
        return abs(first - second) <= self.tolerance + _EPSILON * max(1.0, abs(first), abs(second))

    def outside(self, reading: Reading) -> float:
        """In tolerances, below and above alike; negative inside, and least for one that cannot be."""
        value = self.base(reading)
        if value is None:
            return 0.0
        if not self.can_be(reading):
            return float("-inf")
        step = self.tolerance or 1.0
        gaps = [bound - value for bound in (self.low,) if bound is not None]
        gaps += [value - bound for bound in (self.high,) if bound is not None]
        return max(gaps) / step if gaps else 0.0


def _within(value: float, least: float | None, most: float | None) -> bool:
    slack = _EPSILON * max(1.0, abs(value))
    return (least is None or value >= least - slack) and (most is None or value <= most + slack)


NO_LIMITS = Limits({}, None, None, 0.0)


def limits_of(edition: Edition, check: EditionCheck | None) -> Limits:
    """A check's limits as its edition has them; none where it measures nothing."""
    if check is None or check.reading is None:
        return NO_LIMITS
    reading: ReadingLimits = check.reading
    units = edition.conversions.get(reading.quantity, {})
    factor, offset = units.get(reading.unit, (1.0, 0.0))

    def base(value: float | None) -> float | None:
        return None if value is None else value * factor + offset

    possible = (edition.plausible.get(reading.quantity, (None, None)), (base(reading.least), base(reading.most)))
    return Limits(dict(units), base(reading.low), base(reading.high), reading.tolerance * abs(factor), possible)


def safer_reading(limits: Limits, readings: list[Reading]) -> Reading | None:
    """The one farther outside its limits, one that can be first; of two alike the larger value: no order decides."""
    return max(readings, key=lambda r: (limits.outside(r), r.value, r.unit), default=None)
