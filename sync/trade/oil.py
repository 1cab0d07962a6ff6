"""Engine oil: dilution from a rising level and from viscosity, and pressure too low or too high."""

import math
from dataclasses import dataclass
from typing import Literal

from sync.errors import TradeError
from sync.trade.cautions import CRANKING, NO_FUEL_LEAK
from sync.trade.facts import missing
from sync.trade.reckoning import NO_SOURCE, Figure, Reckoning, Verdict, need, number, positive

LIMITS_SOURCE = "Navy oil-analysis manual 14115: 0.5-2 % fuel normal, 2-5 % find the leak, over 5 % serious"
BLEND_SOURCE = "Refutas viscosity blending number, and logarithms of viscosity blended linearly"


@dataclass(frozen=True, slots=True)
class Range:
    """A share in percent that two laws bracket."""

    least: float
    most: float


def dilution_from_level(sump_litres: float, rise_litres: float) -> float:
    """Foreign liquid in the oil, percent by volume, from a rise of the level: 100 dV / (V + dV).

    V: litres before the rise; dV: litres the level rose by. A lower bound, since oil may also have been burnt.
    2 L over 30 L is 6.25 %. Domain: V > 0, dV >= 0. Source: conservation of volume. Raises TradeError outside.
    """
    positive("oil in the sump", sump_litres, "L")
    need("rise of the level", rise_litres, "L", 0)
    return 100 * rise_litres / (sump_litres + rise_litres)


def blending_number(viscosity: float) -> float:
    """Viscosity blending number 14.534 ln(ln(v + 0.8)) + 10.975 of v in cSt.

    Domain: v > 0.2 cSt. Source: Refutas equation; 100 cSt gives 33.196, 3 cSt 15.174. Raises TradeError outside.
    """
    need("viscosity", viscosity, "cSt", 0.2 + 1e-6)
    return 14.534 * math.log(math.log(viscosity + 0.8)) + 10.975


def blend(first: float, second: float, share: float) -> float:
    """Viscosity in cSt of a blend with `share` (0 to 1, by mass) of the second: blending numbers add by share.

    60 % of 5 cSt and 40 % of 20 cSt give 8.1085. Domain and source as `blending_number`.
    """
    need("share", share, "", 0, 1)
    mixed = (1 - share) * blending_number(first) + share * blending_number(second)
    return math.exp(math.exp((mixed - 10.975) / 14.534)) - 0.8


def blend_log(first: float, second: float, share: float) -> float:
    """Viscosity in cSt of a blend by the simpler law: logarithms of viscosity add by share (0 to 1).

    100 cSt with 5 % of 3 cSt give 83.92. Domain: viscosities > 0. Source: Arrhenius's mixing rule (from memory).
    """
    need("share", share, "", 0, 1)
    logs = [math.log(positive("viscosity", v, "cSt")) for v in (first, second)]
    return math.exp((1 - share) * logs[0] + share * logs[1])


def dilution_from_viscosity(fresh: float, now: float, thin: float) -> Range:
    """Percent of fuel that thinned the oil from `fresh` to `now`, bracketed by two blending laws.

    fresh, now, thin: cSt at one temperature; thin is the fuel's. Domain: thin < fresh, thin <= now <= fresh.
    Source: inverse of `blend` and `blend_log`. Raises TradeError outside, with what it may mean.
    """
    if thin >= fresh:
        raise TradeError(f"fuel of {thin:g} cSt does not thin oil of {fresh:g} cSt: expected less")
    if now > fresh:
        raise TradeError(
            f"the oil is {now:g} cSt, thicker than fresh ({fresh:g} cSt): no dilution can be told from that. "
            "Soot, age or another grade thickens oil and hides fuel in it."
        )
    if now < thin:
        raise TradeError(f"the oil is {now:g} cSt, thinner than the fuel ({thin:g} cSt): measure again")
    top = blending_number(fresh)
    refutas = (top - blending_number(now)) / (top - blending_number(thin))
    logs = math.log(fresh / now) / math.log(fresh / thin)
    return Range(100 * min(refutas, logs), 100 * max(refutas, logs))


