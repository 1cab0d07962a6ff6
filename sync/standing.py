"""Standing of a vehicle on one day: worst of what is open, what is barred, how it may be moved.

Worst-of rule: Directive 2014/45/EU, Art. 7 (several deficiencies: the vehicle takes the most serious category). A move
permit lifts nothing: the vehicle stays counted as stopped (DA PAM 750-8 practice).
"""

from collections.abc import Iterable, Sequence
from datetime import date

from builder.edition import Edition
from builder.fleet import NEEDS_BAR, NEEDS_LIFT, ROUNDS, Barred
from sync.fold.authority import gravity
from sync.state import Defect, Severity, Standing, TagState, VehicleRulings, WalkState

BARRED: tuple[Barred, ...] = ("start", "drive", "show", "carry people", "lift", "tow")


def standing(  # noqa: PLR0913 - each of these is one part of a vehicle, named by the caller
    vehicle: str,
    edition: Edition,
    as_of: date,
    *,
    defects: Iterable[Defect],
    walks: Iterable[WalkState] = (),
    tags: Iterable[TagState] = (),
    rulings: VehicleRulings | None = None,
) -> Standing:
    """One vehicle's standing from its own defects (closed ones are passed over), walks, tags and rulings."""
    view = edition.by_vehicle.get(vehicle)
    still_open = sorted((d for d in defects if d.closed is None), key=lambda d: (-gravity(d.severity), d.opening))
    on = [tag for tag in tags if tag.on]
    lapsed = [d for d in still_open if is_lapsed(d, as_of)]
    stopped = bool(on or lapsed) or any(d.severity == "dangerous" for d in still_open)
    limited = any(d.severity == "major" for d in still_open)
    bars = _bars(still_open, tied=bool(on or lapsed), stopped=stopped)
    seen = sorted(walks, key=lambda w: (w.day, ROUNDS.index(w.round) if w.round in ROUNDS else 0, w.walk))
    return Standing(
        vehicle=vehicle,
        name=view.name if view else vehicle,
        standing="stopped" if stopped else "limited" if limited else "fit",
        why=_why(still_open, on, as_of),
        barred=bars,
        moves=_moves(still_open, bars),
        permits=_permits(still_open, rulings, as_of) if stopped else (),
        tags=tuple(f"{tag.owner}: {tag.reason}" if tag.reason else tag.owner for tag in on),
        open_defects=len(still_open),
        last_round=seen[-1].round if seen else "",
        last_day=seen[-1].day if seen else "",
        not_walked=_not_walked(seen, still_open, edition, as_of),
    )


def is_lapsed(defect: Defect, as_of: date) -> bool:
    """Whether a repair for now has had its time; it holds through the day it names."""
    return defect.temporary is not None and defect.temporary.until < as_of


def may_escalate(defect: Defect, defects: Iterable[Defect]) -> str:
    """Why a defect may not be moved up one category; empty where it may.

    Only several deficiencies of one test area may be (Directive 2014/45/EU, Art. 7), and only by a person.
    """
    if defect.area is None:
        return f"{defect.code} belongs to no test area, so it cannot be weighed together with others"
    others = [d for d in defects if d.closed is None and d.vehicle == defect.vehicle and d.opening != defect.opening]
    if any(d.area == defect.area for d in others):
        return ""
    return f"{defect.code} is the only open defect of test area {defect.area}; areas are not weighed together"


def _bars(defects: Sequence[Defect], *, tied: bool, stopped: bool) -> tuple[Barred, ...]:
    """What the defects bar; `tied` by a tag or a lapsed repair. Stopped, she is never driven, whatever they say."""
    found = {bar for defect in defects for bar in defect.bars}
    if tied:
        found |= {"start"}
    if stopped:
        found |= {"drive"}
    return tuple(bar for bar in BARRED if bar in found)


def _moves(defects: Sequence[Defect], bars: Sequence[Barred]) -> tuple[str, ...]:
    """Every way that is left, the easiest first."""
    dangerous = {d.system for d in defects if d.severity == "dangerous"}
    undrivable = {d.system for d in defects if "drive" in d.bars}
    moves = [] if {"start", "drive"} & set(bars) else ["own power"]
    if not dangerous.intersection(NEEDS_LIFT) and "tow" not in bars:
        moves.append("bar only" if (dangerous | undrivable).intersection(NEEDS_BAR) else "towed")
    if "lift" not in bars:
        moves.append("lifted")
    return tuple(moves)


def _why(defects: Sequence[Defect], tags: Sequence[TagState], as_of: date) -> tuple[str, ...]:
    grave: tuple[Severity, ...] = ("dangerous", "major")
    reasons = [f"tag of {tag.owner}{f': {tag.reason}' if tag.reason else ''}" for tag in tags]
    for defect in defects:
        name = defect.fault_name or defect.note or defect.check_name or defect.station_name
        if is_lapsed(defect, as_of) and defect.temporary is not None:
            until = defect.temporary.until.isoformat()
            reasons.append(f"{defect.code} {name}: repair for now lapsed on {until}")
        elif defect.severity in grave:
            reasons.append(f"{defect.code} {name}: {defect.severity}")
    return tuple(reasons)


def _permits(defects: Sequence[Defect], rulings: VehicleRulings | None, as_of: date) -> tuple[str, ...]:
    """Permits in force on the day; they show beside the standing and change nothing of it."""
    given = [(d.permit, d.permit_from) for d in defects]
    if rulings is not None:
        given.append((rulings.permit, rulings.permit_from))
    return tuple(
        f"until {permit.until.isoformat()}: {permit.limits}"
        for permit, start in given
        if permit is not None and start <= as_of.isoformat() <= permit.until.isoformat()
    )


def _not_walked(walks: Sequence[WalkState], defects: Sequence[Defect], edition: Edition, as_of: date) -> bool:
    """Whether nobody has looked at it since the last display day; a walk that covered nothing is none.

    On the display day itself a round before running has not seen what the day did.
    """
    since = max((day.date.isoformat() for day in edition.display_days if day.date <= as_of), default="")
    told = {s.walk for d in defects for s in d.sightings}
    return not any(_is_after(w, since) and (w.covered or w.walk in told) for w in walks)


def _is_after(walk: WalkState, display_day: str) -> bool:
    return walk.day > display_day or (walk.day == display_day and walk.round != "before")
