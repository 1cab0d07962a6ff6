"""What to do about a slack or tight track, in words: idler, adjuster, links, and what nobody knows yet."""

from dataclasses import dataclass
from statistics import fmean

from sync.trade.cautions import BY_SYSTEM
from sync.trade.facts import missing
from sync.trade.reckoning import NO_SOURCE, Figure, Missing, Reckoning, Verdict, number
from sync.trade.tracks import (
    Setting,
    Span,
    elongation,
    idler_factor,
    idler_travel,
    pitch_worn,
    setting,
    take_up,
)

#: Less than this is within what a rule can measure on a track.
NOTHING = 0.5

BEFORE = (
    "Firm level ground, coast to rest without the brakes, clear the mud out, measure each side by itself.",
    "After adjusting drive it forward and back, coast to rest and measure again.",
)
ASSUMED = (
    "The run hangs between supports of equal height and the sag is at its middle, from a straight edge.",
    "The idler moves along the middle of the track's wrap; nothing else gives way (springs, worn guides).",
)


@dataclass(frozen=True, slots=True)
class TrackSide:
    """One side's measurements, mm and degrees. `outward`, `inward`: adjuster travel left each way.

    `low`, `high`: the vehicle's own limits, for `judged` or else for the mean of the spans' sags. None: not known.
    """

    name: str
    spans: tuple[Span, ...]
    wrap: float | None = None
    outward: float | None = None
    inward: float | None = None
    pitch: float | None = None
    low: float | None = None
    high: float | None = None
    judged: float | None = None


@dataclass(frozen=True, slots=True)
class _Answer:
    words: str
    todo: tuple[str, ...] = ()
    figures: tuple[Figure, ...] = ()
    missing: tuple[Missing, ...] = ()


def advise(side: TrackSide) -> Reckoning:
    """Take-up, idler movement and links for one side. Raises TradeError for impossible measurements."""
    taken_up = take_up(side.spans)
    answer = _answer(side, taken_up)
    verdict = _verdict(side)
    within = " The sag is within its limits: this would only bring it to the wanted one." if verdict == "sound" else ""
    return Reckoning(
        subject="tracks",
        headline=f"{side.name}: {answer.words}{within}",
        verdict=verdict,
        figures=(Figure("to take up" if taken_up >= 0 else "to let out", abs(taken_up), "mm"), *answer.figures),
        inputs=_inputs(side),
        formula="run length by the exact catenary, a(cosh(L/2a) - 1) = sag, S = 2a sinh(L/2a), now minus wanted, "
        "summed over the spans; idler = take-up / 2 sin(wrap/2); links = (take-up - 2 sin(wrap/2) x travel) / "
        "pitch, rounded up",
        source="catenary: handbooks of mechanics (Marks', Roark; from memory); idler and links: plane geometry; "
        "slacken, take out one link, adjust again: TM 9-2350-230-12; mean of the spans: TM 5-2410-240-10",
        assumptions=ASSUMED,
        cautions=BY_SYSTEM["tracks"],
        todo=(*answer.todo, *BEFORE),
        missing=answer.missing,
    )


def _verdict(side: TrackSide) -> Verdict:
    if side.low is None and side.high is None:
        return "not judged"
    sag = fmean(span.sag for span in side.spans) if side.judged is None else side.judged
    low = side.low is not None and sag < side.low - 1e-9
    outside = low or (side.high is not None and sag > side.high + 1e-9)
    return "major" if outside else "sound"


def _answer(side: TrackSide, taken_up: float) -> _Answer:
    amount = f"{number(abs(taken_up))} mm to {'take up' if taken_up > 0 else 'let out'}"
    if abs(taken_up) < NOTHING:
        return _Answer("as wanted; nothing to adjust.")
    if side.wrap is None:
        return _Answer(f"{amount}; how far the idler has to move is not known.", missing=(missing("idler_wrap_deg"),))
    factor = idler_factor(side.wrap)
    idler = idler_travel(taken_up, factor)
    figures = (Figure("idler moves", abs(idler), "mm"), Figure("idler factor", factor, "", 4))
    move = f"{amount}: the idler moves {number(abs(idler))} mm {_way(idler)}"
    travel = side.outward if idler > 0 else side.inward
    if travel is None:
        return _Answer(
            f"{move}; whether the adjuster has that left is not known.",
            (f"Measure the adjuster's travel left {_way(idler)}.",),
            figures,
            (missing("adjuster_travel_mm"),),
        )
    if abs(idler) <= travel:
        return _Answer(f"{move}; the adjuster has {number(travel)} mm left. Enough.", (_adjust(idler),), figures)
    return _beyond(side, taken_up, f"{move}, but the adjuster has only {number(travel)} mm left", figures)


