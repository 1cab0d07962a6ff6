"""Revivals: vehicles that do not run yet, their own list apart, and the gated steps of a first start."""

from typing import NamedTuple

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from builder.edition import VehicleView
from builder.fleet import FirstStart
from sync.desk.page import Desk, desk_of, render
from sync.rows import BacklogRow, StandingRow
from sync.state import TaskState
from sync.store_rows import Query

SHOWN = 30


class Gate(NamedTuple):
    """One step: `open` once all before it are signed off."""

    step: FirstStart
    task: TaskState | None
    open: bool

    @property
    def signed(self) -> bool:
        return self.task is not None and self.task.state == "signed off"


class Revival(NamedTuple):
    standing: StandingRow
    view: VehicleView
    gates: tuple[Gate, ...]
    rows: tuple[BacklogRow, ...]
    total: int


def show(request: Request) -> Response:
    desk = desk_of(request)
    edition = desk.store.edition()
    found = [
        _revival(desk, row, edition.by_vehicle[row.vehicle])
        for row in desk.store.standing(desk.today())
        if row.vehicle in edition.by_vehicle
        and (row.state == "revival" or _begun(desk, edition.by_vehicle[row.vehicle]))
    ]
    return render(request, "revivals.html", {"revivals": found})


def _begun(desk: Desk, view: VehicleView) -> bool:
    """Whether a first start was begun and is not through; then the list stays, whatever she is called."""
    if not view.first_start:
        return False
    signed = {task.about for task in desk.store.tasks(view.id) if task.state == "signed off"}
    return 0 < len(signed & {_about(view, name) for name in view.first_start}) < len(view.first_start)


def _revival(desk: Desk, standing: StandingRow, view: VehicleView) -> Revival:
    page = desk.store.backlog(desk.today(), Query(vehicle=view.id), SHOWN)
    return Revival(standing, view, gates(view, desk.store.tasks(view.id)), page.rows, page.total)


def gates(view: VehicleView, tasks: tuple[TaskState, ...]) -> tuple[Gate, ...]:
    """The steps in their order; the first that is not signed off is open, those after it are closed."""
    known = {task.about: task for task in tasks}
    found: list[Gate] = []
    for name, step in view.first_start.items():
        is_open = all(gate.signed for gate in found)
        found.append(Gate(step, known.get(_about(view, name)), is_open))
    return tuple(found)


def _about(view: VehicleView, step: str) -> str:
    return f"{view.id}/first-start/{step}"


ROUTES = [Route("/revivals", show)]
