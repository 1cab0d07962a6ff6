"""The odd one out among like spots: hubs, drums, cylinders, cells, sags. No limit is needed, only fellows.

The modified z-score finds it (median and median absolute deviation, so that two odd ones of six do not hide
each other); of two it can only be said that they differ.
"""

from collections.abc import Mapping
from dataclasses import dataclass, replace
from statistics import median

from sync.errors import TradeError
from sync.trade.cautions import HOT_HUBS, TRACK
from sync.trade.reckoning import NO_SOURCE, Figure, Reckoning, Verdict, number

#: Iglewicz and Hoaglin's cut, as the NIST e-Handbook 1.3.5.17 gives it.
CUT = 3.5
#: Makes the median absolute deviation comparable to a standard deviation of a normal distribution.
SCALE = 0.6745


@dataclass(frozen=True, slots=True)
class Odd:
    """One spot that stands apart from its fellows; `apart` is signed: above them or below."""

    spot: str
    value: float
    fellows: float
    apart: float


@dataclass(frozen=True, slots=True)
class Comparison:
    """Spots against each other: those that stand apart, and whether all together differ more than they may."""

    odd: tuple[Odd, ...]
    differ: bool
    middle: float
    spread: float


def odd_ones(values: Mapping[str, float], may_differ: float) -> Comparison:
    """Which spots stand apart: |modified z| > 3.5 and farther from their fellows' median than `may_differ`.

    values: spot -> reading, all in one unit; may_differ: in the same unit, how far like spots lie apart anyway.
    Source: Iglewicz and Hoaglin's modified z-score, NIST e-Handbook of Statistical Methods 1.3.5.17; the
    second condition is ours (common practice, no source). Raises TradeError for fewer than two spots.
    """
    if len(values) < 2:
        raise TradeError(f"{len(values)} reading has no fellows: expected readings of at least two spots")
    middle = median(values.values())
    spread = max(values.values()) - min(values.values())
    deviation = median(abs(value - middle) for value in values.values())
    # Of two, either lies a deviation from the middle: neither is ever the odd one.
    far = [spot for spot, value in values.items() if SCALE * abs(value - middle) > CUT * deviation]
    odd = [one for one in (_odd(spot, values) for spot in far) if abs(one.apart) > may_differ]
    return Comparison(tuple(odd), spread > may_differ, middle, spread)


def _odd(spot: str, values: Mapping[str, float]) -> Odd:
    fellows = median(value for other, value in values.items() if other != spot)
    return Odd(spot, values[spot], fellows, values[spot] - fellows)


@dataclass(frozen=True, slots=True)
class Kind:
    """What is compared, how far it may differ, and what an odd high or odd low one usually means."""

    name: str
    unit: str
    may_differ: float
    high: str
    low: str
    verdict: Verdict = "advisory"
    cautions: tuple[str, ...] = ()
    digits: int = 1


HUBS = Kind(
    name="Hub",
    unit="°C",
    may_differ=20,
    high="a dragging brake, or a bearing dry or set too tight; do not run it again before it was looked at",
    low="a brake that does not work there, so that the others do its share; the cold one may be the faulty one",
    verdict="major",
    cautions=(HOT_HUBS,),
)

CASINGS = replace(
    HUBS,
    name="Casing",
    high=f"a band, clutch or bearing that drags, or too little oil: look before it runs again ({NO_SOURCE})",
    low=f"a band or clutch that does no work there, so that the other does it all ({NO_SOURCE})",
    verdict="advisory",
)
SAGS = Kind(
    name="Sag",
    unit="mm",
    may_differ=6,
    high=f"a worn pitch, or an adjuster that lets go; it pulls to the other side ({NO_SOURCE})",
    low=f"packed with mud, or drawn too tight; set both sides alike ({NO_SOURCE})",
    cautions=(TRACK,),
)


def advise(values: Mapping[str, float], kind: Kind) -> Reckoning:
    """The comparison as a reckoning; `kind` says what is compared and what it usually means.

    values: spot -> reading in the kind's unit. Spots that differ without one standing apart are never "sound".
    """
    found = odd_ones(values, kind.may_differ)
    apart = bool(found.odd) or found.differ
    return Reckoning(
        subject="odd one out",
        headline=_headline(found, values, kind),
        verdict=kind.verdict if apart else "sound",
        figures=(
            Figure("middle of all", found.middle, kind.unit, kind.digits),
            Figure("largest minus smallest", found.spread, kind.unit, kind.digits),
        ),
        inputs=(
            *(Figure(f"{kind.name} {spot}", value, kind.unit, kind.digits) for spot, value in values.items()),
            Figure("may differ by", kind.may_differ, kind.unit, kind.digits),
        ),
        formula="0.6745 x distance from the median / median absolute deviation over 3.5, and farther from its "
        "fellows than they may differ",
        source=f"modified z-score, NIST e-Handbook 1.3.5.17; how far they may differ and what it means: {NO_SOURCE}",
        assumptions=("All were measured within minutes of each other, after the same run, at the same place.",),
        cautions=kind.cautions,
        todo=_meaning(found, kind),
    )


def _headline(found: Comparison, values: Mapping[str, float], kind: Kind) -> str:
    spread = f"{number(found.spread, kind.digits)} {kind.unit}"
    if found.odd:
        return "; ".join(_said(one, kind) for one in found.odd) + "."
    if not found.differ:
        return f"No odd one out: all within {spread} of each other."
    if len(values) == 2:
        return f"{kind.name} {' and '.join(values)} differ by {spread}: two alone do not say which is wrong."
    return f"They differ by {spread}, more than they may, but none stands apart from all others."


def _said(one: Odd, kind: Kind) -> str:
    side = "above" if one.apart > 0 else "below"
    value, fellows = number(one.value, kind.digits), number(one.fellows, kind.digits)
    return (
        f"{kind.name} {one.spot} is the odd one: {value} {kind.unit}, "
        f"{number(abs(one.apart), kind.digits)} {side} its fellows ({fellows})"
    )


def _meaning(found: Comparison, kind: Kind) -> tuple[str, ...]:
    unsure = found.differ and not found.odd
    high = unsure or any(one.apart > 0 for one in found.odd)
    low = unsure or any(one.apart < 0 for one in found.odd)
    lines = ((high, f"The high one: {kind.high}."), (low, f"The low one: {kind.low}."))
    return tuple(line for shown, line in lines if shown)
