"""Backlog: every open defect, ranked, narrowed by what stands in the address, changed in bulk."""

from collections.abc import Mapping
from urllib.parse import parse_qsl, urlencode

import msgspec
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sync.desk.asked import Asked, ruling
from sync.desk.page import Paged, desk_of, kept_query, page_number, posted, render
from sync.errors import DeskError
from sync.service import Draft
from sync.store_rows import Query

PER_PAGE = 100
STATUSES = ("open", "to confirm", "in hand", "waiting", "mended", "tested")
STATES = ("open", "in hand", "mended", "tested")
#: What a person may sort by, as its column calls it.
SORTS = (("rank", "rank"), ("vehicle", "vehicle"), ("fault", "defect"), ("severity", "severity"), ("status", "status"),
         ("last_seen", "last seen"), ("waiting_for", "wait"))  # fmt: skip
_CHOICES = ("vehicle", "severity", "standing", "status", "station", "search", "sort")
_TICKS = ("waiting", "holding", "conflict", "perhaps_same")


def query_of(given: Mapping[str, str]) -> Query:
    """What the address narrows the list to; what it does not name stays wide. Revivals have a list of their own."""
    chosen = {name: given[name].strip() for name in _CHOICES if given.get(name, "").strip()}
    ticked = {name: True for name in _TICKS if given.get(name) == "yes"}
    apart = None if given.get("revivals") == "yes" or chosen.get("vehicle") or chosen.get("search") else False
    return Query(**chosen, **ticked, revivals=apart, down=given.get("down") == "yes")  # type: ignore[arg-type]


def show(request: Request) -> Response:
    desk = desk_of(request)
    query, number = query_of(request.query_params), page_number(request.query_params)
    apart = desk.store.open_revivals() if query.revivals is False else 0
    asked = query if apart else msgspec.structs.replace(query, revivals=None)  # nothing to keep apart: the quick way
    page = desk.store.backlog(desk.today(), asked, PER_PAGE, (number - 1) * PER_PAGE)
    edition = desk.store.edition()
    kept = [pair for pair in parse_qsl(kept_query(request)) if pair[0] not in {"sort", "down"}]
    stations = {s.id: s.name for view in edition.by_vehicle.values() for s in view.stations.values()}
    given = {
        "page": Paged.of(request, page, number, PER_PAGE),
        "query": query,
        "ticked": {name: bool(getattr(query, name)) for name in _TICKS} | {"revivals": query.revivals is None},
        "apart": apart,
        "vehicles": [(view.id, view.name) for view in edition.by_vehicle.values()],
        "stations": sorted(stations.items(), key=lambda item: item[1]),
        "statuses": STATUSES,
        "sorts": SORTS,
        "unsorted": urlencode(kept),
        "narrowed": bool(kept),
    }
    return render(request, "backlog.html", given)


def change(request: Request, form: FormData) -> Response:
    """Several defects at once: who has them, or how far they are."""
    asked = Asked.of(request, form)
    openings, owner, state = asked.every("defect"), asked.line("owner"), asked.text("state")
    if not openings:
        raise DeskError("no line is ticked; tick the defects that the change is for")
    if not owner and not state:
        raise DeskError("no change is chosen; say who has them, or how far they are")
    if state and state not in STATES:
        raise DeskError(f"{state!r} is no state of work for several at once; choose one of {', '.join(STATES)}")
    defects = [asked.desk.store.defect(opening) for opening in openings]
    drafts = [ruling(one.opening, one.vehicle, owner=owner) for one in defects if owner]
    drafts += [Draft("work", {"about": one.opening, "state": state}) for one in defects if state]
    asked.write(*drafts)
    noun = "defect" if len(openings) == 1 else "defects"
    return asked.back("/backlog", f"Written for {len(openings)} {noun}.")


ROUTES = [Route("/backlog", show), Route("/backlog", posted(change), methods=["POST"])]
