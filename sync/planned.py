"""What papers and calendars say of the plan, from the store."""

from datetime import date

from sync.plan.gather import gather
from sync.plan.on_paper import OnPaper, on_paper, too_much
from sync.plan.plan import PLANNED_MOST
from sync.state import Defect, State
from sync.store import Store


def planned(store: Store, as_of: date, vehicle: str = "") -> OnPaper:
    """The plan of all open work on a day; where there is too much of it, what is known of one vehicle without days.

    Never raises for want of a plan or of the solver: `why_not` says it in a line.
    """
    with store.reading():
        edition = store.edition()
        many = store.backlog(as_of, limit=0).total
        if many > PLANNED_MOST:
            state = _state(store, store.defects(vehicle) if vehicle else (), vehicle)
            return OnPaper(gather(edition, state, as_of), None, too_much(many))
        problem = gather(edition, _state(store, store.defects()), as_of, store.runs())
    return on_paper(problem)


def _state(store: Store, defects: tuple[Defect, ...], vehicle: str = "") -> State:
    """What the plan reads of the fold's state: open defects alone, however long the log."""
    return State(
        edition=store.edition().fingerprint,
        defects=tuple(sorted(defects, key=lambda one: (one.vehicle, one.opening))),
        tags=store.tags(),
        vehicles=store.all_rulings(),
        pairs=store.pairs(vehicle) if defects else (),
        tasks=store.tasks(),
        jobs=store.jobs(),
        parts=store.parts(),
    )