def grade_dilution(percent: float) -> Verdict:
    """Severity of fuel in the oil: under 2 % advisory, 2 to 5 % major, over 5 % dangerous; never sound.

    Domain: 0 to 100 %. Source of the steps: Navy oil-analysis manual 14115; over 5 % stops the vehicle here since
    fuel in a hot sump is a fuel leak. Raises TradeError outside the domain.
    """
    need("dilution", percent, "%", 0, 100)
    if percent < 2:
        return "advisory"
    return "major" if percent <= 5 else "dangerous"


_TODO: dict[str, tuple[str, ...]] = {
    "advisory": ("Run it hot for half an hour, let it stand, look again; change the oil early.",),
    "major": (
        "Find what lets fuel or coolant in: pump diaphragm, float needle, injectors, choke, head gasket.",
        "Change oil and filter after the repair, not before.",
    ),
    "dangerous": (
        "Do not start it. Drain the sump, find and mend what lets it in, then fresh oil and filter.",
        "No flame or spark near the breather or the filler.",
    ),
}
_WHAT = "Smell and look: petrol thins and smells, diesel darkens, coolant turns it milky. Milky oil: head or block."


@dataclass(frozen=True, slots=True)
class LevelSeen:
    """Oil level before and after, in litres against the same mark, and litres added between; sump as filled.

    `sump` None: the vehicle file does not say.
    """

    before: float
    after: float
    added: float = 0
    sump: float | None = None

    @property
    def rise(self) -> float:
        return self.after - self.before - self.added


def advise_level(seen: LevelSeen) -> Reckoning:
    """Dilution from a level that rose by itself. A level that rose is never sound, however little."""
    need("oil added", seen.added, "L", 0)
    if seen.rise <= 0:
        return _level_held(seen)
    if seen.sump is None:
        return _level(seen, "what share that is, is not known", "major", missing_sump=True)
    share = dilution_from_level(seen.sump, seen.rise)
    words = f"at least {number(share, 2)} % is not oil"
    return _level(seen, words, grade_dilution(share), (Figure("foreign liquid, at least", share, "%", 2),))


def _level_held(seen: LevelSeen) -> Reckoning:
    words = "has not risen by itself: nothing can be told from it, since burnt oil hides what came in"
    return _level(seen, words, "not judged")


def _level(
    seen: LevelSeen,
    words: str,
    verdict: Verdict,
    figures: tuple[Figure, ...] = (),
    missing_sump: bool = False,
) -> Reckoning:
    rose = f"rose by {number(seen.rise, 2)} L by itself: " if seen.rise > 0 else ""
    sump = (Figure("sump", seen.sump, "L"),) if seen.sump is not None else ()
    return Reckoning(
        subject="oil level",
        headline=f"The oil level {rose}{words}.",
        verdict=verdict,
        figures=(Figure("rise by itself", seen.rise, "L", 2), *figures),
        inputs=(
            Figure("level before", seen.before, "L", 2),
            Figure("level after", seen.after, "L", 2),
            Figure("added between", seen.added, "L", 2),
            *sump,
        ),
        formula="share = 100 x rise / (oil in the sump + rise); rise = after - before - added",
        source=f"conservation of volume; {LIMITS_SOURCE}",
        assumptions=(
            "Both levels were read on level ground, after the same time standing, at like temperature.",
            "A lower bound: what was burnt or leaked out meanwhile came in besides.",
        ),
        cautions=(NO_FUEL_LEAK,),
        todo=(_WHAT, *_TODO.get(verdict, ())),
        missing=(missing("sump_litres"),) if missing_sump else (),
    )


