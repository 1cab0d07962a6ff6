"""Our own stencil lettering: capitals, digits and a few signs as strokes with bridges, drawn as one SVG path.

A letter is cut from a plate seven units high, so no counter may fall out: every closed shape is left open by a bridge.
Strokes are 1.3 units wide with butt ends; a coordinate is the middle of a stroke, x to the right, y down.
"""

from dataclasses import dataclass

STROKE = 1.3
GAP = 1.0
SPACE = 2.6
TALL = 7.0 + STROKE

_LEFT_O = "1.75,0 1,0 0,1 0,6 1,7 1.75,7"
_RIGHT_O = "2.25,0 3,0 4,1 4,6 3,7 2.25,7"
_STEM = "0,-.65 0,7.65"
_RIGHT_STEM = "4,-.65 4,7.65"
_TOP_RIGHT = "2.25,0 3,0 4,1 4,2.1"
_BOTTOM_LEFT = "1.75,7 1,7 0,6 0,5"
_P_BOWL = "1.05,0 3,0 4,1 4,2.8 3,3.8 1.05,3.8"
_TOP_BAR = "1.05,0 4.3,0"
_LOW_BAR = "1.05,7 4.3,7"

#: Strokes of each letter, parted by "|"; points parted by spaces.
LETTERS = {
    "A": "0,7.65 0,1 1,0 1.75,0|4,7.65 4,1 3,0 2.25,0|1.05,4.2 2.95,4.2",
    "B": f"{_STEM}|1.05,0 3,0 3.7,.7 3.7,2.7 3,3.5 1.05,3.5|2.9,3.5 4,4.5 4,6.1 3.1,7 1.05,7",
    "C": f"{_LEFT_O}|{_TOP_RIGHT}|2.25,7 3,7 4,6 4,4.9",
    "D": f"{_STEM}|1.05,0 3,0 4,1 4,6 3,7 1.05,7",
    "E": f"{_STEM}|{_TOP_BAR}|1.05,3.5 3.5,3.5|{_LOW_BAR}",
    "F": f"{_STEM}|{_TOP_BAR}|1.05,3.5 3.5,3.5",
    "G": f"{_LEFT_O}|{_TOP_RIGHT}|2.25,7 3,7 4,6 4,3.9 2.4,3.9",
    "H": f"{_STEM}|{_RIGHT_STEM}|1.05,3.5 2.95,3.5",
    "I": _STEM,
    "J": f"4,-.65 4,6 3,7 2.25,7|{_BOTTOM_LEFT}",
    "K": f"{_STEM}|4,-.65 4,1 1.7,3.5 4,6 4,7.65",
    "L": f"{_STEM}|{_LOW_BAR}",
    "M": f"{_STEM}|6,-.65 6,7.65|1.3,-.2 3,4.2 4.7,-.2",
    "N": f"{_STEM}|4.8,-.65 4.8,7.65|1.35,-.2 3.45,7.2",
    "O": f"{_LEFT_O}|{_RIGHT_O}",
    "P": f"{_STEM}|{_P_BOWL}",
    "Q": f"{_LEFT_O}|2.25,0 3,0 4,1 4,5.1|2.25,7 2.9,7|2.5,4.9 4.4,7.5",
    "R": f"{_STEM}|{_P_BOWL}|1.7,4.5 4,6.4 4,7.65",
    "S": f"{_TOP_RIGHT}|1.75,0 1,0 0,1 0,2.5 1,3.5 3,3.5 4,4.5 4,6 3,7 2.25,7|{_BOTTOM_LEFT}",
    "T": "-.5,0 4.5,0|2,1.05 2,7.65",
    "U": "0,-.65 0,6 1,7 1.75,7|4,-.65 4,6 3,7 2.25,7",
    "V": "0,-.65 0,3.6 1.35,7.4|4,-.65 4,3.6 2.65,7.4",
    "W": f"{_STEM}|6,-.65 6,7.65|1.3,7.2 3,2.8 4.7,7.2",
    "X": "0,-.65 0,1.2 4,5.8 4,7.65|4,-.65 4,1.2 2.75,2.64|0,7.65 0,5.8 1.25,4.36",
    "Y": "0,-.65 0,2.2 1,3.2 3,3.2 4,2.2 4,-.65|2,4.25 2,7.65",
    "Z": "-.5,0 4,0 4,1.4 2.35,3.2|1.75,3.85 0,5.7 0,7 4.5,7",
    "0": "0,3.2 0,1 1,0 3,0 4,1 4,3.2|0,3.8 0,6 1,7 3,7 4,6 4,3.8",
    "1": "1.9,-.65 1.9,7.65|-.3,2 .95,.75",
    "2": "0,2.1 0,1 1,0 1.75,0|2.25,0 3,0 4,1 4,2.3 0,5.7 0,7.65|1.05,7 4.5,7",
    "3": f"0,2 0,1 1,0 1.75,0|2.25,0 3,0 4,1 4,2.5 3,3.5 1.5,3.5|2.9,3.5 4,4.5 4,6 3,7 2.25,7|{_BOTTOM_LEFT}",
    "4": "3,-.65 3,7.65|1.95,5.2 0,5.2 0,4.1 1.75,.3|3,5.2 4.9,5.2",
    "5": f"4.3,0 0,0 0,3.65|1.05,3 3,3 4,4 4,6 3,7 2.25,7|{_BOTTOM_LEFT}",
    "6": f"{_TOP_RIGHT}|{_LEFT_O}|2.25,7 3,7 4,6 4,4.4 3,3.4 1.05,3.4",
    "7": "-.5,0 4,0 4,1.3 3,3|2.65,3.6 1.7,5.2 1.7,7.65",
    "8": "1.75,0 1,0 .2,.8 .2,2.6 1,3.5 0,4.4 0,6 1,7 1.75,7|.9,3.5 1.75,3.5"
    "|2.25,0 3,0 3.8,.8 3.8,2.6 3,3.5 4,4.4 4,6 3,7 2.25,7|3.1,3.5 2.25,3.5",
    "9": f"{_BOTTOM_LEFT}|{_RIGHT_O}|1.75,0 1,0 0,1 0,2.6 1,3.6 2.95,3.6",
    "-": "0,3.5 2,3.5",
    ".": "0,6.35 0,7.65",
    "/": "0,7.65 3,-.65",
    "+": "0,3.5 3,3.5|1.5,2 1.5,5",
}


@dataclass(frozen=True)
class Lettering:
    """An SVG path's `d` to be stroked STROKE wide, in a box of `width` by TALL units whose corner is 0, 0."""

    d: str
    width: float
    text: str


def lettering(text: str) -> Lettering:
    """`text` in stencil capitals; a character that is not cut is left out as a space."""
    x, pieces = STROKE / 2, []
    for letter in text.upper():
        strokes = LETTERS.get(letter)
        if strokes is None:
            x += SPACE
            continue
        lines = [_points(stroke) for stroke in strokes.split("|")]
        left = min(point[0] for line in lines for point in line)
        right = max(point[0] for line in lines for point in line)
        pieces += [_line(line, x - min(left, 0)) for line in lines]
        x += right - min(left, 0) + STROKE + GAP
    return Lettering("".join(pieces), round(max(x - GAP - STROKE / 2, 0.1), 2), text)


def _points(stroke: str) -> list[tuple[float, float]]:
    pairs = (point.split(",") for point in stroke.split())
    return [(float(x), float(y)) for x, y in pairs]


def _line(points: list[tuple[float, float]], x: float) -> str:
    return "M" + "L".join(f"{px + x:.4g} {py + STROKE / 2:.4g}" for px, py in points)
