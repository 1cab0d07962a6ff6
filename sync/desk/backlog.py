"""Backlog: every open defect, ranked, narrowed by what stands in the address, changed in bulk."""

from collections.abc import Mapping
from urllib.parse import urlencode

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sync.desk.page import back, desk_of, render, text_of, write
from sync.errors import DeskError
from sync.service import Draft
from sync.store_rows import Query

PER_PAGE = 100
STATUSES = ("open", "to confirm", "in hand", "waiting", "mended", "tested")
_CHOICES = ("vehicle", "severity", "standing", "status", "station", "search", "sort")
_TICKS = ("waiting", "holding", "conflict", "perhaps_same")


def query_of(given: Mapping[str, str]) -> Query:
    """What the address narrows the list to; what it does not name stays wide."""
    chosen = {name: given[name].strip() for name in _CHOICES if given.get(name, "").strip()}
    ticked = {name: True for name in _TICKS if given.get(name) == "yes"}
    return Query(**chosen, **ticked, down=given.get("down") == "yes")  # type: ignore[arg-type]  # names are the fields


def page_number(given: Mapping[str, str]) -> int:
    text = given.get("page", "1")
    return max(1, int(text)) if text.isdecimal() and len(text) < 8 else 1


def show(request: Request) -> Response:
    desk = desk_of(request)
    query, number = query_of(request.query_params), page_number(request.query_params)
    page = desk.store.backlog(desk.today(), query, PER_PAGE, (number - 1) * PER_PAGE)
    edition = desk.store.edition()
    kept = [(name, value) for name, value in request.query_params.items() if name not in {"page", "said"} and value]
    stations = {s.id: s.name for view in edition.by_vehicle.values() for s in view.stations.values()}
    given = {
        "rows": page.rows,
        "total": page.total,
        "number": number,
        "pages": max(1, -(-page.total // PER_PAGE)),
        "query": query,
        "ticked": {name: bool(getattr(query, name)) for name in _TICKS},
        "vehicles": [(view.id, view.name) for view in edition.by_vehicle.values()],
        "stations": sorted(stations.items(), key=lambda item: item[1]),
        "statuses": STATUSES,
        "kept": urlencode(kept),
        "unsorted": urlencode([pair for pair in kept if pair[0] not in {"sort", "down"}]),
        "narrowed": any(name not in {"sort", "down"} for name, _ in kept),
    }
    return render(request, "backlog.html", given)


async def change(request: Request) -> Response:
    """Several defects at once: who has them, or how far they are."""
    async with request.form() as form:
        openings = [str(value) for value in form.getlist("defect")]
        owner, state = text_of(form, "owner"), text_of(form, "state")
        if not openings:
            raise DeskError("no line is ticked; tick the defects that the change is for")
        if not owner and not state:
            raise DeskError("no change is chosen; say who has them, or how far they are")
        drafts = [Draft("ruling", {"about": o, "set": {"owner": owner}}) for o in openings if owner]
        drafts += [Draft("work", {"about": o, "state": state}) for o in openings if state]
        write(request, form, *drafts)
        noun = "defect" if len(openings) == 1 else "defects"
        return back(f"/backlog?{text_of(form, 'kept')}", f"Written for {len(openings)} {noun}.")


ROUTES = [Route("/backlog", show), Route("/backlog", change, methods=["POST"])]
