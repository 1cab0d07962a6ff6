"""Figures of a season: availability with waiting counted, time between failures, trend of failures, agreement.

They are about vehicles and checks; none may be used to compare helpers.
"""

import math
from collections.abc import Sequence

from sync.errors import TradeError
from sync.trade.quantiles import chi_square_quantile_even
from sync.trade.reckoning import Figure, Reckoning, Verdict, need, number, positive


def operational_availability(between: float, mending: float, waiting: float) -> float:
    """Share of time a vehicle can be used: MTBM / (MTBM + MMT + MLDT), 0 to 1.

    between: mean time between maintenance; mending: mean maintenance time; waiting: mean delay for parts, people
    and place; all hours or all days. 60, 5, 15 give 0.75. Domain: between > 0, others >= 0.
    Source: operational availability as in US defence practice (from memory). Raises TradeError outside.
    """
    positive("mean time between maintenance", between, "")
    down = need("mean mending time", mending, "", 0) + need("mean waiting time", waiting, "", 0)
    return between / (between + down)


def mtbf_lower_bound(hours: float, failures: int, confidence: float = 0.95) -> float:
    """Mean time between failures in hours that is reached at least, with one-sided `confidence`.

    2 T / chi-square(confidence; 2 r + 2), the observation ending by time. 800 h without a failure: 267.05 h, and
    no estimate beside it. Domain: hours > 0, failures >= 0, 0 < confidence < 1.
    Source: NIST e-Handbook 8.4.5.1. Raises TradeError outside.
    """
    positive("running hours", hours, "h")
    need("failures", failures, "", 0)
    return 2 * hours / chi_square_quantile_even(confidence, failures + 1)


def laplace(times: Sequence[float], total: float) -> float:
    """Laplace's trend statistic of failure times over `total` hours observed: about normal without a trend.

    Below -1.96 failures become rarer, above 1.96 more frequent (95 %). sqrt(12 n) (mean / T - 1/2).
    Domain: one failure or more, each within 0 to `total`. Source: NIST e-Handbook 8.2.3.4.
    Raises TradeError outside.
    """
    positive("hours observed", total, "h")
    if not times:
        raise TradeError("no failure times were given: expected one or more for a trend")
    mean = math.fsum(need("failure time", t, "h", 0, total) for t in times) / len(times)
    return math.sqrt(12 * len(times)) * (mean / total - 0.5)


def cohens_kappa(table: Sequence[Sequence[float]], *, weighted: bool = False) -> float:
    """Agreement of two lookers beyond chance; table[i][j] counts what the first called i and the second j.

    weighted: nearby grades count as partly agreed (weights 0, 1, 2 ... apart, linear). Says how clear a check is,
    not how good a person. Domain: a square table of counts, two grades or more.
    Source: Cohen 1960 and 1968 (from memory). Raises TradeError outside, or where chance alone agrees fully.
    """
    size = len(table)
    if size < 2 or any(len(row) != size for row in table):
        raise TradeError(f"a table of {size} rows is not square: expected as many columns as rows, two or more")
    total = math.fsum(need("count", cell, "", 0) for row in table for cell in row)
    positive("findings in all", total, "")
    rows = [math.fsum(row) for row in table]
    columns = [math.fsum(row[j] for row in table) for j in range(size)]
    apart = [[float(abs(i - j)) if weighted else float(i != j) for j in range(size)] for i in range(size)]
    pairs = [(i, j) for i in range(size) for j in range(size)]
    seen = math.fsum(apart[i][j] * table[i][j] for i, j in pairs) / total
    chance = math.fsum(apart[i][j] * rows[i] * columns[j] for i, j in pairs) / total**2
    return 1 - seen / _chance(chance)


def fleiss_kappa(table: Sequence[Sequence[int]]) -> float:
    """Agreement of several lookers beyond chance; table[i][j] is how many called subject i grade j.

    Domain: two lookers or more, as many for each subject. Source: Fleiss 1971 (from memory).
    Raises TradeError outside, or where chance alone agrees fully.
    """
    raters = sum(table[0]) if table else 0
    if raters < 2 or any(sum(row) != raters for row in table):
        raise TradeError("each subject needs the same number of lookers, two or more")
    n = len(table)
    shares = [sum(row[j] for row in table) / (n * raters) for j in range(len(table[0]))]
    seen = math.fsum((sum(c * c for c in row) - raters) / (raters * (raters - 1)) for row in table) / n
    expected = math.fsum(share * share for share in shares)
    return 1 - (1 - seen) / _chance(1 - expected)


def _chance(apart: float) -> float:
    if apart <= 0:
        raise TradeError("everything was called the same: agreement beyond chance cannot be told")
    return apart


def advise_availability(between: float, mending: float, waiting: float) -> Reckoning:
    """Availability with waiting counted, in words. Inputs and errors as `operational_availability`."""
    share = operational_availability(between, mending, waiting)
    without = operational_availability(between, mending, 0)
    return Reckoning(
        subject="availability",
        headline=f"Available {number(100 * share)} % of the time; {number(100 * without)} % if nothing waited.",
        verdict="not judged",
        figures=(Figure("available", 100 * share, "%"), Figure("without waiting", 100 * without, "%")),
        inputs=(
            Figure("between maintenance", between),
            Figure("mending", mending),
            Figure("waiting for parts, people, place", waiting),
        ),
        formula="between / (between + mending + waiting)",
        source="operational availability, US defence practice (from memory)",
        assumptions=("All three are means in one unit, over the same season.",),
    )


def advise_failures(times: Sequence[float], hours: float) -> Reckoning:
    """Time between failures and their trend over running hours. Inputs and errors as `laplace`."""
    bound = mtbf_lower_bound(hours, len(times))
    trend = laplace(times, hours) if times else None
    figures = [Figure("reached at least, 95 %", bound, "h")]
    if trend is not None:
        figures += [Figure("hours per failure", hours / len(times), "h"), Figure("Laplace", trend, "", 2)]
    return Reckoning(
        subject="failures",
        headline=f"{len(times)} failures in {number(hours)} running hours: at least {number(bound)} h between them "
        f"with 95 % confidence; {_trend_words(trend)}.",
        verdict=_trend_verdict(trend),
        figures=tuple(figures),
        inputs=(
            Figure("running hours", hours, "h"),
            *(Figure(f"failure {n}", time, "h") for n, time in enumerate(times, 1)),
        ),
        formula="2 T / chi-square(95 %; 2 r + 2); Laplace: sqrt(12 n) (mean time / T - 1/2)",
        source="NIST e-Handbook of Statistical Methods 8.4.5.1 and 8.2.3.4",
        assumptions=("Observed to the end of these hours, not to the last failure.",),
        todo=("Look for one cause behind them before mending the next one.",) if (trend or 0) > 1.96 else (),
    )


def _trend_words(trend: float | None) -> str:
    if trend is None:
        return "without a failure there is a lower bound only"
    if abs(trend) <= 1.96:
        return "no trend can be told"
    return "they come more often" if trend > 0 else "they come less often"


def _trend_verdict(trend: float | None) -> Verdict:
    return "not judged" if trend is None or abs(trend) <= 1.96 else "advisory" if trend > 0 else "sound"
