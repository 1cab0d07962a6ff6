"""Work on what is no defect: while-open tasks, services and first-start steps, by their names "vehicle/kind/id"."""

from sync.entries import Work
from sync.fold.authority import signs_off
from sync.fold.context import Context
from sync.fold.log import of_kind
from sync.fold.ruled import Rulings, spent, work_sightings, work_state
from sync.state import Conflict, TaskState


def fold_tasks(vehicle: str, context: Context, conflicts: list[Conflict]) -> tuple[TaskState, ...]:
    """Every task of a vehicle that work was done on, by name; disputes over its state go to `conflicts`."""
    names = sorted(context.named.get(vehicle, ()))
    return tuple(task for name in names if (task := _task(name, vehicle, context, conflicts)))


def _task(name: str, vehicle: str, context: Context, conflicts: list[Conflict]) -> TaskState | None:
    rulings = Rulings([name], context, vehicle, (name,))
    merged = rulings.work("")
    if merged.stands is None:
        return None
    conflicts += rulings.conflicts()
    work: Work = merged.value
    return TaskState(
        about=name,
        vehicle=vehicle,
        state=work_state(work, "", context),
        by=work.by,
        day=work.at.date().isoformat(),
        wait=work.wait if work.state == "waiting" else None,
        signed=_signed(name, context),
        spent=spent([name], context),
        work=work_sightings([name], context),
    )


def _signed(name: str, context: Context) -> tuple[str, ...]:
    """The days on which it was signed off by somebody who may, for what falls due again and again."""
    work = of_kind(Work, context.work_about([name]))
    return tuple(sorted(w.at.date().isoformat() for w in work if w.state == "signed off" and _may(w, context)))


def _may(work: Work, context: Context) -> bool:
    """A task belongs to no system: a lead signs it off."""
    return signs_off(context.editions, work.edition, work.by, "")
