"""Medians, ratios and the lines that tell them."""

from collections.abc import Sequence
from statistics import median, quantiles


def line(name: str, values: Sequence[float], unit: str, *, most: float | None = None) -> str:
    """Median and the middle half; `most` is the figure to reach."""
    low, _, high = quantiles(values, n=4)
    reached = "" if most is None else f"   {'reached' if median(values) <= most else 'NOT REACHED'}: <= {most:g} {unit}"
    return f"{name:<46} {median(values):8.1f} {unit} ({low:.1f} to {high:.1f}, n = {len(values)}){reached}"


def ratio(name: str, values: Sequence[float], peer: Sequence[float], *, most: float) -> str:
    found = median(values) / median(peer)
    return f"{name:<46} {found:8.2f} x{'':>28}   {'reached' if found <= most else 'NOT REACHED'}: <= {most:g} x"


def single(name: str, value: float, unit: str, *, most: float) -> str:
    return f"{name:<46} {value:8.1f} {unit:<30}   {'reached' if value <= most else 'NOT REACHED'}: <= {most:g} {unit}"
