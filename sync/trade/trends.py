"""A reading over time: straight line, prediction interval, and when it passes its limit, if that can be said."""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from statistics import fmean, linear_regression
from typing import Literal

from sync.errors import TradeError
from sync.trade.quantiles import t_quantile
from sync.trade.reckoning import NO_SOURCE, Figure, Reckoning, Verdict, number

#: Fewer readings, or fewer different times, are no trend.
LEAST_READINGS = 4
LEAST_TIMES = 3
CONFIDENCE = 0.95


@dataclass(frozen=True, slots=True)
class Point:
    """One reading: when (days or running hours) and its value, all in one unit."""

    x: float
    value: float


@dataclass(frozen=True, slots=True)
class Line:
    """Least-squares line through n points; `spread` is the residual standard deviation (n - 2)."""

    slope: float
    intercept: float
    spread: float
    n: int
    mean_x: float
    squares_x: float

    def at(self, x: float) -> float:
        """The line's value at x."""
        return self.intercept + self.slope * x

    def half_width(self, x: float, confidence: float = CONFIDENCE) -> float:
        """Half the prediction interval for one more reading at x.

        t(n - 2) s sqrt(1 + 1/n + (x - mean)^2 / Sxx). Source: NIST e-Handbook 4.1.4.1 and 4.5.1.2.
        """
        apart = (x - self.mean_x) ** 2 / self.squares_x
        return t_quantile(confidence, self.n - 2) * self.spread * math.sqrt(1 + 1 / self.n + apart)

    def slope_error(self) -> float:
        """Standard error of the slope: s / sqrt(Sxx)."""
        return self.spread / math.sqrt(self.squares_x)

    def drifts(self, confidence: float = CONFIDENCE) -> bool:
        """Whether the slope differs from nought with `confidence` (t test on the slope)."""
        return abs(self.slope) > t_quantile(confidence, self.n - 2) * self.slope_error()


def fit(points: Sequence[Point]) -> Line:
    """Least-squares straight line. Needs three points or more, at two times or more.

    Source: any textbook; checked against NIST StRD Norris. Raises TradeError for fewer, or for values that are
    no numbers.
    """
    if any(not math.isfinite(p.x) or not math.isfinite(p.value) for p in points):
        raise TradeError("a reading of the trend is no number: leave it out or measure again")
    xs, ys = [p.x for p in points], [p.value for p in points]
    if len(points) < 3 or len(set(xs)) < 2:
        raise TradeError(f"{len(points)} readings at {len(set(xs))} times make no line: expected 3 at 2 or more")
    slope, intercept = linear_regression(xs, ys)
    mean = fmean(xs)
    squares = math.fsum((x - mean) ** 2 for x in xs)
    rest = math.fsum((y - intercept - slope * x) ** 2 for x, y in zip(xs, ys, strict=True))
    return Line(slope, intercept, math.sqrt(rest / (len(xs) - 2)), len(xs), mean, squares)


@dataclass(frozen=True, slots=True)
class Crossing:
    """When a drifting reading passes a limit: by the line, and at the earliest by the prediction interval.

    None: not within as long again as was observed, which is as far ahead as is looked.
    """

    limit: float
    by_line: float | None
    earliest: float | None


@dataclass(frozen=True, slots=True)
class Series:
    """Readings of one check (and spot) with its limits; `first_day` turns days into dates.

    `unit_x` is "days" or "running hours". Readings from before the last repair or adjustment do not belong here.
    """

    name: str
    points: tuple[Point, ...]
    unit: str
    unit_x: Literal["days", "running hours"] = "days"
    low: float | None = None
    high: float | None = None
    first_day: date | None = field(default=None)

    def when(self, x: float) -> str:
        """A time as people read it: a date where the first day is known, else days or hours."""
        if self.first_day is not None and self.unit_x == "days":
            return (self.first_day + timedelta(days=math.floor(x))).isoformat()
        return f"{number(x)} {self.unit_x}"


def evidence(series: Series) -> str:
    """Why a trend cannot be read yet, in words; empty where it can.

    At least 4 readings at 3 different times (common practice, no source).
    """
    times = len({p.x for p in series.points})
    if len(series.points) >= LEAST_READINGS and times >= LEAST_TIMES:
        return ""
    return (
        f"not enough to tell: {len(series.points)} readings at {times} times, "
        f"{LEAST_READINGS} at {LEAST_TIMES} are needed"
    )


