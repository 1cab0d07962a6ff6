"""Papers and exports: every export as of a day to download; cards, notices and blank sheets to print."""

import os
import tempfile
from collections.abc import Iterator
from datetime import date
from typing import IO

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.routing import Route

from builder.fleet import ROUNDS, Round
from sync.desk.guard import LOOPBACK_NAMES, host_name
from sync.desk.page import Desk, desk_of, render
from sync.errors import DeskError, NotHereError
from sync.exports.command import WRITERS
from sync.exports.gather import gather
from sync.paper.printing import Printing
from sync.store_rows import Query

_PIECE = 256 * 1024
CARDS_MOST = 200
#: A paper carries its style and its pictures in itself, and does nothing.
PAPER_POLICY = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'; base-uri 'none'"
FORMS = {
    "xlsx": ("Spreadsheet", "A sheet a subject, filters and a frozen head: for the committee.",
             "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"),
    "csv": ("CSV", "The backlog's lines alone, for any spreadsheet or program.", "text/csv; charset=utf-8"),
    "ics": ("Calendar", "What is due, planned work days, display days; taken in again, it updates.",
            "text/calendar; charset=utf-8"),
    "html": ("One page", "With its photos, readable without a network: for a mail.", "text/html; charset=utf-8"),
    "md": ("Markdown", "Plain text with headings, for notes and minutes.", "text/markdown; charset=utf-8"),
    "json": ("JSON", "For programs; its schema stands beside the exports.", "application/json"),
}  # fmt: skip


def show(request: Request) -> Response:
    desk = desk_of(request)
    standing = desk.store.standing(desk.today())
    views = desk.store.edition().by_vehicle
    given = {
        "forms": FORMS,
        "rounds": ROUNDS,
        "stopped": [row for row in standing if row.standing == "stopped" and row.vehicle in views],
        "open": [row for row in standing if row.open_defects and row.vehicle in views],
        "views": views,
        "fleet_code": desk.store.fleet(),
    }
    return render(request, "papers.html", given)


def export(request: Request) -> Response:
    """One export as a file, written whole before its first byte goes out, streamed from disk."""
    desk, form = desk_of(request), request.path_params["form"]
    if form not in FORMS:
        raise HTTPException(404)
    as_of = _as_of(request, desk)
    file = tempfile.TemporaryFile()  # noqa: SIM115 closed when it has been sent
    try:
        with desk.store.reading():  # one state of the backlog, whatever comes in meanwhile
            WRITERS[form](gather(desk.store, as_of, desk.store.path.absolute().parent), file)
    except BaseException:
        file.close()
        raise
    name = f"{desk.store.fleet()}-{as_of.isoformat()}.{form}"
    size = file.seek(0, os.SEEK_END)
    headers = {"Content-Disposition": f'attachment; filename="{name}"', "Content-Length": str(size)}
    return StreamingResponse(_sent(file), 200, headers, FORMS[form][2])


def card(request: Request) -> Response:
    """Cards of the defects named in the address."""
    keys = [key for key in request.query_params.getlist("defect") if key]
    return _paper(_printing(request).cards(keys[:CARDS_MOST], _a_page(request)))


def cards(request: Request) -> Response:
    """Cards of a vehicle's open defects, in their rank."""
    desk, vehicle = desk_of(request), request.path_params["vehicle"]
    rows = desk.store.backlog(desk.today(), Query(vehicle=vehicle), CARDS_MOST).rows
    if not rows:
        raise DeskError(f"nothing is open on {vehicle}; there is no card to print")
    return _paper(_printing(request).cards([row.opening for row in rows], _a_page(request)))


def job(request: Request) -> Response:
    return _paper(_printing(request).job(request.path_params["job"]))


def notice(request: Request) -> Response:
    return _paper(_printing(request).notices([request.path_params["vehicle"]]))


def notices(request: Request) -> Response:
    return _paper(_printing(request).notices())


def sheet(request: Request) -> Response:
    return _paper(_printing(request).sheets([request.path_params["vehicle"]], [_round(request.path_params["round"])]))


def sheets(request: Request) -> Response:
    """Blank sheets of one round for every vehicle, or for those named."""
    views = desk_of(request).store.edition().by_vehicle
    wanted = [one for one in request.query_params.getlist("vehicle") if one] or list(views)
    return _paper(_printing(request).sheets(wanted, [_round(request.query_params.get("round", "full"))]))


def _printing(request: Request) -> Printing:
    desk = desk_of(request)
    return Printing(desk.store, desk.today(), _address(request))


def _address(request: Request) -> str:
    """Where a phone could open this desk; "" where it answers to this PC alone: a symbol then holds the code."""
    host = request.headers.get("host", "")
    return "" if host_name(host) in LOOPBACK_NAMES else f"{request.url.scheme}://{host}"


def _a_page(request: Request) -> int:
    return 2 if request.query_params.get("a_page") == "2" else 1


def _round(name: str) -> Round:
    found = next((one for one in ROUNDS if one == name), None)
    if found is None:
        raise NotHereError(f"there is no round {name!r}; there are {', '.join(ROUNDS)}")
    return found


def _as_of(request: Request, desk: Desk) -> date:
    text = request.query_params.get("as_of", "").strip()
    try:
        return date.fromisoformat(text) if text else desk.today()
    except ValueError as error:
        raise DeskError(f"{text!r} is no day; write it as 2026-10-18") from error


def _paper(page: bytes) -> Response:
    headers = {"Content-Security-Policy": PAPER_POLICY}
    return Response(page, 200, headers, "text/html; charset=utf-8")


def _sent(file: IO[bytes]) -> Iterator[bytes]:
    with file:
        file.seek(0)
        while piece := file.read(_PIECE):
            yield piece


ROUTES = [
    Route("/papers", show),
    Route("/papers/export/{form}", export),
    Route("/papers/card", card),
    Route("/papers/cards/{vehicle}", cards),
    Route("/papers/job/{job}", job),
    Route("/papers/notice/{vehicle}", notice),
    Route("/papers/notices", notices),
    Route("/papers/sheet/{vehicle}/{round}", sheet),
    Route("/papers/sheets", sheets),
]
