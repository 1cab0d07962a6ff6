"""Track take-up from sags, idler movement, links to take out or put in, and pitch wear.

The hanging run is an exact catenary between two supports of equal height; lengths in millimetres throughout.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from sync.errors import TradeError
from sync.trade.reckoning import need, positive

#: Beyond half its span nothing that is still a track hangs so low.
MOST_SAG = 0.5


@dataclass(frozen=True, slots=True)
class Span:
    """One hanging span of the top run: its length between supports, its sag now and the sag wanted, mm."""

    length: float
    sag: float
    wanted: float


@dataclass(frozen=True, slots=True)
class Setting:
    """What to do: `links` to take out (negative: put in) and how far the idler moves (negative: inwards), mm.

    `fits` is whether the adjuster can do it; None where its travel that way is not known.
    """

    links: int
    idler: float
    fits: bool | None


def run_length(span: float, sag: float) -> float:
    """Length of a run hanging `sag` mm deep over a level `span` in mm: the exact catenary.

    Solves a(cosh(L/2a) - 1) = s for a, then S = 2a sinh(L/2a). Domain: span > 0, 0 <= sag <= span / 2.
    Source: the catenary, any handbook of mechanics (Marks', Roark; from memory).
    Raises TradeError outside the domain.
    """
    positive("span", span, "mm")
    need("sag", sag, "mm", 0, MOST_SAG * span)
    if sag == 0:
        return span
    u = _half_angle(sag / span)
    return span * math.sinh(u) / u


def run_length_parabola(span: float, sag: float) -> float:
    """The handbooks' short form L + 8 s^2 / 3 L in mm, 1.8 % too much slack at s/L = 0.1; for comparison.

    Domain and errors as `run_length`. Source: Marks', Roark (from memory).
    """
    positive("span", span, "mm")
    need("sag", sag, "mm", 0, MOST_SAG * span)
    return span + 8 * sag**2 / (3 * span)


def _half_angle(ratio: float) -> float:
    """u = L/2a of a catenary with sag/span = ratio: (cosh u - 1) / 2u rises with u, so halving finds it."""
    low, high = 0.0, 2.0
    while True:
        u = (low + high) / 2
        if u in (low, high):
            return u
        # sinh^2(u/2) / u is (cosh u - 1) / 2u without the loss of digits near nought.
        low, high = (u, high) if math.sinh(u / 2) ** 2 / u < ratio else (low, u)


def take_up(spans: Sequence[Span]) -> float:
    """Track to take up in mm over all spans, from the sags now to those wanted; negative: to let out.

    Sum of S(L, sag) - S(L, wanted). Source: as `run_length`. Raises TradeError for no spans, or a span or sag outside
    its domain.
    """
    if not spans:
        raise TradeError("no span was given: expected the length and sag of at least one span of the top run")
    return math.fsum(run_length(s.length, s.sag) - run_length(s.length, s.wanted) for s in spans)


def idler_factor(wrap_deg: float) -> float:
    """Track taken up by a millimetre of idler travel: k = 2 sin(w/2) for a wrap of w degrees.

    2 at 180, 1.99239 at 170, 1.93185 at 150, 1.73205 at 120. The idler moves along the middle of its wrap.
    Domain: 60 to 240 degrees. Source: plane geometry. Raises TradeError outside it.
    """
    need("wrap angle", wrap_deg, "deg", 60, 240)
    return 2 * math.sin(math.radians(wrap_deg) / 2)


def idler_travel(taken_up: float, factor: float) -> float:
    """How far the idler moves, mm, to take up `taken_up` mm of track: x = D / k.

    Domain: factor > 0. Source: plane geometry, as `idler_factor`. Raises TradeError outside.
    """
    return taken_up / positive("idler factor", factor, "mm/mm")


def links_out(taken_up: float, factor: float, travel: float, pitch: float) -> int:
    """Links to take out where `travel` mm of outward travel do not take up `taken_up` mm: ceil((D - k t) / p).

    0 where the travel is enough. Domain: travel >= 0, pitch > 0, mm. Raises TradeError outside it.
    Source: plane geometry.
    """
    need("adjuster travel left", travel, "mm", 0)
    positive("track pitch", pitch, "mm")
    # The hair keeps an exact whole number of links from being rounded up.
    return max(0, math.ceil((taken_up - factor * travel) / pitch - 1e-9))


def setting(taken_up: float, factor: float, outward: float | None, inward: float | None, pitch: float) -> Setting:
    """Links and idler movement that bring the wanted sag; both ways of the adjuster are checked.

    taken_up: mm, negative where the track is too tight; outward, inward: adjuster travel left each way, mm
    (None: not known); pitch: mm. Source: plane geometry. Raises TradeError as `links_out`.
    """
    slack = taken_up >= 0
    travel = outward if slack else inward
    links = 0 if travel is None else links_out(abs(taken_up), factor, travel, pitch)
    links = links if slack else -links
    idler = idler_travel(taken_up - links * pitch, factor)
    room = outward if idler >= 0 else inward
    return Setting(links, idler, None if room is None else abs(idler) <= room + 1e-9)


def pitch_worn(length: float, links: int) -> float:
    """Pitch as worn, mm: `length` mm measured over `links` links of taut track, pin to like pin.

    Domain: length > 0, links >= 1. Source: the mean over several links (common practice, no source). Raises TradeError
    outside.
    """
    positive("measured length", length, "mm")
    need("links measured", links, "links", 1)
    return length / links


def elongation(worn: float, new: float) -> float:
    """Pitch wear in percent of the new pitch: 100 (worn - new) / new; both mm, above 0.

    Source: by definition. Raises TradeError at or below 0.
    """
    return 100 * (positive("worn pitch", worn, "mm") - new) / positive("new pitch", new, "mm")
