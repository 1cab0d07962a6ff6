"""Do-not-move notices: for a stopped vehicle, what is barred and why, how it may be moved, and whom to ask."""

from collections.abc import Callable, Iterable

from builder.edition import Edition
from builder.fleet import SEVERITIES
from sync.paper.cards import head_of
from sync.paper.models import Notice, Reason
from sync.paper.words import place
from sync.state import Defect, Standing


def notice(
    edition: Edition, standing: Standing, defects: Iterable[Defect], as_of: str, link: Callable[[str], str]
) -> Notice:
    """The notice for one vehicle; its reasons are the open defects that bar something, gravest first.

    Args:
        link: a vehicle's id -> what the QR symbol says.
    """
    barring = [one for one in defects if one.bars or one.severity == "dangerous"]
    ordered = sorted(barring, key=lambda one: (SEVERITIES.index(one.severity), one.code))
    view = edition.by_vehicle[standing.vehicle]
    return Notice(
        head=head_of(edition, view, standing, as_of),
        link=link(view.id),
        reasons=tuple(_reason(one) for one in ordered),
        why=standing.why,
    )


def _reason(defect: Defect) -> Reason:
    return Reason(
        code=defect.code,
        severity=defect.severity,
        place=", ".join(part for part in (place(defect.station_name, defect.spot), defect.check_name) if part),
        fault=defect.fault_name or defect.note or "Something else",
        conflict=bool(defect.conflicts),
    )
