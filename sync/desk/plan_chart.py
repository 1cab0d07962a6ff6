"""The plan's time line in the units of its drawing: bars and marks with their places. Pure geometry."""

from dataclasses import dataclass

from sync.plan.timeline import Bar, Mark, Timeline

WIDE = 1040
NAMES = 150
LANE = 16
GAP = 8
TOP = 34
#: A bar is never narrower than this, so that one day can be seen.
NARROWEST = 5.0


@dataclass(frozen=True)
class Box:
    """One bar: its look, its words, and where it is drawn."""

    look: str
    words: str
    x: float
    y: float
    wide: float
    tall: float


@dataclass(frozen=True)
class Line:
    """One vehicle: its name at `y`, its boxes, those that stand open first, and where it ends."""

    vehicle: str
    name: str
    y: float
    top: float
    bottom: float
    boxes: tuple[Box, ...]


@dataclass(frozen=True)
class Tick:
    """One mark across the drawing; `words` are drawn where it has them."""

    kind: str
    words: str
    x: float


@dataclass(frozen=True)
class Drawing:
    """The whole drawing."""

    wide: int
    tall: float
    left: int
    ticks: tuple[Tick, ...]
    lines: tuple[Line, ...]


def drawn(found: Timeline) -> Drawing:
    """A time line as a drawing."""
    lines: list[Line] = []
    y = float(TOP)
    for row in found.rows:
        tall = row.lanes * LANE + GAP
        boxes = tuple(_box(bar, y, row.lanes) for bar in row.bars)
        lines.append(Line(row.vehicle, row.name, y + tall / 2 + 1, y, y + tall, boxes))
        y += tall
    return Drawing(WIDE, y + 4, NAMES, tuple(_tick(mark) for mark in found.marks), tuple(lines))


def _box(bar: Bar, top: float, lanes: int) -> Box:
    look = "dangerous" if bar.dangerous and bar.look == "work" else bar.look.replace(" ", "-")
    x, wide = _along(bar.left), max(bar.width * (WIDE - NAMES), NARROWEST)
    if bar.look == "open":
        return Box(look, bar.label, x, top + 1, wide, lanes * LANE + GAP - 2)
    return Box(look, bar.label, x, top + GAP / 2 + bar.lane * LANE + 2, wide, LANE - 4)


def _tick(mark: Mark) -> Tick:
    words = {"open day": f"{mark.day.day}.{mark.day.month}.", "today": "today"}.get(mark.kind, mark.label.split(",")[0])
    return Tick(mark.kind.replace(" ", "-"), words, _along(mark.at))


def _along(share: float) -> float:
    return round(NAMES + share * (WIDE - NAMES), 1)
