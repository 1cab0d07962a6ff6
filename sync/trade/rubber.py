"""Rubber on road wheels and on the track's inner path: chunks, share missing, separation; limits by vehicle type."""

from collections.abc import Mapping
from dataclasses import dataclass

from sync.trade.cautions import BY_SYSTEM
from sync.trade.facts import fact
from sync.trade.reckoning import Figure, Reckoning, Verdict, gravest, need, number

INCH = 25.4
WHEEL_SOURCE = (
    "PS Magazine 614: one chunk of 3 x 4 in or more: do not run; smaller chunks over 20 % of the tread: "
    "unserviceable; separation 1 in wide over 75 % of the way round: do not run"
)
PATH_SOURCE = "PS Magazine 618: over half of the path rubber missing"


@dataclass(frozen=True, slots=True)
class RubberLimits:
    """One vehicle type's limits, mm and percent; the defaults are those of one published type."""

    chunk_short: float = 3 * INCH
    chunk_long: float = 4 * INCH
    missing: float = 20
    separation_width: float = INCH
    separation_round: float = 75
    path: float = 50


def limits_of(facts: Mapping[str, object]) -> RubberLimits:
    """The vehicle's own limits where its file has them, the published defaults elsewhere."""
    keys = {
        "chunk_short": "rubber_chunk_short_mm",
        "chunk_long": "rubber_chunk_long_mm",
        "missing": "rubber_missing_percent",
        "separation_width": "rubber_separation_mm",
        "separation_round": "rubber_separation_percent",
        "path": "path_rubber_percent",
    }
    own = {name: fact(facts, key) for name, key in keys.items()}
    return RubberLimits(**{name: value for name, value in own.items() if value is not None})


@dataclass(frozen=True, slots=True)
class WheelRubber:
    """A road wheel's rubber: its largest missing chunk (mm by mm), the share of tread missing in chunks (%),
    and the separation from the rim: its width (mm) and how far round it runs (%)."""

    chunk: tuple[float, float] = (0, 0)
    missing: float = 0
    separation_width: float = 0
    separation_round: float = 0


def grade_chunk(chunk: tuple[float, float], limits: RubberLimits) -> Verdict:
    """The largest missing chunk: as long and as wide as the limit is dangerous; as large in area only, major.

    chunk: two sides in mm, either first. Source: PS Magazine 614; the rule for area is ours, the safer side.
    Raises TradeError below nought.
    """
    short, long = sorted(need("side of the chunk", side, "mm", 0, 2000) for side in chunk)
    if short >= limits.chunk_short and long >= limits.chunk_long:
        return "dangerous"
    return "major" if short * long >= limits.chunk_short * limits.chunk_long else "sound"


def grade_missing(percent: float, limits: RubberLimits) -> Verdict:
    """Share of the tread missing in small chunks: over the limit is unserviceable, major.

    Domain: 0 to 100 %. Source: PS Magazine 614. Raises TradeError outside.
    """
    return "major" if need("rubber missing", percent, "%", 0, 100) > limits.missing else "sound"


def grade_separation(width: float, way_round: float, limits: RubberLimits) -> Verdict:
    """Separation as wide as the limit, as far round as the limit or farther: dangerous.

    Less than that, but there at all: advisory, ours. Domain: width 0 or more mm, 0 to 100 %.
    Source: PS Magazine 614. Raises TradeError outside.
    """
    need("width of separation", width, "mm", 0, 500)
    need("separation round the wheel", way_round, "%", 0, 100)
    if width >= limits.separation_width and way_round >= limits.separation_round:
        return "dangerous"
    return "advisory" if width > 0 and way_round > 0 else "sound"


def grade_path(percent: float, limits: RubberLimits) -> Verdict:
    """Inner path rubber of a track link: over the limit missing is major.

    Domain: 0 to 100 %. Source: PS Magazine 618. Raises TradeError outside.
    """
    return "major" if need("path rubber missing", percent, "%", 0, 100) > limits.path else "sound"


_TODO: dict[Verdict, tuple[str, ...]] = {
    "dangerous": ("Do not run it on this wheel: change the wheel.",),
    "major": ("Change it before the next display day; look at it at every stop until then.",),
    "advisory": ("Mark where the separation ends and look again after the next run.",),
}


def advise_wheel(wheel: WheelRubber, limits: RubberLimits) -> Reckoning:
    """A road wheel's rubber by all three rules; the gravest decides. Raises TradeError for impossible values."""
    parts: tuple[tuple[str, Verdict], ...] = (
        ("largest chunk", grade_chunk(wheel.chunk, limits)),
        ("tread missing", grade_missing(wheel.missing, limits)),
        ("separation", grade_separation(wheel.separation_width, wheel.separation_round, limits)),
    )
    verdict = gravest([part for _, part in parts])
    worst = ", ".join(name for name, part in parts if part == verdict)
    return Reckoning(
        subject="road-wheel rubber",
        headline="Road-wheel rubber is sound." if verdict == "sound" else f"Road-wheel rubber: {worst}, {verdict}.",
        verdict=verdict,
        figures=tuple(Figure(name, part) for name, part in parts),
        inputs=(
            Figure("largest chunk", " x ".join(number(side, 0) for side in wheel.chunk), "mm"),
            Figure("tread missing", wheel.missing, "%", 0),
            Figure("separation", wheel.separation_width, "mm", 0),
            Figure("of the way round", wheel.separation_round, "%", 0),
        ),
        formula=f"chunk of {number(limits.chunk_short, 0)} x {number(limits.chunk_long, 0)} mm or more; over "
        f"{number(limits.missing, 0)} % of the tread; separation of {number(limits.separation_width, 0)} mm over "
        f"{number(limits.separation_round, 0)} % of the way round or more",
        source=WHEEL_SOURCE,
        assumptions=("The limits are of one published type unless the vehicle's file has its own.",),
        cautions=BY_SYSTEM["wheels"],
        todo=_TODO.get(verdict, ()),
    )


def advise_path(percent: float, limits: RubberLimits) -> Reckoning:
    """Inner path rubber of a track link. Raises TradeError for impossible values."""
    verdict = grade_path(percent, limits)
    most = number(limits.path, 0)
    return Reckoning(
        subject="path rubber",
        headline=f"{number(percent, 0)} % of the path rubber missing, "
        f"{'over' if verdict == 'major' else 'within'} the {most} % allowed.",
        verdict=verdict,
        inputs=(Figure("missing", percent, "%", 0), Figure("most", limits.path, "%", 0)),
        formula="share missing against the most allowed",
        source=PATH_SOURCE,
        assumptions=("The limit is of one published type unless the vehicle's file has its own.",),
        cautions=BY_SYSTEM["tracks"],
        todo=("Change the link; look at the road wheels that run over it.",) if verdict == "major" else (),
    )
