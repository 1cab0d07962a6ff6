"""The order of the backlog: what to look at first, and why, in words."""

from collections.abc import Iterable
from datetime import date

from builder.edition import Edition
from sync.fold.authority import gravity
from sync.standing import is_lapsed
from sync.state import Defect, Frozen


class Ranked(Frozen, frozen=True, kw_only=True):
    """`rank` 1 is first; `why` names what put it there."""

    opening: str
    rank: int
    why: str


def ranked(defects: Iterable[Defect], edition: Edition, as_of: date) -> tuple[Ranked, ...]:
    """Open defects of all vehicles in order: severity in force, what it holds up, worse or recurring, how much the
    vehicle is wanted at the next display day, age."""
    still_open = [d for d in defects if d.closed is None]
    held = holding(still_open, edition)
    keyed = sorted(still_open, key=lambda d: rank_key(d, edition, as_of, held.get(d.opening, 0)))
    return tuple(
        Ranked(opening=d.opening, rank=place, why=rank_why(d, edition, as_of, held.get(d.opening, 0)))
        for place, d in enumerate(keyed, start=1)
    )


def holding(defects: Iterable[Defect], edition: Edition) -> dict[str, int]:
    """How many other open defects of its vehicle wait for an access step that a defect stops, by opening id."""
    by_vehicle: dict[str, list[Defect]] = {}
    for defect in defects:
        by_vehicle.setdefault(defect.vehicle, []).append(defect)
    found = {}
    for vehicle, mine in by_vehicle.items():
        stopping = [d for d in mine if d.holds]
        steps = [(d, _steps(d, vehicle, edition)) for d in mine if d.needs] if stopping else []
        for d in stopping:
            held = sum(1 for other, needed in steps if other is not d and not needed.isdisjoint(d.holds))
            if held:
                found[d.opening] = held
    return found


def rank_key(defect: Defect, edition: Edition, as_of: date, held: int) -> tuple[int, int, int, float, str, str]:
    """Sorts the backlog, first things first."""
    stops = gravity("dangerous") if is_lapsed(defect, as_of) else gravity(defect.severity)
    worse = defect.worse or defect.episode > 1
    return (-stops, -held, -int(worse), -_wanted(defect, edition, as_of), defect.first_day or "~", defect.opening)


def rank_why(defect: Defect, edition: Edition, as_of: date, held: int) -> str:
    """The key in words, its parts in the same order; what says nothing is left out."""
    parts: list[str] = [defect.severity]
    if is_lapsed(defect, as_of) and defect.temporary is not None:
        parts.append(f"repair for now lapsed on {defect.temporary.until.isoformat()}")
    if held:
        parts.append(f"holds up {held} other{'s' if held > 1 else ''}")
    if defect.worse:
        parts.append("got worse")
    if defect.episode > 1:
        parts.append("came back" if defect.episode == 2 else f"came back {defect.episode - 1} times")
    if wanted := _wanted(defect, edition, as_of):
        parts.append(f"vehicle wanted {wanted:g} at {_next_day(edition, as_of)}")
    if defect.first_day:
        parts.append(f"seen since {defect.first_day}")
    return ", ".join(parts)


def _wanted(defect: Defect, edition: Edition, as_of: date) -> float:
    """The vehicle's weight, if there is a display day still to come."""
    view = edition.by_vehicle.get(defect.vehicle)
    return view.vehicle.display_weight if view and _next_day(edition, as_of) else 0.0


def _next_day(edition: Edition, as_of: date) -> str:
    return next((day.name for day in edition.display_days if day.date >= as_of), "")


def _steps(defect: Defect, vehicle: str, edition: Edition) -> set[str]:
    """The access steps that mending needs, and those that they need in turn."""
    view = edition.by_vehicle.get(vehicle)
    found: set[str] = set()
    waiting = list(defect.needs)
    while waiting:
        step = waiting.pop()
        if step not in found:
            found.add(step)
            waiting += view.access[step].needs if view and step in view.access else ()
    return found
