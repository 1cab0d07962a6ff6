"""What has a date: waits, parts to come, planned days and display days; and what no longer has the date it had."""

from collections.abc import Callable, Iterator
from datetime import date, timedelta
from functools import cached_property

from builder.edition import Edition
from builder.fleet import WEEKDAYS
from sync.entries import Wait
from sync.exports.names import Names
from sync.exports.snapshot import DayRow, EndedRow, WaitRow
from sync.plan.on_paper import OnPaper
from sync.rows import BacklogRow
from sync.state import JobState, PartState, TaskState
from sync.store import Store
from sync.store_rows import Query

#: How many of the workshop's open days are told ahead, planned or not.
OPEN_DAYS = 13
Backlog = Callable[[Query], Iterator[BacklogRow]]
Planned = Callable[[Store, date], OnPaper]


class Dates:
    """One backlog's dates, told in names."""

    def __init__(self, store: Store, edition: Edition, as_of: date, backlog: Backlog, planned: Planned) -> None:
        self._store = store
        self._edition = edition
        self._as_of = as_of
        self._backlog = backlog
        self._planned = planned
        self._names = Names(store, edition)

    @cached_property
    def _plan(self) -> OnPaper:
        """Made when a day is first asked for: a plan takes seconds."""
        return self._planned(self._store, self._as_of)

    def plan_note(self) -> str:
        """Why no work is planned on any day; empty where it is."""
        return self._plan.why_not

    def waits(self) -> Iterator[WaitRow]:
        for row in self._backlog(Query(waiting=True)):
            wait = self._store.defect(row.opening).wait
            yield self._waiting(wait or Wait(row.waiting_for, "part"), row.opening, row.vehicle, row.fault, row.defect)
        for job in self._store.jobs():
            if job.wait:
                yield self._waiting(job.wait, f"job {job.job}", job.vehicle, job.title)
        for task in self._store.tasks():
            if task.wait:
                yield self._waiting(task.wait, task.about, task.vehicle, self._names.task(task.about))
        yield from (self._coming(part) for part in self._store.parts() if part.state != "here")

    def _waiting(self, wait: Wait, about: str, vehicle: str, what: str, defect: str = "") -> WaitRow:
        return WaitRow(
            about=about,
            vehicle=vehicle,
            vehicle_name=self._names.name(vehicle),
            defect=defect,
            what=what,
            waiting_for=wait.for_,
            kind=wait.kind,
            where=wait.where or "",
            due=wait.due.isoformat() if wait.due else "",
            firm="promised" if wait.firm else "",
        )

    def _coming(self, part: PartState) -> WaitRow:
        defect = self._names.defect(part.for_)
        return WaitRow(
            about=f"part {part.part} for {part.for_}",
            vehicle=defect.vehicle if defect else "",
            vehicle_name=self._names.name(defect.vehicle) if defect else part.for_,
            defect=defect.code if defect else "",
            what=(defect.fault_name or defect.note) if defect else part.for_,
            waiting_for=f"{part.part} ({part.state})",
            kind="part",
            where=part.where,
            due=part.due,
            firm="",
        )

    def days(self) -> Iterator[DayRow]:
        """Display days still to come, and the workshop's next open days, each with who is planned to do what on it.

        Open days are told whether or not anything is planned: a day whose work was planned away is told so.
        """
        shows = [day for day in self._edition.display_days if day.date >= self._as_of]
        days = [DayRow(day=one.date.isoformat(), kind="display day", name=one.name) for one in shows]
        plans = {one.day: one.lines for one in self._plan.days}
        for day in self._open_days(max(plans, default=self._as_of)):
            days.append(DayRow(day=day.isoformat(), kind="work day", name="Workshop day", plan=plans.get(day, ())))
        yield from sorted(days, key=lambda row: (row.day, row.kind, row.name))

    def _open_days(self, last: date) -> list[date]:
        """The next ones, up to the last planned day at least."""
        opens = self._edition.workshop.open_days
        ahead = (self._as_of + timedelta(days=n) for n in range(max(7 * OPEN_DAYS, (last - self._as_of).days + 1)))
        found = [day for day in ahead if WEEKDAYS[day.weekday()] in opens]
        return [day for n, day in enumerate(found) if n < OPEN_DAYS or day <= last]

    def ended(self) -> Iterator[EndedRow]:
        """What was said to wait, or to be mended for now, until a day, and no longer is; each by the id it had."""
        found: dict[str, EndedRow] = {}
        for row in self._no_longer():
            found[row.about] = max(row, found.get(row.about, row), key=lambda one: one.day)
        yield from (found[about] for about in sorted(found))

    def _no_longer(self) -> Iterator[EndedRow]:
        for said in self._store.dates_said():
            yield from self._ended(said.about, said.kind, said.day)
        for part in self._store.parts():
            if part.state == "here" and part.due:
                row = self._coming(part)
                about = f"wait:{row.about}"
                yield EndedRow(about=about, day=part.due, vehicle_name=row.vehicle_name, what=part.part)

    def _ended(self, about: str, kind: str, day: str) -> Iterator[EndedRow]:
        """The ids under which a date stood that is no longer told."""
        if defect := self._names.defect(about):
            until = defect.wait.due if kind == "wait" and defect.wait else None
            if kind == "temporary" and defect.temporary:
                until = defect.temporary.until
            stands = defect.closed is None and until is not None
            gone: tuple[str, ...] = (*defect.also, *(() if stands else (defect.opening,)))
            vehicle, what = defect.vehicle, defect.fault_name or defect.note
        elif job := self._jobs.get(about):
            gone = () if job.wait and job.wait.due else (f"job {job.job}",)
            vehicle, what = job.vehicle, job.title
        else:
            task = self._tasks.get(about)
            gone = () if task and task.wait and task.wait.due else (about,)
            vehicle, what = about.partition("/")[0], self._names.task(about)
        name = self._names.name(vehicle)
        yield from (EndedRow(about=f"{kind}:{one}", day=day, vehicle_name=name, what=what) for one in gone)

    @cached_property
    def _jobs(self) -> dict[str, JobState]:
        return {job.job: job for job in self._store.jobs()}

    @cached_property
    def _tasks(self) -> dict[str, TaskState]:
        return {task.about: task for task in self._store.tasks()}
