"""Readings over time as lines to draw: dots, the line through them, the limits. Pure; the template draws."""

from collections.abc import Sequence
from dataclasses import dataclass

from sync.desk.readings import Trend
from sync.trade.reckoning import Reckoning, number

WIDE, TALL = 420, 170
LEFT, RIGHT, TOP, BOTTOM = 52, 12, 14, 26
SPARK_WIDE, SPARK_TALL, SPARK_EDGE = 110, 30, 4


@dataclass(frozen=True)
class Dot:
    x: float
    y: float
    outside: bool
    when: str
    value: str


@dataclass(frozen=True)
class Mark:
    """A value or a time at the edge of the drawing."""

    at: float
    text: str


@dataclass(frozen=True)
class Chart:
    """One drawing in a box of `wide` x `tall`. `band` is (top, bottom) of what is right; `line` an SVG path."""

    spot: str
    unit: str
    dots: tuple[Dot, ...]
    line: str
    band: tuple[float, float]
    sides: tuple[Mark, ...]
    ends: tuple[Mark, ...]
    said: Reckoning
    wide: int = WIDE
    tall: int = TALL


def chart(trend: Trend) -> Chart:
    """A trend as a drawing, its limits as a band, its times from left to right."""
    series = trend.series
    values = [p.value for p in series.points]
    scale = _Scale.over([*values, *(v for v in (series.low, series.high) if v is not None)], TOP, TALL - BOTTOM)
    xs = [p.x for p in series.points]
    across = _Scale.over(xs, WIDE - RIGHT, LEFT, margin=0)
    dots = tuple(
        Dot(across.at(p.x), scale.at(p.value), _outside(p.value, series.low, series.high), series.when(p.x),
            f"{number(p.value, 3)} {series.unit}")
        for p in sorted(series.points, key=lambda p: p.x)
    )  # fmt: skip
    line = ""
    if trend.line is not None:
        first, last = min(xs), max(xs)
        ends = [(across.at(x), scale.held(trend.line.at(x))) for x in (first, last)]
        line = f"M{ends[0][0]} {ends[0][1]}L{ends[1][0]} {ends[1][1]}"
    limits = {v: f"{number(v, 3)} {series.unit}" for v in (series.low, series.high) if v is not None}
    sides = limits or {v: f"{number(v, 3)} {series.unit}" for v in (min(values), max(values))}
    times = {x: series.when(x) for x in (min(xs), max(xs))}
    return Chart(
        spot=trend.spot,
        unit=series.unit,
        dots=dots,
        line=line,
        band=_band(scale, series.low, series.high),
        sides=tuple(Mark(scale.at(v), text) for v, text in sides.items()),
        ends=tuple(Mark(across.at(x), text) for x, text in times.items()),
        said=trend.said,
    )


@dataclass(frozen=True)
class Spark:
    """The latest readings of one check and spot, small; `words` says them."""

    path: str
    dots: tuple[Dot, ...]
    band: tuple[float, float]
    words: str
    wide: int = SPARK_WIDE
    tall: int = SPARK_TALL


def spark(
    points: Sequence[tuple[str, float]], unit: str, low: float | None, high: float | None, *, over_time: bool
) -> Spark:
    """(day or spot, value) in order, in a small box: a line with its last reading over time, else a dot each."""
    values = [value for _, value in points]
    limits = [v for v in (low, high) if v is not None]
    scale = _Scale.over([*values, *limits], SPARK_EDGE, SPARK_TALL - SPARK_EDGE)
    step = (SPARK_WIDE - 2 * SPARK_EDGE) / max(1, len(points) - 1)
    first = SPARK_EDGE if len(points) > 1 else SPARK_WIDE / 2
    dots = tuple(
        Dot(round(first + n * step, 1), scale.at(value), _outside(value, low, high), name, f"{number(value, 3)} {unit}")
        for n, (name, value) in enumerate(points)
    )
    path = "M" + "L".join(f"{dot.x} {dot.y}" for dot in dots) if over_time and len(dots) > 1 else ""
    words = ", ".join(f"{dot.when} {dot.value}" for dot in dots)
    return Spark(path=path, dots=dots[-1:] if over_time else dots, band=_band(scale, low, high), words=words)


@dataclass(frozen=True)
class _Scale:
    """Values to places: `low` lies at `bottom`, `high` at `top`."""

    low: float
    high: float
    top: float
    bottom: float

    @classmethod
    def over(cls, values: Sequence[float], top: float, bottom: float, margin: float = 0.06) -> "_Scale":
        low, high = min(values), max(values)
        if high == low:
            low, high = low - 1, high + 1
        room = (high - low) * margin
        return cls(low - room, high + room, top, bottom)

    def at(self, value: float) -> float:
        share = (value - self.low) / (self.high - self.low)
        return round(self.bottom + share * (self.top - self.bottom), 1)

    def held(self, value: float) -> float:
        """Never out of the box."""
        return self.at(min(self.high, max(self.low, value)))


def _band(scale: _Scale, low: float | None, high: float | None) -> tuple[float, float]:
    """Top and bottom of what is right; an open side goes to the edge. Nothing is shaded without limits."""
    if low is None and high is None:
        return (scale.top, scale.top)
    return (scale.at(high) if high is not None else scale.top, scale.at(low) if low is not None else scale.bottom)


def _outside(value: float, low: float | None, high: float | None) -> bool:
    return (low is not None and value < low) or (high is not None and value > high)