def advise_viscosity(fresh: float, now: float, thin: float) -> Reckoning:
    """Fuel in the oil from its viscosity, as a range over two laws; judged by the greater end.

    fresh, now, thin: cSt at one temperature. Raises TradeError as `dilution_from_viscosity`.
    """
    share = dilution_from_viscosity(fresh, now, thin)
    verdict: Verdict = "sound" if share.most < 0.5 else grade_dilution(share.most)
    return Reckoning(
        subject="oil viscosity",
        headline=f"Between {number(share.least)} and {number(share.most)} % fuel in the oil.",
        verdict=verdict,
        figures=(Figure("least", share.least, "%", 2), Figure("most", share.most, "%", 2)),
        inputs=(
            Figure("fresh oil", fresh, "cSt", 2),
            Figure("oil now", now, "cSt", 2),
            Figure("fuel", thin, "cSt", 2),
        ),
        formula="shares from 14.534 ln(ln(v + 0.8)) + 10.975 and from ln v, each blended linearly; the greater decides",
        source=f"{BLEND_SOURCE}; {LIMITS_SOURCE}",
        assumptions=(
            "All three at one temperature, and the fresh oil is of the same grade and make.",
            "Nothing thickened the oil meanwhile; soot and age hide fuel.",
        ),
        cautions=(NO_FUEL_LEAK,),
        todo=_TODO.get(verdict, ()),
    )


Side = Literal["low", "high", "in range"]

_CAUSES: dict[Side, tuple[str, ...]] = {
    "low": (
        "Stop the engine now; do not start it again before the cause is known.",
        "Look in this order: level, then gauge and its line with a second gauge, fuel in the oil, wrong grade, "
        "relief valve stuck open or its spring broken, strainer or pick-up, pump, bearings.",
    ),
    "high": (
        "Let it warm at idle and look again: cold or thick oil reads high.",
        "Still high when hot: relief valve stuck shut or wrongly set, a blocked passage or filter, wrong grade, "
        "gauge. A blocked passage starves what lies behind it.",
    ),
    "in range": (),
}


def pressure_side(pressure: float, low: float | None, high: float | None) -> Side:
    """Which side of its limits an oil pressure lies on, limits included in the range; kPa throughout.

    Domain: pressure >= 0, low <= high. Source: the vehicle's own limits. Raises TradeError outside.
    """
    need("oil pressure", pressure, "kPa", 0)
    if low is not None and high is not None and low > high:
        raise TradeError(f"oil pressure limits {low:g} and {high:g} kPa stand the wrong way round")
    if low is not None and pressure < low:
        return "low"
    return "high" if high is not None and pressure > high else "in range"


def advise_pressure(pressure: float, low: float | None, high: float | None) -> Reckoning:
    """Oil pressure, hot, in kPa, with the usual causes of either fault. Raises TradeError as `pressure_side`."""
    side = pressure_side(pressure, low, high)
    verdicts: dict[Side, Verdict] = {"low": "dangerous", "high": "major", "in range": "sound"}
    lacking = [
        missing(key) for key, limit in (("oil_pressure_low_kpa", low), ("oil_pressure_high_kpa", high)) if limit is None
    ]
    unknown = side == "in range" and bool(lacking)
    words = {"low": "too low", "high": "too high", "in range": "in range"}[side]
    limits = (("lowest allowed", low), ("highest allowed", high))
    return Reckoning(
        subject="oil pressure",
        headline=f"Oil pressure {number(pressure)} kPa: {'not judged on both sides' if unknown else words}.",
        verdict="not judged" if unknown else verdicts[side],
        inputs=(
            Figure("pressure", pressure, "kPa"),
            *(Figure(name, value, "kPa") for name, value in limits if value is not None),
        ),
        formula="the pressure against the lowest and the highest allowed, both included",
        source=f"limits: the vehicle's own; causes and severity: {NO_SOURCE}",
        assumptions=("Engine hot, at the speed the limits are given for.",),
        cautions=(CRANKING,),
        todo=_CAUSES[side],
        missing=tuple(lacking),
    )
