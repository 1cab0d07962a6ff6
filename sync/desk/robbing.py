"""A part taken from another vehicle: it is missing there, so a defect is opened there that says where it went."""

from collections.abc import Container, Iterable
from dataclasses import dataclass

from builder.edition import VehicleView
from builder.fleet import SEVERITIES
from sync.codes import code
from sync.desk.asked import NAME_MOST, Asked
from sync.desk.page import Desk
from sync.errors import DeskError
from sync.plan.needs import Robbed
from sync.plan.words import bare_part, missing_words, part_of
from sync.service import Draft
from sync.state import Defect, PartState
from sync.store import Store

#: What a missing part is until somebody says otherwise. Common practice, no source.
SEVERITY = "major"


@dataclass(frozen=True)
class Taken:
    """A part that one defect's mending took from another vehicle; `there` is the defect it opened, None where none is.

    `station` is where it is most likely missing.
    """

    part: str
    item: str
    view: VehicleView
    station: str
    there: Defect | None


@dataclass(frozen=True)
class Missing:
    """What is missing on which vehicle, at which station, and how grave that is."""

    part: str
    view: VehicleView
    station: str
    severity: str = SEVERITY


def station_for(view: VehicleView, part: str, defect: Defect) -> str:
    """Where on a vehicle a part is missing: where a usual fault takes it, where it was fitted, where that system is."""
    using = [check.station for check in view.checks.values() if any(part in fault.parts for fault in check.faults)]
    alike = [check.station for check in view.checks.values() if defect.system and check.system == defect.system]
    same = [defect.station] if defect.station in view.stations else []
    return next((name for name in (*(s for s in same if s in using), *using, *same, *alike, *view.stations)), "")


def taken_for(desk: Desk, defect: Defect, parts: Iterable[PartState]) -> tuple[Taken, ...]:
    """What became of those of a defect's parts that were taken from another vehicle: they lie at its id or name."""
    views = desk.store.edition().by_vehicle
    by_name = {view.name: view.id for view in views.values()}
    homes = [(bare_part(one.part, defect.code), by_name.get(one.where, one.where)) for one in parts]
    return tuple(
        _taken(desk, defect, part, views[home]) for part, home in homes if home in views and home != defect.vehicle
    )


def went_to(store: Store, defect: Defect) -> Defect | None:
    """The defect for which what is missing here was taken; None where nothing was."""
    _, taken, code = _first_line(defect).partition(missing_words("", ""))
    found = store.defects(code.rpartition("-")[0], closed=True) if taken else ()
    return next((one for one in found if code in (one.code, *one.also_codes)), None)


def all_taken(desk: Desk, found: Iterable[Robbed]) -> tuple[Taken, ...]:
    """What became of every part that planned work took from another vehicle."""
    views = desk.store.edition().by_vehicle
    return tuple(
        _taken(desk, desk.store.defect(one.item), one.part, views[one.taken_from])
        for one in found
        if one.taken_from in views
    )


def _taken(desk: Desk, defect: Defect, part: str, view: VehicleView) -> Taken:
    words = missing_words(part, defect.code)
    there = [one for one in desk.store.defects(view.id, closed=True) if _first_line(one) == words]
    return Taken(part, defect.code, view, station_for(view, part, defect), there[-1] if there else None)


def _first_line(defect: Defect) -> str:
    return next((s.note.partition("\n")[0] for s in defect.sightings if s.note), "")


def own_name(asked: Asked, part: str, defect: Defect) -> str:
    """What a part is entered as for a defect: with its code where a part of that name is another defect's.

    Raises DeskError where the name is too long.
    """
    return _own_name(asked, part, defect.code, {defect.opening, *defect.also})


def _own_name(asked: Asked, part: str, code: str, openings: Container[str], *with_it: str) -> str:
    """`with_it` are names that another defect gives to its parts in the same breath."""
    others = {one.part for one in asked.desk.store.parts() if one.for_ not in openings}
    if part in others or part in with_it:
        part = part_of(part, code)
    if len(part) > NAME_MOST:
        raise DeskError(f"the part's name has {len(part)} letters; at most {NAME_MOST} fit")
    return part


def open_there(asked: Asked, defect: Defect) -> str:
    """The form of its own: what was taken, from whom, where it is missing, how grave that is."""
    part, view = asked.line("part", "The part"), asked.view(asked.text("vehicle", "The vehicle it was taken from"))
    station = asked.text("station") or station_for(view, part, defect)
    return opened(asked, defect, Missing(part, view, station, asked.text("severity") or SEVERITY))


def opened(asked: Asked, defect: Defect, missing: Missing, *with_it: Draft) -> str:
    """Write the defect, and that its part is needed there; what to say of it. Raises DeskError where that cannot be."""
    view, severity = missing.view, missing.severity
    if view.id == defect.vehicle:
        raise DeskError(f"{missing.part} was taken from {view.name}, which it is for; name the other vehicle")
    if missing.station not in view.stations:
        raise DeskError(f"{view.name} has no station {missing.station!r}; choose one of the list")
    if severity not in SEVERITIES:
        raise DeskError(f"{severity!r} is no severity; choose one of {', '.join(SEVERITIES)}")
    if (there := _taken(asked.desk, defect, missing.part, view).there) is not None:
        raise DeskError(f"it is entered on {view.name} already, as {there.code}")
    opening = asked.desk.service.new_id()  # chosen first, so that all is written in one transaction
    given = [str(draft.fields.get("part", "")) for draft in with_it]
    name = _own_name(asked, missing.part, code(view.id, opening), {opening}, *given)
    needed = Draft("part", {"part": name, "for": opening, "state": "needed"})
    asked.write(*with_it, _finding(opening, defect, missing), needed)
    return f"On {view.name} it is missing now: {asked.desk.store.defect(opening).code}, {severity}."


def _finding(opening: str, defect: Defect, missing: Missing) -> Draft:
    what = ": ".join(one for one in (defect.check_name, defect.fault_name) if one)
    note = "\n".join(
        [missing_words(missing.part, defect.code), *([f"It went to {defect.vehicle}, {what}."] if what else [])]
    )
    place = {"vehicle": missing.view.id, "station": missing.station, "severity": missing.severity, "note": note}
    return Draft("finding", {"id": opening, **place, "result": "defect", "how": "at the desk", "photos": []})
