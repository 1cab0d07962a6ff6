"""A store on one day -> the frozen snapshot that every export is written from; rows are read as they are asked for."""

from collections.abc import Iterator
from datetime import date
from functools import partial
from os.path import relpath
from pathlib import Path

from builder.edition import Edition
from sync.errors import StoreError
from sync.exports.dates import Dates, Planned
from sync.exports.figures import figures_of
from sync.exports.names import Names
from sync.exports.snapshot import (
    AsideRow,
    ConflictRow,
    FiguresRow,
    JobRow,
    PhotoRow,
    ReportRow,
    Rows,
    SideRow,
    Snapshot,
    WalkRow,
)
from sync.exports.told import clock_words, side_says
from sync.measured import Measures
from sync.planned import planned
from sync.rows import BacklogRow
from sync.state import Conflict, Defect, ReportState, Sighting, WalkState
from sync.store import Store
from sync.store_rows import Query

PAGE = 2000
#: Where a dispute over a job or a part stands.
WORKSHOP = "Workshop"


def gather(store: Store, as_of: date, folder: Path, plan: Planned = planned) -> Snapshot:
    """What the backlog says on `as_of`.

    Args:
        folder: where the export will stand; photos are linked as seen from there.
        plan: makes the plan, when a day is first asked for.

    Raises StoreError where the backlog knows no fleet yet.
    """
    edition = store.edition()
    told = Told(store, edition, as_of, folder)
    dates = Dates(store, edition, as_of, told.backlog, plan)
    return Snapshot(
        fleet=edition.name,
        code=edition.code,
        edition=edition.fingerprint,
        as_of=as_of,
        log_entries=sum(device.entries for device in store.devices()),
        backlog=Rows(partial(told.backlog, Query())),
        standing=Rows(lambda: iter(store.standing(as_of))),
        conflicts=Rows(told.conflicts),
        waits=Rows(dates.waits),
        jobs=Rows(told.jobs),
        walks=Rows(told.walks),
        reports=Rows(told.reports),
        days=Rows(dates.days),
        photos=Rows(told.photos),
        set_aside=Rows(told.set_aside),
        photo=told.photo_at,
        figures=told.figures,
        ended=Rows(dates.ended),
        plan_note=dates.plan_note,
    )


