"""Readings: whether two agree, and which of several is the farther outside its limits."""

from dataclasses import dataclass

from builder.edition import Edition, EditionCheck
from builder.fleet import ReadingLimits
from sync.entries import Reading

#: Two readings that are equal but for binary fractions agree.
_EPSILON = 1e-9


@dataclass(frozen=True, slots=True)
class Limits:
    """A check's limits in the base unit of its quantity; `None` where there is no bound."""

    units: dict[str, tuple[float, float]]
    low: float | None
    high: float | None
    tolerance: float

    def base(self, reading: Reading) -> float | None:
        """The value in the base unit; None for a unit that the quantity does not have."""
        found = self.units.get(reading.unit)
        return None if found is None else reading.value * found[0] + found[1]

    def agree(self, one: Reading, other: Reading) -> bool:
        """Within the tolerance of each other; in units that cannot be compared, only if they are the same."""
        first, second = self.base(one), self.base(other)
        if first is None or second is None:
            return one == other
        return abs(first - second) <= self.tolerance + _EPSILON * max(1.0, abs(first), abs(second))

    def outside(self, reading: Reading) -> float:
        """How far outside the limits, in tolerances, below and above alike; negative inside."""
        value = self.base(reading)
        if value is None:
            return 0.0
        step = self.tolerance or 1.0
        gaps = [bound - value for bound in (self.low,) if bound is not None]
        gaps += [value - bound for bound in (self.high,) if bound is not None]
        return max(gaps) / step if gaps else 0.0


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

    return Limits(dict(units), base(reading.low), base(reading.high), reading.tolerance * abs(factor))


def safer_reading(limits: Limits, readings: list[Reading]) -> Reading | None:
    """The one farther outside its limits; of two alike the larger value, so that no order decides."""
    return max(readings, key=lambda r: (limits.outside(r), r.value, r.unit), default=None)
