"""From an edition and the folded state to the planner's problem. Pure: the day and the runs are handed in.

What people wrote is read so: a defect's needs and hours follow its diagnosis, else its usual fault; with neither nobody
knows, and the plan holds a job to find out. Defects joined as the same are mended once. A job is a bundle that somebody
made; with the state "left open" its steps may stay open across a wait, with "apart" its defects are not bundled, with
"given up" the plan decides again. Work about "VEHICLE/step/STEP" says that a step is out ("in hand", "waiting") or back
again (anything else).
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import date

import networkx as nx

from builder.edition import Edition, EditionFault, VehicleView
from builder.fleet import WEEKDAYS, Access, Service, WhileOpen
from sync.entries import Run
from sync.entries import Wait as WaitSaid
from sync.plan.due import due_by_months, service_due
from sync.plan.problem import (
    GRAVITY,
    DisplayDay,
    Item,
    Job,
    Kind,
    Part,
    PartIs,
    Person,
    Problem,
    Severity,
    Status,
    Step,
    Task,
    Vehicle,
    Wait,
    Wish,
    Workshop,
)
from sync.plan.wishes import every, wished, wishes_of
from sync.plan.words import bare_part
from sync.standing import is_lapsed, standing
from sync.state import Defect, JobState, PartState, State, TaskState

#: Hours to test and sign off what is mended, to look whether what was called gone is gone, and for one step of a first
#: start. Common practice, no source; a lead books what it really took.
SIGN_OFF_HOURS = 0.5
CONFIRM_HOURS = 0.5
FIRST_START_HOURS = 1.0
#: Work on a step or a task in these states: the step is out, the task is taken up.
OUT = ("in hand", "waiting")
_ENDED = ("mended", "tested", "signed off", "given up")
#: Vehicles on which nothing can be done here.
_NOT_HERE = ("away", "on loan")


def gather(edition: Edition, state: State, as_of: date, runs: Sequence[Run] = (), by: date | None = None) -> Problem:
    """The problem as things stand on a day.

    Args:
        runs: every run, for services that are due by hours or days of running.
        by: the day to be ready for; the next display day where there is none.
    """
    return _Gatherer(edition, state, as_of, runs).problem(by)


@dataclass(frozen=True)
class _Known:
    """What is known of the mending of one defect."""

    hours: tuple[float, float] | None
    people: int
    needs: tuple[str, ...]
    holds: tuple[str, ...]
    uses: tuple[str, ...]
    parts: tuple[str, ...]


class _Gatherer:
    def __init__(self, edition: Edition, state: State, as_of: date, runs: Sequence[Run]) -> None:
        self.edition = edition
        self.state = state
        self.as_of = as_of
        self.runs = runs
        self.tasks: Mapping[str, TaskState] = {task.about: task for task in state.tasks}
        self.open = [d for d in state.defects if d.closed is None and d.vehicle in edition.by_vehicle]
        same = self._same()
        self.codes = {name: same[d.opening] for d in self.open for name in (d.opening, d.code, *d.also, *d.also_codes)}
        self.also = {code: tuple(d.code for d in self.open if same[d.opening] == code) for code in set(same.values())}
        self.open = [d for d in self.open if same[d.opening] == d.code]
        self.wishes = wishes_of(state, edition)
        self.away = {v.vehicle: v.state for v in state.vehicles if v.state}

    def _same(self) -> dict[str, str]:
        """By opening id, the code under which a defect is worked on: of defects joined as the same, the gravest."""
        rank = {d.opening: (GRAVITY[d.severity], d.opening, d.code) for d in self.open}
        graph: nx.Graph[str] = nx.Graph()
        graph.add_nodes_from(rank)
        graph.add_edges_from(
            (p.first, p.second) for p in self.state.pairs if p.joined and {p.first, p.second} <= set(rank)
        )
        groups = [sorted(rank[name] for name in group) for group in nx.connected_components(graph)]
        return {opening: group[0][2] for group in groups for _, opening, _ in group}

    def problem(self, by: date | None) -> Problem:
        views = [view for _, view in sorted(self.edition.by_vehicle.items())]
        here = [view for view in views if self._state(view) not in _NOT_HERE]
        items = tuple(item for view in here for item in self._items(view))
        return Problem(
            as_of=self.as_of,
            workshop=self._workshop(),
            vehicles=tuple(self._vehicle(view) for view in views),
            items=items,
            tasks=tuple(task for view in here for task in self._while_open(view)),
            jobs=tuple(self._jobs()),
            display_days=tuple(DisplayDay(name=day.name, date=day.date) for day in self.edition.display_days),
            people=tuple(Person(initials=p.initials, signs_off=p.signs_off) for p in self.edition.people),
            by=by,
            remarks=tuple(self._remarks(here)),
            wishes=tuple(every(items, self.wishes)),
        )

    def _remarks(self, here: Sequence[VehicleView]) -> Iterator[str]:
        """What is left out because nobody knows it."""
        never = [(v, s) for v in here for s in v.service.values() if not self._task(v, "service", s.id).signed]
        unknown = [view.name for view, service in never if not self._service_due(view, service)]
        if unknown:
            yield (
                f"{len(unknown)} services of {len(set(unknown))} vehicles have no record of when they were last done, "
                "and are not planned: sign each off once with its day"
            )

    def _state(self, view: VehicleView) -> str:
        return self.away.get(view.id) or view.vehicle.state

    def _workshop(self) -> Workshop:
        known = self.edition.workshop
        return Workshop(
            hours_per_week=known.hours_per_week,
            people_at_once=known.people_at_once,
            resources=dict(known.resources),
            open_days=tuple(WEEKDAYS.index(day) for day in known.open_days),
        )

    def _vehicle(self, view: VehicleView) -> Vehicle:
        tags = [tag for tag in self.state.tags if tag.on and tag.vehicle == view.id]
        barred = [f"tag of {tag.owner}" + (f": {tag.reason}" if tag.reason else "") for tag in tags]
        state = self._state(view)
        stands = standing(view.id, self.edition, self.as_of, defects=self._defects(view.id), tags=tags)
        return Vehicle(
            id=view.id,
            name=view.name,
            display_weight=view.vehicle.display_weight,
            standing=stands.standing,
            steps=tuple(_step(step) for step in view.access.values()),
            open_steps=tuple(step for step in view.access if self._task(view, "step", step).state in OUT),
            barred_by=(*barred, *((f"it is {state}",) if state in _NOT_HERE else ())),
        )

    def _task(self, view: VehicleView, kind: str, name: str) -> TaskState:
        about = f"{view.id}/{kind}/{name}"
        return self.tasks.get(about, TaskState(about=about, vehicle=view.id))

    def _defects(self, vehicle: str) -> list[Defect]:
        return [defect for defect in self.open if defect.vehicle == vehicle]

    # --- work

    def _items(self, view: VehicleView) -> Iterator[Item]:
        defects = [self._defect(defect, view) for defect in self._defects(view.id)]
        yield from defects
        for service in view.service.values():
            if self._service_due(view, service):
                yield self._service(view, service)
        if self._state(view) == "revival":
            yield from self._first_start(view, [item.id for item in defects if item.bars])

    def _defect(self, defect: Defect, view: VehicleView) -> Item:
        known = self._known(defect, view)
        kind, hours, title = self._left_to_do(defect, known)
        mending = kind == "defect"
        severity: Severity = "dangerous" if is_lapsed(defect, self.as_of) else defect.severity
        return Item(
            id=defect.code,
            vehicle=view.id,
            title=title,
            kind=kind,
            severity=severity,
            hours=hours,
            hours_done=defect.spent.hours if mending else 0,
            people=known.people if mending else 1,
            needs=known.needs if mending else (),
            holds=known.holds if mending else (),
            uses=known.uses if mending else (),
            parts=tuple(self._parts(defect, known)) if mending else (),
            status=_status(defect.status),
            waits=tuple(self._waits(defect)) if mending else (),
            owner=defect.owner,
            system=defect.system,
            alike=f"{defect.check_name}: {defect.fault_name}" if defect.check_name and defect.fault_name else "",
            wish=wished(defect, title, self.edition) or self.wishes.get(view.id),
            opening=defect.opening,
            short=_short(kind, defect),
            also=tuple(code for code in (*self.also[defect.code], *defect.also_codes) if code != defect.code),
        )

    def _left_to_do(self, defect: Defect, known: _Known) -> tuple[Kind, tuple[float, float] | None, str]:
        title = f"{_name(defect)} ({defect.code})"
        if defect.status in ("mended", "tested"):
            return "sign off", (SIGN_OFF_HOURS, SIGN_OFF_HOURS), f"Test and sign off: {title}"
        if defect.status == "to confirm":
            return "confirm", (CONFIRM_HOURS, CONFIRM_HOURS), f"Confirm: {title}"
        return "defect", known.hours, title

    def _known(self, defect: Defect, view: VehicleView) -> _Known:
        """By the diagnosis where there is one, else by the usual fault."""
        fault = _diagnosed(defect, view)
        if fault is not None:
            return _Known(fault.hours, fault.people, fault.needs, fault.holds, fault.uses, fault.parts)
        return _Known(defect.hours, defect.people, defect.needs, defect.holds, defect.uses, defect.parts)

    def _waits(self, defect: Defect) -> Iterator[Wait]:
        if defect.wait is not None:
            yield _wait(defect.wait)
        for job in self.state.jobs:
            if job.wait is not None and defect.code in self._in_job(job):
                yield _wait(job.wait)

    def _parts(self, defect: Defect, known: _Known) -> Iterator[Part]:
        """The usual ones with what is said of them, then those that were asked for besides."""
        names = {defect.opening, defect.code, *defect.also, *defect.also_codes}
        mine = [part for part in self.state.parts if part.for_ in names]
        said = {bare_part(part.part, defect.code): part for part in mine}
        for name in dict.fromkeys([*known.parts, *said]):
            yield self._part(name, said.get(name))

    def _part(self, name: str, said: PartState | None) -> Part:
        if said is None:
            return Part(name=name)
        others = {view.id for view in self.edition.by_vehicle.values()}
        by_name = {view.name: view.id for view in self.edition.by_vehicle.values()}
        taken = said.where if said.where in others else by_name.get(said.where, "")
        due = date.fromisoformat(said.due) if said.due else None
        return Part(name=name, state=_part_state(said.state), where=said.where, due=due, taken_from=taken)

    def _service_due(self, view: VehicleView, service: Service) -> bool:
        done = self._task(view, "service", service.id).signed
        mine = [run for run in self.runs if run.vehicle == view.id]
        return service_due(service, done, mine, self.as_of)

    def _service(self, view: VehicleView, service: Service) -> Item:
        task = self._task(view, "service", service.id)
        return Item(
            id=task.about,
            vehicle=view.id,
            title=f"Service: {service.name} ({view.name})",
            kind="service",
            severity="advisory",
            hours=(service.hours, service.hours),
            hours_done=task.spent.hours if task.state in OUT else 0,
            parts=tuple(Part(name=name) for name in service.parts),
            status="in hand" if task.state == "in hand" else "waiting" if task.state == "waiting" else "open",
            waits=(_wait(task.wait),) if task.wait else (),
            alike=f"Service: {service.name}",
            wish=self._task_wish(view, task.about, service.name),
            short=f"Service: {service.name}",
        )

    def _first_start(self, view: VehicleView, first: Sequence[str]) -> Iterator[Item]:
        """The gated steps of a revival, after all that keeps the vehicle from being fit, one after the other."""
        before = tuple(first)
        for step in view.first_start.values():
            task = self._task(view, "first-start", step.id)
            if task.state == "signed off":
                continue
            yield Item(
                id=task.about,
                vehicle=view.id,
                title=f"First start: {step.name} ({view.name})",
                kind="first start",
                severity="major",
                hours=(FIRST_START_HOURS, FIRST_START_HOURS),
                after=before,
                people=min(2, self.edition.workshop.people_at_once),
                status="in hand" if task.state == "in hand" else "open",
                waits=(_wait(task.wait),) if task.wait else (),
                wish=self._task_wish(view, task.about, step.name),
                short=f"First start: {step.name}",
            )
            before = (task.about,)

    def _task_wish(self, view: VehicleView, about: str, name: str) -> Wish | None:
        own = self.wishes.get(about)
        return own.but(title=f"{name} ({view.name})") if own else self.wishes.get(view.id)

    def _while_open(self, view: VehicleView) -> Iterator[Task]:
        for task in view.while_open.values():
            state = self._task(view, "while-open", task.id)
            if task.access in view.access and self._task_due(task, state):
                yield Task(
                    id=state.about,
                    vehicle=view.id,
                    title=f"{task.name} ({view.name})",
                    step=task.access,
                    hours=task.hours,
                    people=task.people,
                    accepted=state.state in OUT,
                    parts=tuple(Part(name=name) for name in task.parts),
                )

    def _task_due(self, task: WhileOpen, state: TaskState) -> bool:
        if not state.signed:
            return True
        return task.every_months is not None and due_by_months(state.signed[-1], task.every_months, self.as_of)

    # --- jobs

    def _in_job(self, job: JobState) -> tuple[str, ...]:
        return tuple(dict.fromkeys(self.codes[name] for name in job.defects if name in self.codes))

    def _jobs(self) -> Iterator[Job]:
        for job in self.state.jobs:
            items = self._in_job(job)
            if items and job.state not in _ENDED:
                yield Job(
                    id=job.job,
                    title=job.title or job.job,
                    items=items,
                    tasks=job.tasks,
                    leave_open=job.state == "left open",
                    apart=job.state == "apart",
                )


def _name(defect: Defect) -> str:
    """Check and fault, with the spot: what people call it."""
    check = f"{defect.check_name} {defect.spot}".strip() if defect.check_name else defect.station_name
    fault = defect.fault_name or defect.note.splitlines()[0][:60] if defect.fault_name or defect.note else ""
    return ": ".join(part for part in (check, fault) if part) or "something else"


def _short(kind: Kind, defect: Defect) -> str:
    """The fault alone, with its spot: beside the vehicle's name that is enough."""
    fault = defect.fault_name or (defect.note.splitlines() or [""])[0][:60] or defect.check_name
    words = f"{fault}, {defect.spot}" if defect.spot else fault
    return {"sign off": f"Sign off: {words}", "confirm": f"Confirm: {words}"}.get(kind, words)


def _diagnosed(defect: Defect, view: VehicleView) -> EditionFault | None:
    """The fault that a diagnosis names, at the check it names or the defect's own."""
    said = defect.diagnosis
    if said is None or not said.fault:
        return None
    check = view.checks.get(said.check or defect.check)
    return check.fault(said.fault) if check else None


def _step(step: Access) -> Step:
    return Step(
        id=step.id,
        name=step.name,
        needs=step.needs,
        hours_out=step.hours_out,
        hours_back=step.hours_back,
        people=step.people,
        uses=step.uses,
    )


def _wait(said: WaitSaid) -> Wait:
    return Wait(what=said.for_, kind=said.kind, due=said.due, firm=said.firm, where=said.where or "")


def _status(status: str) -> Status:
    if status == "in hand":
        return "in hand"
    return "waiting" if status == "waiting" else "open"


def _part_state(state: str) -> PartIs:
    if state == "here":
        return "here"
    return "ordered" if state == "ordered" else "needed"