def _beyond(side: TrackSide, taken_up: float, words: str, figures: tuple[Figure, ...]) -> _Answer:
    if side.pitch is None or side.wrap is None:
        return _Answer(f"{words}; how many links that is, is not known.", (), figures, (missing("track_pitch_mm"),))
    found = setting(taken_up, idler_factor(side.wrap), side.outward, side.inward, side.pitch)
    links = f"{abs(found.links)} link{'s' if abs(found.links) > 1 else ''}"
    verb = "take out" if found.links > 0 else "put in"
    after = f"the idler then ends {number(abs(found.idler))} mm farther {_way(found.idler)} than now"
    figures = (*figures, Figure(f"links to {verb}", abs(found.links), "", 0))
    figures = (*figures, Figure(f"idler then, {_way(found.idler)}", abs(found.idler), "mm"))
    if found.fits is False:
        return _Answer(
            f"{words}. {links.capitalize()} {'fewer' if found.links > 0 else 'more'} does not fit either: "
            f"{after}, and it has not that travel.",
            ("No whole number of links gives the wanted sag: ask the lead; look at the pitch and the idler.",),
            figures,
        )
    return _Answer(f"{words}: {verb} {links}; {after}.", _link_steps(found, verb, links), figures, _unsure(found))


def _link_steps(found: Setting, verb: str, links: str) -> tuple[str, ...]:
    check = (f"First make sure that the idler can go {number(abs(found.idler))} mm {_way(found.idler)}.",)
    many = (f"More than two links is a lot for wear alone: measure the pitch and every span again ({NO_SOURCE}).",)
    return (
        *(check if found.fits is None else ()),
        *(many if abs(found.links) > 2 else ()),
        f"Slacken fully, {verb} {links}, adjust again (TM 9-2350-230-12).",
    )


def _unsure(found: Setting) -> tuple[Missing, ...]:
    return (missing("adjuster_travel_mm"),) if found.fits is None else ()


def _adjust(idler: float) -> str:
    return f"Move the idler {number(abs(idler))} mm {_way(idler)} with the adjuster."


def _way(idler: float) -> str:
    return "outwards" if idler >= 0 else "inwards"


def _inputs(side: TrackSide) -> tuple[Figure, ...]:
    spans = [
        figure
        for n, span in enumerate(side.spans, 1)
        for figure in (
            Figure(f"span {n}", span.length, "mm"),
            Figure(f"sag {n} now", span.sag, "mm"),
            Figure(f"sag {n} wanted", span.wanted, "mm"),
        )
    ]
    rest = (
        ("wrap of the idler", side.wrap, "deg"),
        ("travel left outwards", side.outward, "mm"),
        ("travel left inwards", side.inward, "mm"),
        ("pitch", side.pitch, "mm"),
        ("least sag allowed", side.low, "mm"),
        ("most sag allowed", side.high, "mm"),
    )
    return (*spans, *(Figure(name, value, unit) for name, value, unit in rest if value is not None))


def advise_pitch(length: float, links: int, new: float, limit: float | None) -> Reckoning:
    """Pitch wear from `length` mm over `links` links; new and limit are the pitch new and worn out, mm.

    Raises TradeError for lengths and counts at or below nought.
    """
    worn = pitch_worn(length, links)
    stretch = elongation(worn, new)
    out = limit is not None and worn >= limit
    verdict: Verdict = "not judged" if limit is None else "major" if out else "sound"
    state = "" if limit is None else f", {'at or past' if out else 'below'} its limit of {number(limit, 2)} mm"
    return Reckoning(
        subject="track pitch",
        headline=f"Pitch {number(worn, 2)} mm, {number(stretch, 2)} % over new{state}.",
        verdict=verdict,
        figures=(Figure("pitch as worn", worn, "mm", 2), Figure("over new", stretch, "%", 2)),
        inputs=(Figure("measured", length, "mm"), Figure("links", links, "", 0), Figure("new", new, "mm", 2)),
        formula="pitch = length / links; wear = 100 x (pitch - new) / new",
        source="plane geometry; the limit is the vehicle's own",
        assumptions=("The track was taut while it was measured, from pin to like pin.",),
        cautions=BY_SYSTEM["tracks"],
        todo=("Renew or turn pins and bushes, or the track; match the sprocket to it.",) if out else (),
        missing=(missing("track_pitch_limit_mm"),) if limit is None else (),
    )
