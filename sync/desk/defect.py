"""Defect: one line of the backlog, whole; what is said of it here; its photos."""

from collections.abc import Iterable

from starlette.datastructures import FormData
from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from builder.edition import Edition, VehicleView
from sync.derive import steps_under
from sync.desk import may
from sync.desk.asked import Asked
from sync.desk.charts import chart
from sync.desk.defect_changes import CHANGES, PART_STATES, STATES, WAIT_KINDS, WHEN_CLOSED
from sync.desk.history import defect_history, found_words, wait_words
from sync.desk.page import Desk, desk_of, posted, render
from sync.desk.readings import trends
from sync.desk.robbing import taken_for, went_to
from sync.desk.words import fault_notes, photos_here
from sync.errors import DeskError
from sync.measured import Measures
from sync.paper import words
from sync.standing import may_escalate
from sync.state import Defect
from sync.trade.cautions import cautions_for


def show(request: Request) -> Response:
    desk = desk_of(request)
    return render(request, "defect.html", whole_of(desk, desk.store.defect(request.path_params["defect"])))


def whole_of(desk: Desk, defect: Defect) -> dict[str, object]:
    store, edition = desk.store, desk.store.edition()
    view = edition.by_vehicle.get(defect.vehicle)
    check = view.checks.get(defect.check) if view else None
    told = defect_history(store, edition, defect)
    same = [one for one in store.at_check(defect.vehicle, defect.check, defect.spot) if one.fault == defect.fault]
    about = {defect.opening, *defect.also}
    parts = [one for one in store.parts() if one.for_ in about]
    return {
        "defect": defect,
        "view": view,
        "check": check,
        "rank": store.rank_of(defect.opening, desk.today()),
        "standing": store.standing_of(defect.vehicle, desk.today()),
        "told": told,
        "come": photos_here(store, (photo for one in told for photo in one.photos)),
        "clocks": {c.device: c for c in store.clocks() if c.flagged},
        "names": store.device_names(),
        "conflicts": [c for c in store.conflicts(defect.vehicle) if c.id in defect.conflicts],
        "reckonings": Measures(store).reckoned(view, defect) if view else (),
        "charts": _charts(desk, defect, view),
        "episodes": [one for one in same if one.opening != defect.opening],
        "found": found_words(defect.diagnosis, view) if defect.diagnosis else "",
        "wait": wait_words(defect.wait) if defect.wait else "",
        "words": words,
        "steps": steps_of(view, defect, store.holding(defect.vehicle)),
        "cautions": cautions_of(view, defect),
        "notes": fault_notes(store, defect),
        "parts": parts,
        "taken": taken_for(desk, defect, parts),
        "taken_for": went_to(store, defect),
        "others": [one for one in edition.by_vehicle.values() if one.id != defect.vehicle],
        "tags": store.tags(defect.vehicle),
        "reports": [r for r in store.reports(defect.vehicle, closed=True) if r.explained in ("", defect.opening)],
        "pairs": pairs_of(desk, defect),
        **choices(edition, view, defect),
        "why_not_up": may_escalate(defect, store.defects(defect.vehicle)),
    }


def choices(edition: Edition, view: VehicleView | None, defect: Defect) -> dict[str, object]:
    """What the forms offer."""
    return {
        "states": STATES,
        "wait_kinds": WAIT_KINDS,
        "part_states": PART_STATES,
        "signers": may.may_sign(edition, defect.system),
        "second": may.second_person(defect),
        "menders": may.menders(defect),
        "checks": list(view.checks.values()) if view else [],
        "stations": view.stations if view else {},
    }


def steps_of(view: VehicleView | None, defect: Defect, holding: Iterable[Defect]) -> list[dict[str, object]]:
    """The access steps that mending needs, each with what holds it."""
    if view is None or not defect.needs:
        return []
    holders = [one for one in holding if one.opening != defect.opening]
    return [
        {"step": view.access[step], "held_by": [one for one in holders if step in one.holds]}
        for step in steps_under(view, defect.needs)
        if step in view.access
    ]


def cautions_of(view: VehicleView | None, defect: Defect) -> list[str]:
    """What to say before the hands go in: the check's own, the steps', and those of its system."""
    check = view.checks.get(defect.check) if view else None
    steps = [view.access[s].caution for s in steps_under(view, defect.needs) if view and s in view.access]
    said = [check.caution if check else None, *steps, *cautions_for(defect.system)]
    return list(dict.fromkeys(line for line in said if line))


def pairs_of(desk: Desk, defect: Defect) -> list[tuple[str, Defect, bool | None]]:
    """(why, the other, joined) of the pairs this defect is in."""
    mine = {defect.opening, *defect.also}
    found: list[tuple[str, Defect, bool | None]] = []
    for pair in desk.store.pairs_of(defect.vehicle, sorted(mine)):
        others = {pair.first, pair.second} - mine
        if len(others) == 1 and pair.joined is not False:
            found.append((pair.why, desk.store.defect(others.pop()), pair.joined))
    return found


def _charts(desk: Desk, defect: Defect, view: VehicleView | None) -> list[object]:
    check = view.checks.get(defect.check) if view else None
    if view is None or check is None or defect.reading is None:
        return []
    return [chart(one) for one in trends(desk.store, view, check) if one.spot == defect.spot]


def change(request: Request, form: FormData) -> Response:
    """One form of the page. Raises DeskError with the reason where it cannot be."""
    name, key = request.path_params["change"], request.path_params["defect"]
    if name not in CHANGES:
        raise HTTPException(404)
    asked = Asked.of(request, form)
    defect = asked.desk.store.defect(key)
    if defect.closed is not None and name not in WHEN_CLOSED:
        how = f"{defect.closed.how} by {defect.closed.by}"
        raise DeskError(f"{defect.code} is closed ({how}); nothing is changed in it any more")
    said = CHANGES[name](asked, defect)
    return asked.back(f"/defect/{defect.code}", said)


def photo(request: Request) -> Response:
    """A photo as it was handed in; its name is its content, so it may be kept for good."""
    store = desk_of(request).store
    sha256 = request.path_params["sha256"]
    path = store.photo_path(sha256)
    row = store.photo(sha256)
    kind = row.type if row else "application/octet-stream"
    return FileResponse(path, media_type=kind, headers={"Cache-Control": "private, max-age=31536000, immutable"})


ROUTES = [
    Route("/defect/{defect}", show),
    Route("/defect/{defect}/{change}", posted(change), methods=["POST"]),
    Route("/photos/{sha256:str}", photo),
]
