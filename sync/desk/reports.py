"""Reports: what drivers felt and visitors saw, each with what explains it or the look it asks for; and what has no
place yet: something else, and findings at checks that the fleet does not know."""

from collections.abc import Iterable

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sync.desk import may
from sync.desk.asked import Asked, filled, ruling
from sync.desk.page import Desk, desk_of, page_of, posted, render
from sync.desk.words import photos_here
from sync.errors import DeskError, NotHereError
from sync.fold.redacting import GONE
from sync.rows import BacklogRow
from sync.service import Draft
from sync.state import ReportState
from sync.store_rows import Query

PER_PAGE = 20
EXPLAINED_SHOWN = 20
CHOICES_MOST = 200
TO_PLACE_SHOWN = 25
SOURCES = ("driver", "visitor", "other")


def show(request: Request) -> Response:
    desk = desk_of(request)
    store, edition = desk.store, desk.store.edition()
    every = sorted(store.reports(closed=True), key=lambda report: report.at, reverse=True)
    page = page_of(request, [report for report in every if not report.explained], PER_PAGE)
    explained = [report for report in every if report.explained][:EXPLAINED_SHOWN]
    to_place = store.to_place()
    given = {
        "page": page,
        "explained": [(report, _code(desk, report)) for report in explained],
        "open": open_of(desk, {report.vehicle for report in page.rows}),
        "to_place": to_place[:TO_PLACE_SHOWN],
        "to_place_count": len(to_place),
        "views": edition.by_vehicle,
        "vehicles": {view.id: view.name for view in edition.by_vehicle.values()},
        "come": photos_here(store, (p for some in (page.rows, explained, to_place) for r in some for p in r.photos)),
        "gone": GONE,
        "sources": SOURCES,
    }
    return render(request, "reports.html", given)


def open_of(desk: Desk, vehicles: Iterable[str]) -> dict[str, tuple[BacklogRow, ...]]:
    """Vehicle -> its open defects, to choose what explains a report from."""
    today = desk.today()
    return {one: desk.store.backlog(today, Query(vehicle=one), CHOICES_MOST).rows for one in vehicles}


def _code(desk: Desk, report: ReportState) -> str:
    """The code of the defect that explains a report; "" where it was driven again."""
    return "" if report.explained == "driven again" else desk.store.defect(report.explained).code


def change(request: Request, form: FormData) -> Response:
    """A report is explained by a defect, asks somebody for a look, or is open again."""
    asked = Asked.of(request, form)
    report = _report(asked, request.path_params["report"])
    what = asked.text("what")
    if what == "explain":
        defect = asked.desk.store.defect(asked.text("defect", "The defect"))
        if defect.vehicle != report.vehicle:
            raise DeskError(f"{defect.code} is on another vehicle than the report")
        asked.write(ruling(report.entry, report.vehicle, explains=defect.opening))
        said = f"Explained by {defect.code}."
    elif what == "ask":
        who = asked.line("who")
        asked.write(ruling(report.entry, report.vehicle, ask={"who": who} if who else None))
        said = f"{who} is asked for a look." if who else "No look is asked for any more."
    elif what == "reopen":
        may.refuse_unless_lead(asked.edition, asked.by, "opening a report again")
        asked.write(ruling(report.entry, report.vehicle, explains=None))
        said = "Open again."
    else:
        raise DeskError("say what explains the report, or who is asked for a look")
    return asked.back("/reports", said)


def write_down(request: Request, form: FormData) -> Response:
    """A report that came by word of mouth, by telephone or by letter."""
    asked = Asked.of(request, form)
    vehicle, source = asked.view(asked.text("vehicle", "The vehicle")), asked.text("source", "Who says so")
    if source not in SOURCES:
        raise DeskError(f"{source!r} is none of {', '.join(SOURCES)}")
    said = {"symptom": asked.text("symptom", "What was felt or seen"), "conditions": asked.text("conditions")}
    asked.write(Draft("report", {"vehicle": vehicle.id, "source": source, "photos": [], **filled(said)}))
    return asked.back("/reports", "The report is written down.")


def _report(asked: Asked, entry: str) -> ReportState:
    found = next((report for report in asked.desk.store.reports(closed=True) if report.entry == entry), None)
    if found is None:
        raise NotHereError("there is no such report in this backlog; open the page again")
    return found


ROUTES = [
    Route("/reports", show),
    Route("/reports", posted(write_down), methods=["POST"]),
    Route("/reports/{report}", posted(change), methods=["POST"]),
]
