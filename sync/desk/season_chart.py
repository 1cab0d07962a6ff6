"""The season's drawings: bars beside their numbers, and opened against closed as lines. Pure; the template draws."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from sync.season import Flow

WIDE, TALL = 720, 260
LEFT, RIGHT, TOP, BOTTOM = 40, 112, 16, 34
BAR_WIDE = 168
#: Two labels at the edge stand at least this far apart.
APART = 18
LEAST_STEPS = 3
_NICE = (1, 2, 5)


@dataclass(frozen=True, slots=True)
class Piece:
    """One part of a bar: `kind` names its filling, `x` and `wide` are in the bar's own units of BAR_WIDE."""

    kind: str
    x: float
    wide: float


def bar(parts: Sequence[tuple[str, float]], most: float) -> tuple[Piece, ...]:
    """(kind, value) one after another, on a scale on which `most` fills the bar; what is nought is left out."""
    found, at = [], 0.0
    for kind, value in parts:
        wide = BAR_WIDE * value / most if most > 0 else 0.0
        if wide > 0:
            found.append(Piece(kind, round(at, 1), round(wide, 1)))
        at += wide
    return tuple(found)


@dataclass(frozen=True, slots=True)
class Tick:
    at: float
    text: str


@dataclass(frozen=True, slots=True)
class Lines:
    """Opened and closed since the season began, as SVG paths; `gap` is the area between: what stands open."""

    opened: str
    closed: str
    gap: str
    values: tuple[Tick, ...]
    times: tuple[Tick, ...]
    ends: tuple[Tick, Tick]  # labels of the opened and the closed line at the right edge
    wide: int = WIDE
    tall: int = TALL
    left: int = LEFT
    right: int = WIDE - RIGHT
    bottom: int = TALL - BOTTOM


def lines(flow: Flow) -> Lines | None:
    """None where a line would say nothing: what was opened and closed lies in fewer than three steps."""
    if sum(bool(step.opened or step.closed) for step in flow.steps) < LEAST_STEPS:
        return None
    opened, closed = [flow.before], [0]
    for step in flow.steps:
        opened.append(opened[-1] + step.opened)
        closed.append(closed[-1] + step.closed)
    apart = _nice(opened[-1] / 4)
    top = apart * -(-opened[-1] // apart)

    def x(n: int) -> float:
        return round(LEFT + n * (WIDE - RIGHT - LEFT) / len(flow.steps), 1)

    def y(value: float) -> float:
        return round(TALL - BOTTOM - value * (TALL - BOTTOM - TOP) / top, 1)

    upper, lower = ([f"{x(n)} {y(v)}" for n, v in enumerate(values)] for values in (opened, closed))
    label = min(y(opened[-1]), y(closed[-1]) - APART)
    return Lines(
        opened="M" + "L".join(upper),
        closed="M" + "L".join(lower),
        gap="M" + "L".join(upper + lower[::-1]) + "Z",
        values=tuple(Tick(y(v), str(v)) for v in range(0, top + 1, apart)),
        times=_times(flow, x),
        ends=(Tick(label, f"{opened[-1]} opened"), Tick(y(closed[-1]), f"{closed[-1]} closed")),
    )


def _times(flow: Flow, x: Callable[[int], float]) -> tuple[Tick, ...]:
    """First, middle and last day, as many as there is room for."""
    count = len(flow.steps)
    wanted = {0: flow.steps[0].first, count: flow.steps[-1].last}
    if count >= 4:
        wanted[count // 2] = flow.steps[count // 2].first
    return tuple(Tick(x(n), day.isoformat()) for n, day in sorted(wanted.items()))


def _nice(least: float) -> int:
    """The smallest of 1, 2, 5, 10, 20 ... that is `least` or more."""
    power = 1
    while True:
        for nice in _NICE:
            if nice * power >= least:
                return nice * power
        power *= 10
