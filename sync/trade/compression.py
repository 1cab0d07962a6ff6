"""Cylinder compressions by the three published spread rules, named apart, since they do not agree."""

from collections.abc import Mapping
from dataclasses import dataclass
from statistics import fmean

from sync.errors import TradeError
from sync.trade.cautions import CRANKING
from sync.trade.reckoning import NO_SOURCE, Figure, Reckoning, Verdict, gravest, number, positive

#: 10 lbf/in² in kPa.
TEN_POUNDS = 68.94757


@dataclass(frozen=True, slots=True)
class Ruled:
    """One rule's answer: its name, whether it is met, what was found, and where it is published."""

    rule: str
    met: bool
    found: str
    source: str


def lowest_of_highest(pressures: Mapping[str, float]) -> float:
    """The lowest cylinder in percent of the highest; the rule wants at least 75.

    Pressures: cylinder -> kPa above nought, two or more. Source: TM 5-4210-230-14&P-1, addendum 2.
    """
    values = _checked(pressures)
    return 100 * min(values) / max(values)


def below_mean(pressures: Mapping[str, float]) -> float:
    """How far the lowest cylinder lies below the mean of all, percent; the rule replaces it at 20.

    Pressures: cylinder -> kPa above nought, two or more. Source: TM 1-1500-204-23-1.
    """
    values = _checked(pressures)
    mean = fmean(values)
    return 100 * (mean - min(values)) / mean


def spread(pressures: Mapping[str, float]) -> float:
    """Highest minus lowest, kPa; the rule wants no more than 10 lbf/in² (68.95 kPa).

    Pressures: cylinder -> kPa above nought, two or more. Source: TM 10-3930-618-20 paragraph 2-12.
    """
    values = _checked(pressures)
    return max(values) - min(values)


def _checked(pressures: Mapping[str, float]) -> list[float]:
    if len(pressures) < 2:
        raise TradeError(f"{len(pressures)} cylinder has no fellows: expected the pressure of every cylinder")
    return [positive(f"compression of cylinder {name}", value, "kPa") for name, value in pressures.items()]


def rules(pressures: Mapping[str, float]) -> tuple[Ruled, ...]:
    """Each rule by its name. Raises TradeError for fewer than two cylinders or pressures at or below nought."""
    ratio, low, apart = lowest_of_highest(pressures), below_mean(pressures), spread(pressures)
    return (
        Ruled(
            "lowest at least 75 % of highest",
            ratio >= 75 - 1e-9,
            f"{number(ratio)} %",
            "TM 5-4210-230-14&P-1, addendum 2",
        ),
        Ruled(
            "none 20 % below the mean",
            low < 20 - 1e-9,
            f"{number(low)} % below",
            "TM 1-1500-204-23-1",
        ),
        Ruled(
            "no more than 10 lbf/in² apart",
            apart <= TEN_POUNDS * (1 + 1e-6),
            f"{number(apart)} kPa ({number(apart / TEN_POUNDS * 10)} lbf/in²)",
            "TM 10-3930-618-20 paragraph 2-12",
        ),
    )


def advise(pressures: Mapping[str, float]) -> Reckoning:
    """The three rules beside each other. pressures: cylinder -> kPa. Raises TradeError as `rules`."""
    found = rules(pressures)
    lowest = min(pressures, key=lambda name: pressures[name])
    unmet = [ruled for ruled in found if not ruled.met]
    return Reckoning(
        subject="compression",
        headline=_headline(found, unmet, lowest),
        verdict=_verdict(found),
        figures=tuple(Figure(ruled.rule, f"{'met' if ruled.met else 'not met'}, {ruled.found}") for ruled in found),
        inputs=tuple(Figure(f"cylinder {name}", value, "kPa") for name, value in pressures.items()),
        formula="lowest / highest; (mean - lowest) / mean; highest - lowest",
        source="; ".join(f"{ruled.rule}: {ruled.source}" for ruled in found) + f"; severity: {NO_SOURCE}",
        assumptions=(
            "Engine warm, all plugs out, throttle open, battery charged, as many strokes for each cylinder.",
            "The rules were written for different engines: the maker's own figure decides.",
        ),
        cautions=(CRANKING, "Ignition and fuel off while it is cranked."),
        todo=_todo(lowest, _neighbours(pressures)) if unmet else (),
    )


def _verdict(found: tuple[Ruled, ...]) -> Verdict:
    ratio, mean, pounds = found
    graded: list[Verdict] = ["sound" if pounds.met else "advisory"]
    graded.append("sound" if ratio.met and mean.met else "major")
    return gravest(graded)


def _headline(found: tuple[Ruled, ...], unmet: list[Ruled], lowest: str) -> str:
    if not unmet:
        return "All three spread rules are met."
    names = "; ".join(f'"{ruled.rule}" ({ruled.found})' for ruled in unmet)
    if len(unmet) == len(found):
        return f"Cylinder {lowest} is low by all three rules: {names}."
    return f"The rules disagree: cylinder {lowest} does not meet {names}, and meets the rest."


def _todo(lowest: str, neighbours: tuple[str, str] | None) -> tuple[str, ...]:
    wet = (
        f"Put a spoon of oil into cylinder {lowest} and measure again: better, it is rings or bore; "
        "no better, valves or head gasket (TM 5-4210-230-14&P-1)."
    )
    if neighbours is None:
        return (wet,)
    first, second = neighbours
    return (wet, f"Cylinders {first} and {second} are neighbours and both low: suspect the head gasket between.")


def _neighbours(pressures: Mapping[str, float]) -> tuple[str, str] | None:
    """The two lowest cylinders where they stand next to each other and both under 75 % of the highest."""
    names = list(pressures)
    first, second = sorted(sorted(names, key=lambda name: pressures[name])[:2], key=names.index)
    low = 0.75 * max(pressures.values())
    both = pressures[first] < low and pressures[second] < low
    return (first, second) if both and names.index(second) - names.index(first) == 1 else None
