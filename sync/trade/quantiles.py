"""The few distribution values the statistics need, exact in closed form for whole degrees of freedom.

scipy would bring some 100 MB to a workshop PC for these; the tests compare every value with it.
"""

import math
from collections.abc import Callable

from sync.errors import TradeError


def t_between(t: float, freedom: int) -> float:
    """Probability that Student's t with `freedom` (1 or more) degrees lies between -t and t, t >= 0.

    Source: Abramowitz and Stegun 26.7.3 and 26.7.4 (finite sums, from memory).
    """
    theta = math.atan2(t, math.sqrt(freedom))
    cos2 = math.cos(theta) ** 2
    odd = freedom % 2
    term, total = (math.cos(theta) if odd else 1.0), 0.0
    for k in range(odd + 1, freedom, 2):
        total += term
        term *= cos2 * k / (k + 1)
    total *= math.sin(theta)
    return (theta + total) * 2 / math.pi if odd else total


def t_quantile(confidence: float, freedom: int) -> float:
    """The t that Student's t stays within, both sides, with `confidence` (0.95): 2.7764 for 4 degrees.

    Domain: 0 < confidence < 1, freedom 1 or more. Source: inverse of `t_between`. Raises TradeError outside.
    """
    _check(confidence, freedom)
    return _inverse(lambda t: t_between(t, freedom), confidence)


def chi_square_even(x: float, pairs: int) -> float:
    """Probability that chi-square with 2 x `pairs` degrees stays below x >= 0: a Poisson tail.

    Source: Abramowitz and Stegun 26.4.4 (from memory).
    """
    half, term, total = x / 2, 1.0, 0.0
    for k in range(pairs):
        total += term
        term *= half / (k + 1)
    return 1 - math.exp(-half) * total


def chi_square_quantile_even(probability: float, pairs: int) -> float:
    """The x that chi-square with 2 x `pairs` degrees stays below with `probability`.

    Domain: 0 < probability < 1, pairs 1 or more. Source: `chi_square_even`, inverted. Raises TradeError outside.
    """
    _check(probability, pairs)
    return _inverse(lambda x: chi_square_even(x, pairs), probability)


def _check(probability: float, freedom: int) -> None:
    if not 0 < probability < 1:
        raise TradeError(f"confidence is {probability:g}: expected more than 0 and less than 1, such as 0.95")
    if freedom < 1:
        raise TradeError(f"{freedom} degrees of freedom: expected 1 or more, that is more readings")


def _inverse(rising: Callable[[float], float], wanted: float) -> float:
    """x with rising(x) = wanted, by halving down to neighbouring floats."""
    low, high = 0.0, 1.0
    while rising(high) < wanted:
        low, high = high, high * 2
    while True:
        x = (low + high) / 2
        if x in (low, high):
            return x
        low, high = (x, high) if rising(x) < wanted else (low, x)
