"""Vehicles: the fleet as a board; each vehicle whole; each of its checks with every look at it."""

from collections.abc import Sequence
from datetime import date
from typing import NamedTuple

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from builder.edition import VehicleView
from builder.fleet import ROUNDS
from sync.desk.asked import Asked
from sync.desk.charts import chart
from sync.desk.history import voided
from sync.desk.looked import measured, unseen
from sync.desk.page import Desk, desk_of, page_of, posted, render
from sync.desk.plan_view import plan_of
from sync.desk.readings import recent, trends
from sync.desk.vehicle_changes import CHANGES, STATES, steps_out
from sync.desk.words import look_words, photos_here
from sync.paper import words
from sync.plan.due import months_after
from sync.rows import BacklogRow
from sync.state import TaskState
from sync.store import Store
from sync.store_rows import Query
from sync.trade.trends import recurrence

OPEN_SHOWN = 60
WALKS_SHOWN = 12
LOOKS_A_PAGE = 100
WALKS_A_PAGE = 100


class Due(NamedTuple):
    """Work that comes round, or is worth doing while something is open."""

    key: str  # "service/grease"
    name: str
    hours: float
    often: str
    task: TaskState | None
    due: str  # in words; "" where nothing can be said


def show(request: Request) -> Response:
    desk = desk_of(request)
    return render(request, "vehicles.html", {"standing": desk.store.standing(desk.today())})


def show_one(request: Request) -> Response:
    desk, vehicle = desk_of(request), request.path_params["vehicle"]
    standing = desk.store.standing_of(vehicle, desk.today())
    view = desk.store.edition().by_vehicle.get(vehicle)
    page = desk.store.backlog(desk.today(), Query(vehicle=vehicle), OPEN_SHOWN)
    given = {"standing": standing, "rows": page.rows, "total": page.total, "vehicle": vehicle}
    if view is None:
        return render(request, "vehicle_unknown.html", given)
    return render(request, "vehicle.html", {**given, **whole_of(desk, view, page.rows)})


def whole_of(desk: Desk, view: VehicleView, rows: Sequence[BacklogRow]) -> dict[str, object]:
    store, today = desk.store, desk.today()
    walks, looks, rulings = store.walks(view.id), recent(store, view.id), store.rulings(view.id)
    runs = store.runs(view.id)
    hours = [run.hours for run in runs if run.hours is not None]
    kept = sum(hours) if hours else None
    return {
        "view": view,
        "rulings": rulings,
        "state": rulings.state or view.vehicle.state,
        "states": STATES,
        "plan": plan_of(view, store.by_station(view.id)),
        "by_station": by_station(view, rows),
        "conflicts": store.conflicts(view.id),
        "unseen": unseen(store, view, looks, walks, today),
        "measured": measured(view, looks),
        "walks": walks[:WALKS_SHOWN],
        "all_walks": len(walks),
        "check_names": {check.id: check.ask for check in view.checks.values()},
        "back": [(one, recurrence(one.times - 1, kept)) for one in store.came_back(view.id)],
        **access_of(view, rows, store),
        "tags": store.tags(view.id),
        "reports": store.reports(view.id),
        "know_how": [(about_words(view, about), by, text) for about, by, text in rulings.know_how],
        "due": due_of(view, store.tasks(view.id), today),
        "runs": sorted(runs, key=lambda run: (run.day, run.id), reverse=True),
        "hours": kept,
        "fluids": sorted(store.fluids(view.id), key=lambda f: (f.day or f.at.date(), f.id), reverse=True),
        "words": words,
        "rounds": sorted({r for c in view.checks.values() for r in c.rounds}, key=ROUNDS.index),
    }


def by_station(view: VehicleView, rows: Sequence[BacklogRow]) -> list[tuple[str, str, list[BacklogRow]]]:
    """(station id, name, its open defects) in walking order; those at no station last."""
    names = {station.name: station.id for station in view.stations.values()}
    found: dict[str, list[BacklogRow]] = {name: [] for name in names}
    for row in rows:
        found.setdefault(row.station, []).append(row)
    return [(names.get(name, "elsewhere"), name or "At no station", mine) for name, mine in found.items() if mine]


def access_of(view: VehicleView, rows: Sequence[BacklogRow], store: Store) -> dict[str, object]:
    """Each access step: whether it is out, what holds it, what waits for it, what is worth doing then."""
    holding, out = store.holding(view.id), steps_out(view, store.tasks(view.id))
    steps = [
        {
            "step": step,
            "out": out.get(step.id),
            "needs": [view.access[n].name for n in step.needs if n in view.access],
            "held_by": [one for one in holding if step.id in one.holds],
            "wanted_by": [row for row in rows if step.name in row.needs.split("; ")],
            "while_open": [task for task in view.while_open.values() if task.access == step.id],
        }
        for step in view.access.values()
    ]
    now = [one for one in steps if one["out"] or one["held_by"] or one["wanted_by"]]
    return {"access_now": now, "access_rest": [one for one in steps if one not in now]}