def crossing(line: Line, series: Series) -> Crossing | None:
    """When the line, and the near edge of its prediction interval, pass the limit it drifts towards.

    Looks ahead as long again as was observed, no farther (common practice, no source). None where there is no limit on
    that side. Source of the interval: as `fit`.
    """
    limit = series.high if line.slope > 0 else series.low
    if limit is None:
        return None
    start = max(p.x for p in series.points)
    end = start + (start - min(p.x for p in series.points))
    sign = 1 if line.slope > 0 else -1

    def past(x: float, width: float) -> bool:
        return sign * (line.at(x) + sign * width - limit) >= 0

    return Crossing(
        limit,
        _first(start, end, lambda x: past(x, 0)),
        _first(start, end, lambda x: past(x, line.half_width(x))),
    )


def _first(start: float, end: float, holds: Callable[[float], bool]) -> float | None:
    """The first x from start to end where a condition that then stays holds, to a thousandth of the way."""
    if not holds(end):
        return None
    low, high = start, end
    if holds(low):
        return low
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (low, middle) if holds(middle) else (middle, high)
    return high


def advise(series: Series) -> Reckoning:
    """The trend in words, or that there is not enough to tell. Raises TradeError as `fit`."""
    why_not = evidence(series)
    if why_not:
        return _said(series, why_not, "not judged")
    line = fit(series.points)
    if not line.drifts():
        return _said(series, "no trend: what changes lies within the scatter", "sound", line)
    way = "rising" if line.slope > 0 else "falling"
    rate = f"{way} by {number(abs(line.slope), 3)} {series.unit} per {series.unit_x.removesuffix('s')}"
    found = crossing(line, series)
    if found is None:
        return _said(series, f"{rate}; no limit on that side", "advisory", line)
    if found.earliest is None:
        return _said(series, f"{rate}; it does not reach its limit in as long again", "advisory", line)
    words = f"could pass {number(found.limit, 3)} {series.unit} from {series.when(found.earliest)}"
    if found.by_line is not None:
        words += f", by the line on {series.when(found.by_line)}"
    return _said(series, f"{rate}; {words}", _soon(found, series), line, found)


def _soon(found: Crossing, series: Series) -> Verdict:
    """Already past by the line is no forecast: that is for the limits themselves, and graver than a warning."""
    last = max(p.x for p in series.points)
    return "major" if found.by_line is not None and found.by_line <= last else "minor"


def _said(
    series: Series, words: str, verdict: Verdict, line: Line | None = None, found: Crossing | None = None
) -> Reckoning:
    return Reckoning(
        subject="trend",
        headline=f"{series.name}: {words}.",
        verdict=verdict,
        figures=_figures(series, line, found),
        inputs=tuple(
            Figure(f"at {series.when(p.x)}", p.value, series.unit, 3) for p in sorted(series.points, key=lambda p: p.x)
        ),
        formula="least-squares line; prediction interval t(n - 2, 95 %) s sqrt(1 + 1/n + (x - mean)²/Sxx); "
        "a trend only where the slope differs from nought with 95 %",
        source=f"NIST e-Handbook of Statistical Methods 4.1.4.1 and 4.5.1.2; how many readings it takes: {NO_SOURCE}",
        assumptions=(
            "Only readings since the last repair or adjustment; nothing else was changed meanwhile.",
            "Wear goes on as before; looked ahead as long again as was observed, no farther.",
        ),
        todo=("Plan it before the earliest date; measure again meanwhile.",) if found is not None else (),
    )


def _figures(series: Series, line: Line | None, found: Crossing | None) -> tuple[Figure, ...]:
    if line is None:
        return ()
    last = max(p.x for p in series.points)
    figures = [
        Figure("slope", line.slope, f"{series.unit} per {series.unit_x.removesuffix('s')}", 4),
        Figure("scatter", line.spread, series.unit, 3),
        Figure("next reading within", line.half_width(last), f"{series.unit} either way", 3),
    ]
    if found is not None and found.earliest is not None:
        figures.append(Figure("earliest at the limit", series.when(found.earliest)))
    if found is not None and found.by_line is not None:
        figures.append(Figure("at the limit by the line", series.when(found.by_line)))
    return tuple(figures)


def recurrence(count: int, hours: float | None) -> str:
    """How often a fault came back, as a bare count per running hours: "3 times in 42 running hours".

    Domain: count 0 or more, hours 0 or more, or None where no hours were kept. Raises TradeError outside.
    """
    if count < 0 or (hours is not None and not 0 <= hours < math.inf):
        raise TradeError(f"{count} times in {hours} running hours cannot be: expected 0 or more of both")
    times = {1: "once", 2: "twice"}.get(count, f"{count} times")
    return f"{times}, running hours not kept" if hours is None else f"{times} in {number(hours)} running hours"
