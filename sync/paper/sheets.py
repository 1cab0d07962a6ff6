"""Blank walk-round sheets, for the day the phones fail: every check of a round, to tick and to type in afterwards."""

from collections.abc import Iterable

from builder.edition import Edition, EditionCheck, VehicleView
from builder.fleet import Round
from sync.paper.cards import head_of
from sync.paper.models import Known, SheetCheck, SheetStation, WalkSheet
from sync.paper.words import limits, place
from sync.state import Defect, Standing

ASKS: dict[Round, str] = {
    "before": "before running",
    "hot": "within 20 minutes of stopping",
    "cold": "the next morning, cold",
    "full": "everything, station by station",
}


def walk_sheet(
    edition: Edition, standing: Standing, walk_round: Round, known: Iterable[Defect], as_of: str
) -> WalkSheet:
    """The sheet of one vehicle for one round; `known` are its open defects."""
    view = edition.by_vehicle[standing.vehicle]
    checks = [check for check in view.checks.values() if walk_round in check.rounds]
    return WalkSheet(
        head=head_of(edition, view, standing, as_of),
        round=walk_round,
        asks=ASKS[walk_round],
        minutes=max(1, round(sum(check.seconds for check in checks) / 60)),
        stations=_stations(view, checks),
        known=tuple(_known(one) for one in known),
    )


def _stations(view: VehicleView, asked: list[EditionCheck]) -> tuple[SheetStation, ...]:
    """In walking order, numbered as they are walked; a station without a check on this round is passed by."""
    found: list[SheetStation] = []
    for station in view.stations.values():
        here = [check for check in asked if check.station == station.id]
        if not here:
            continue
        number = len(found) + 1
        checks = tuple(_check(check, f"{number}.{place}") for place, check in enumerate(here, 1))
        found.append(SheetStation(number=number, name=station.name, at=station.at, checks=checks))
    return tuple(found)


def _check(check: EditionCheck, number: str) -> SheetCheck:
    return SheetCheck(
        number=number,
        ask=check.ask,
        spots=check.spots,
        condition=check.condition or "",
        caution=check.caution or "",
        reading=check.reading,
        limits=limits(check.reading),
        leak=check.leak or "",
        faults=tuple(fault.name for fault in check.faults),
    )


def _known(defect: Defect) -> Known:
    where = ", ".join(part for part in (place(defect.station_name, defect.spot), defect.check_name) if part)
    return Known(
        code=defect.code, place=where, fault=defect.fault_name or defect.note or "Something else",
        severity=defect.severity,
    )  # fmt: skip
