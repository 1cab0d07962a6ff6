"""A QR symbol as one SVG path, so that it prints sharp and needs no file beside the page."""

from dataclasses import dataclass

import segno

#: Symbols are scanned from greasy cards: a quarter of one may be lost (ISO/IEC 18004, level Q; from memory).
LEVEL = "q"
QUIET = 4


@dataclass(frozen=True)
class Symbol:
    """`d` fills the dark modules in a square of `size` units, quiet zone included."""

    d: str
    size: int


def qr(text: str) -> Symbol:
    """The symbol for `text`; dark modules of a row that touch are one bar."""
    rows = segno.make(text, error=LEVEL, micro=False, boost_error=False).matrix
    bars = []
    for y, row in enumerate(rows):
        x = 0
        while x < len(row):
            long = 0
            while x + long < len(row) and row[x + long]:
                long += 1
            if long:
                bars.append(f"M{x + QUIET} {y + QUIET}h{long}v1h-{long}z")
            x += max(long, 1)
    return Symbol("".join(bars), len(rows) + 2 * QUIET)
