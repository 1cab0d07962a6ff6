"""Where an entry belongs: by its own ids, by `formerly`, or by the edition it was written under."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from builder.edition import Edition, EditionCheck, EditionFault, VehicleView
from sync.fold.authority import Editions
from sync.fold.fields import Said
from sync.fold.log import Place, canonical
from sync.state import Placing, Severity


@dataclass(frozen=True, slots=True)
class Known:
    """What is known of a place: its check as the edition in force has it, or as the entry's own edition had it."""

    edition: Edition
    view: VehicleView | None
    check: EditionCheck | None
    placing: Placing


def todays_check(vehicle: str, check: str, edition: Edition, editions: Editions) -> str:
    """Today's id of a check that was once called `check`; itself where no edition leads from one to the other."""
    seen: set[str] = set()
    paths = [check]
    while paths:
        name = paths.pop(0)
        view = edition.by_vehicle.get(vehicle)
        if view is not None and name in view.checks:
            return name
        if name in seen:
            continue
        seen.add(name)
        paths += _later_names(vehicle, name, (edition, *(editions[key] for key in sorted(editions))))
    return check


def _later_names(vehicle: str, check: str, editions: tuple[Edition, ...]) -> list[str]:
    views = (edition.by_vehicle.get(vehicle) for edition in editions)
    return [view.formerly[check] for view in views if view is not None and check in view.formerly]


def known_place(place: Place, in_force: Edition, editions: Editions, own: Iterable[str]) -> Known:
    """The check and spot as the edition in force has them; else as one of the entries' `own` editions had them."""
    wanted = [in_force, *(editions[key] for key in sorted(set(own)) if key in editions)]
    for edition in wanted:
        view = edition.by_vehicle.get(place.vehicle)
        if view is None:
            continue
        if not place.check:
            return Known(edition, view, None, "something else")
        for check in _namesakes(view, in_force.by_vehicle.get(place.vehicle), place.check):
            if not place.spot or place.spot in check.spots:
                return Known(edition, view, check, "check")
    view = in_force.by_vehicle.get(place.vehicle)
    return Known(in_force, view, view.checks.get(place.check) if view else None, "not placed")


def floor_of(place: Known) -> Severity | None:
    """The published never-rules' floor under what is found at a leak check of theirs."""
    return place.edition.leak_rules.floor(place.check.leak) if place.check else None


def known_fault(place: Place, fault: str, known: Known, editions: Editions, own: Iterable[str]) -> EditionFault | None:
    """The fault as the check has it, or as one of the entries' own editions had it."""
    if known.check is None:
        return None
    found = known.check.fault(fault)
    for key in sorted(set(own)) if found is None else ():
        view = editions[key].by_vehicle.get(place.vehicle) if key in editions else None
        checks = _namesakes(view, known.view, place.check) if view else []
        found = found or next((old for check in checks if (old := check.fault(fault))), None)
    return found


def decided(said: Sequence[tuple[Said, int, bool]], knew: Callable[[Said, Said], bool]) -> Said | None:
    """What stands of placings, each with the gravity of the floor it brings, and whether a lead said it.

    One takes another's stead by who knew that one; but what a lead said only a lead's, and none but a lead's to lower
    it. Of those left a lead's counts before others; where they disagree the one with the gravest floor stands, and
    without a floor none.
    """
    tops = [
        one
        for one in said
        if not any((lead or (rise >= one[1] and not one[2])) and knew(other, one[0]) for other, rise, lead in said)
    ]
    by_leads = [one for one in tops if one[2]]
    left = [(-floor, canonical(one.logged), one) for one, floor, _ in by_leads or tops]
    if not left:
        return None
    gravest_floor, _, stands = min(left, key=lambda top: top[:2])
    agreed = all(one.value == stands.value for *_, one in left)
    return stands if stands.value is not None and (agreed or gravest_floor) else None


def _namesakes(view: VehicleView, today: VehicleView | None, check: str) -> list[EditionCheck]:
    """The check in one edition, under its id of today or an earlier one."""
    names = [check, *(today.checks[check].formerly if today and check in today.checks else ())]
    return [view.checks[name] for name in names if name in view.checks]