def due_of(view: VehicleView, tasks: Sequence[TaskState], today: date) -> list[Due]:
    """Services first, then what is worth doing while something is open anyway."""
    known = {task.about: task for task in tasks}
    found = []
    for kind, items in (("service", view.service.values()), ("while-open", view.while_open.values())):
        for item in items:
            key = f"{kind}/{item.id}"
            task = known.get(f"{view.id}/{key}")
            often = [f"every {n} {what}" for n, what in _often(item) if n]
            due = due_words(task, item.every_months, today)
            found.append(Due(key, item.name, item.hours, " or ".join(often), task, due))
    return found


def _often(item: object) -> list[tuple[float | None, str]]:
    names = (("every_months", "months"), ("every_hours", "running hours"), ("every_events", "display days"))
    return [(getattr(item, name, None), what) for name, what in names]


def due_words(task: TaskState | None, months: int | None, today: date) -> str:
    """When a task was last signed off, and when it is due again, by the plan's own reckoning."""
    if task is None or not task.signed:
        return "never signed off here"
    last = date.fromisoformat(task.signed[-1])
    if months is None:
        return f"last {last.isoformat()}"
    due = months_after(last, months)
    return f"last {last.isoformat()}, {'over since' if due < today else 'due'} {due.isoformat()}"


def about_words(view: VehicleView, about: str) -> str:
    """What a piece of know-how is about, in names."""
    kind, _, rest = about.removeprefix(view.id).removeprefix("/").partition("/")
    if kind == "access" and rest in view.access:
        return view.access[rest].name
    check_id, _, fault_id = rest.rpartition("/")
    check = view.checks.get(check_id)
    fault = check.fault(fault_id) if check else None
    if check is not None and fault is not None:
        return f"{check.ask}: {fault.name}"
    return "" if not kind else rest or kind


def show_walks(request: Request) -> Response:
    desk, vehicle = desk_of(request), request.path_params["vehicle"]
    view = _view(desk, vehicle)
    names = {check.id: check.ask for check in view.checks.values()}
    page = page_of(request, desk.store.walks(vehicle), WALKS_A_PAGE)
    return render(request, "walks.html", {"view": view, "page": page, "check_names": names})


def show_check(request: Request) -> Response:
    """One check of one vehicle: its readings over time, every look, every defect it ever had."""
    desk, vehicle = desk_of(request), request.path_params["vehicle"]
    view = _view(desk, vehicle)
    check = view.checks.get(f"{request.path_params['station']}/{request.path_params['check']}")
    if check is None:
        raise HTTPException(404)
    looks = sorted(desk.store.looks_at(vehicle, check.id), key=lambda look: (look.day, look.finding.at), reverse=True)
    page = page_of(request, looks, LOOKS_A_PAGE)
    given = {
        "view": view,
        "check": check,
        "station": view.stations[check.station],
        "page": page,
        "voids": voided(desk.store, [look.finding.id for look in page.rows]),
        "come": photos_here(desk.store, (photo for look in page.rows for photo in look.finding.photos)),
        "says": lambda finding: look_words(check, finding),
        "charts": [chart(one) for one in trends(desk.store, view, check)],
        "defects": desk.store.at_check(vehicle, check.id),
        "words": words,
    }
    return render(request, "check.html", given)


def _view(desk: Desk, vehicle: str) -> VehicleView:
    view = desk.store.edition().by_vehicle.get(vehicle)
    if view is None:
        raise HTTPException(404)
    return view


def change(request: Request, form: FormData) -> Response:
    """One form of a vehicle's page. Raises DeskError with the reason where it cannot be."""
    name, vehicle = request.path_params["change"], request.path_params["vehicle"]
    if name not in CHANGES:
        raise HTTPException(404)
    asked = Asked.of(request, form)
    return asked.back(f"/vehicle/{vehicle}", CHANGES[name](asked, asked.view(vehicle)))


ROUTES = [
    Route("/vehicles", show),
    Route("/vehicle/{vehicle}", show_one),
    Route("/vehicle/{vehicle}/walks", show_walks),
    Route("/vehicle/{vehicle}/check/{station}/{check}", show_check),
    Route("/vehicle/{vehicle}/{change}", posted(change), methods=["POST"]),
]
