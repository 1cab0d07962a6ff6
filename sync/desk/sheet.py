"""Type a sheet in: a walk-round that was done on paper becomes a walk and its findings, as its walker's."""

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from builder.edition import VehicleView
from builder.fleet import ROUNDS, SEVERITIES
from sync.desk.asked import Asked
from sync.desk.page import Desk, desk_of, posted, render, who
from sync.desk.typed import SOMETHING_ELSE, WHY_NOT, Typed, asked, drafts_of, key
from sync.errors import DeskError
from sync.state import Defect
from sync.store_rows import Query

KNOWN_MOST = 200


def show(request: Request) -> Response:
    desk = desk_of(request)
    vehicle, walk_round = (request.query_params.get(name, "") for name in ("vehicle", "round"))
    view = desk.store.edition().by_vehicle.get(vehicle)
    if view is None or walk_round not in ROUNDS:
        return render(request, "sheet_choose.html", {"views": desk.store.edition().by_vehicle, "rounds": ROUNDS,
                                                     "vehicle": vehicle, "round": walk_round})  # fmt: skip
    values = {"day": desk.today().isoformat(), "by": who(request)}
    return render(request, "sheet.html", _given(desk, Typed(view, walk_round, "", values)))


def take(request: Request, form: FormData) -> Response:
    """All of the sheet in one transaction, or none, with every mistake named and what was typed kept."""
    desk = desk_of(request)
    values = {name: value for name, value in form.multi_items() if isinstance(value, str)}
    view = desk.store.edition().by_vehicle.get(values.get("vehicle", ""))
    walk_round = values.get("round", "")
    if view is None or walk_round not in ROUNDS:
        raise DeskError("the form came without its vehicle or round; open the page again")
    typed = Typed(view, walk_round, desk.service.new_id(), values)
    asking = Asked.of(request, form)
    day = asking.day("day", "The day of the walk")
    if day is None or day > desk.today():
        typed.mistake("The day", "it is still to come; write the day that stands on the sheet")
    drafts = drafts_of(typed, day or desk.today(), known_of(desk, view))
    if typed.mistakes:
        return render(request, "sheet.html", _given(desk, typed), 422)
    desk.service.write_sheet(drafts, by=asking.by)
    return asking.back(f"/vehicle/{view.id}#walks", f"Typed in: {len(drafts) - 2} findings of {asking.by}'s walk.")


def known_of(desk: Desk, view: VehicleView) -> list[Defect]:
    """The open defects that the paper lists for another look."""
    rows = desk.store.backlog(desk.today(), Query(vehicle=view.id), KNOWN_MOST).rows
    return [desk.store.defect(row.opening) for row in rows]


def _given(desk: Desk, typed: Typed) -> dict[str, object]:
    return {
        "view": typed.view,
        "round": typed.round,
        "stations": asked(typed.view, typed.round),
        "known": known_of(desk, typed.view),
        "values": typed.values,
        "mistakes": typed.mistakes,
        "outside": typed.outside,
        "key": key,
        "why_not": WHY_NOT,
        "severities": SEVERITIES,
        "others": range(1, SOMETHING_ELSE + 1),
    }


ROUTES = [Route("/sheet", show), Route("/sheet", posted(take), methods=["POST"])]