class Told:
    """One backlog, told in names instead of ids."""

    def __init__(self, store: Store, edition: Edition, as_of: date, folder: Path) -> None:
        self._store = store
        self._edition = edition
        self._as_of = as_of
        self._folder = folder
        self._measures = Measures(store)
        self._names = Names(store, edition)

    def backlog(self, query: Query) -> Iterator[BacklogRow]:
        offset = 0
        while rows := self._store.backlog(self._as_of, query, limit=PAGE, offset=offset).rows:
            yield from rows
            offset += len(rows)

    def figures(self, row: BacklogRow) -> FiguresRow:
        """What a row's readings come to; empty where nothing was measured."""
        view, defect = self._names.view(row.vehicle), self._store.defect(row.opening)
        return figures_of(view, defect, self._measures.reckoned(view, defect)) if view else FiguresRow()

    def conflicts(self) -> Iterator[ConflictRow]:
        clocks = {clock.device: clock.offset_s for clock in self._store.clocks() if clock.flagged}
        for vehicle in self._store.standing(self._as_of):
            for conflict in self._store.conflicts(vehicle.vehicle):
                yield self._conflict(conflict, vehicle.name, clocks)
        for conflict in self._store.conflicts_of_no_vehicle():
            yield self._conflict(conflict, WORKSHOP, clocks)

    def _conflict(self, conflict: Conflict, name: str, clocks: dict[str, float]) -> ConflictRow:
        view, defect = self._names.view(conflict.vehicle), self._names.defect(conflict.defect)
        check = view.checks.get(conflict.check) if view else None
        station = view.stations.get(check.station) if view and check else None
        fault = check.fault(conflict.fault) if check else None
        return ConflictRow(
            conflict=conflict.id,
            kind=conflict.kind,
            vehicle=conflict.vehicle,
            vehicle_name=name,
            station=station.name if station else defect.station_name if defect else "",
            check_name=check.ask if check else conflict.check,
            spot=conflict.spot,
            fault=fault.name if fault else defect.fault_name if defect and defect.fault_name else conflict.field,
            why=conflict.why,
            defect=defect.code if defect else "",
            sides=tuple(self._side(side, conflict, clocks) for side in conflict.sides),
        )

    def _side(self, side: Sighting, conflict: Conflict, clocks: dict[str, float]) -> SideRow:
        return SideRow(
            says=side_says(side),
            stands="stands meanwhile" if side.entry == conflict.stands else "",
            by=side.by,
            device=side.device,
            at=side.at,
            clock=clock_words(clocks.get(side.device)),
            occasion=" ".join(part for part in (side.day, side.round) if part),
            reading=f"{side.reading.value:g} {side.reading.unit}" if side.reading else "",
            note=side.note,
            photos=side.photos,
            entry=side.entry,
        )

    def jobs(self) -> Iterator[JobRow]:
        for job in self._store.jobs():
            view = self._names.view(job.vehicle)
            steps = (view.access[step].name if view and step in view.access else step for step in job.steps)
            found = (self._names.defect(one) for one in job.defects)
            yield JobRow(
                job=job.job,
                title=job.title,
                vehicle=job.vehicle,
                vehicle_name=self._names.name(job.vehicle),
                state=job.state,
                defects="; ".join(defect.code for defect in found if defect),
                steps="; ".join(steps),
                tasks="; ".join(job.tasks),
                waiting_for=job.wait.for_ if job.wait else "",
                due=job.wait.due.isoformat() if job.wait and job.wait.due else "",
            )

    def walks(self) -> Iterator[WalkRow]:
        return map(self._walk, self._store.walks())

    def _walk(self, walk: WalkState) -> WalkRow:
        return WalkRow(
            vehicle=walk.vehicle,
            vehicle_name=self._names.name(walk.vehicle),
            day=walk.day,
            round=walk.round,
            by=walk.by,
            device=walk.device,
            state="finished" if walk.finished else "started",
            covered=walk.covered,
            of=walk.of,
            unchecked="; ".join(self._missed(walk.vehicle, *missed) for missed in walk.unchecked),
        )

    def _missed(self, vehicle: str, check_id: str, spot: str, why: str) -> str:
        view = self._names.view(vehicle)
        check = view.checks.get(check_id) if view else None
        place = " ".join(part for part in (check.ask if check else check_id, spot) if part)
        return f"{place}: {why}" if why else place

    def reports(self) -> Iterator[ReportRow]:
        return map(self._report, self._store.reports(closed=True))

    def _report(self, report: ReportState) -> ReportRow:
        defect = self._names.defect(report.explained)
        return ReportRow(
            vehicle=report.vehicle,
            vehicle_name=self._names.name(report.vehicle),
            source=report.source,
            by=report.by,
            at=report.at,
            symptom=report.symptom,
            conditions=report.conditions,
            explained=defect.code if defect else report.explained,
        )

    def photos(self) -> Iterator[PhotoRow]:
        """In the backlog's order."""
        for row in self.backlog(Query()):
            for sighting, photo in _pictures(self._store.defect(row.opening)):
                yield PhotoRow(
                    defect=row.defect,
                    vehicle=row.vehicle,
                    photo=photo,
                    by=sighting.by if sighting else "",
                    day=sighting.day if sighting else "",
                    file=self._file(photo),
                )

    def photo_at(self, photo: str) -> Path | None:
        try:
            return self._store.photo_path(photo)
        except StoreError:
            return None

    def _file(self, photo: str) -> str:
        path = self.photo_at(photo)
        if path is None:
            return ""
        try:
            return Path(relpath(path, self._folder)).as_posix()
        except ValueError:  # another drive than the backlog's
            return path.resolve().as_posix()

    def set_aside(self) -> Iterator[AsideRow]:
        for reason, lines in sorted(self._store.aside_counts().items()):
            yield AsideRow(reason=reason, lines=lines)


def _pictures(defect: Defect) -> Iterator[tuple[Sighting | None, str]]:
    """Each photo once, with the sighting that brought it where one did."""
    brought = {photo: sighting for sighting in reversed(defect.sightings) for photo in sighting.photos}
    for photo in dict.fromkeys((*defect.photos, *brought)):
        yield brought.get(photo), photo
