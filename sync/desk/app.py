"""The desk put together: every page's routes, styles and scripts, the guard in front, errors in words."""

import logging
from collections.abc import Callable, Sequence

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import FileResponse, RedirectResponse, Response
from starlette.routing import BaseRoute, Mount, Route
from starlette.staticfiles import StaticFiles

from builder.errors import DriptrayError
from sync import mishaps
from sync.desk import (
    backlog,
    conflicts,
    defect,
    entries,
    guide,
    know_how,
    pairs,
    papers,
    plan,
    reports,
    revivals,
    season,
    sheet,
    take_in,
    today,
    vehicles,
)
from sync.desk.gate import Gate
from sync.desk.guard import Guard, loopback_names
from sync.desk.page import WHO_COOKIE, Desk, came_from, of_ours, render, text_of
from sync.errors import NotHereError
from sync.pages import TEMPLATES

_log = logging.getLogger("driptray.desk")
#: A page a module: each has its `ROUTES`.
PAGES = (
    today,
    backlog,
    vehicles,
    defect,
    entries,
    conflicts,
    pairs,
    reports,
    revivals,
    know_how,
    take_in,
    papers,
    sheet,
    season,
    plan,
    guide,
)


def desk_app(
    desk: Desk,
    *,
    names: Callable[[], frozenset[str]] = loopback_names,
    gate: Gate | None = None,
    more: Sequence[BaseRoute] = (),
) -> Starlette:
    """The desk as an ASGI app. `names` are the hosts it answers to; `gate` opens it to others than this PC;
    `more` are routes served beside its pages."""
    routes: list[BaseRoute] = [route for page in PAGES for route in page.ROUTES]
    routes += [
        Route("/who", choose_who, methods=["POST"]),
        Route("/tokens.css", lambda _: FileResponse(TEMPLATES / "app/css/tokens.css")),
        Mount("/css", StaticFiles(directory=TEMPLATES / "desk/css")),
        Mount("/js", StaticFiles(directory=TEMPLATES / "desk/js")),
        *more,
    ]
    handlers = {DriptrayError: refused, HTTPException: missing, Exception: unforeseen}
    app = Starlette(
        routes=routes,
        middleware=[Middleware(Guard, names=names, gate=gate)],
        exception_handlers=handlers,
    )
    app.state.desk = desk
    return app


async def choose_who(request: Request) -> Response:
    """Remember in this browser who is at the desk."""
    async with request.form() as form:
        initials, to = text_of(form, "by"), text_of(form, "to")
    answer = RedirectResponse(of_ours(to, "/"), 303)
    secure = request.url.scheme == "https"
    answer.set_cookie(WHO_COOKIE, initials, max_age=30 * 86400, httponly=True, secure=secure, samesite="strict")
    return answer


def refused(request: Request, error: Exception) -> Response:
    """What cannot be done, in the words it was raised with."""
    if isinstance(error, NotHereError):  # a way out on the command line is none here
        return _trouble(request, "That did not work", error.what, 404)
    return _trouble(request, "That did not work", str(error), 409)


def missing(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 500
    told = {404: "There is no such page at this desk.", 405: "That cannot be done to this page."}
    return _trouble(request, "Not here", told.get(status, "The desk cannot answer that."), status)


def unforeseen(request: Request, error: Exception) -> Response:
    """A defect of ours: the details go into a file, the person gets a line."""
    words = mishaps.told(error, f"{request.method} {request.url.path}")
    _log.error("%s %s: %s", request.method, request.url.path, words)
    return _trouble(request, "Something went wrong", f"{words[:1].upper()}{words[1:]}.", 500)


def _trouble(request: Request, title: str, words: str, status: int) -> Response:
    """In words, with what had been filled in, so that nothing a person wrote is lost, and the way back."""
    given = {
        "title": title,
        "words": words,
        "kept": getattr(request.state, "kept", ()),
        "came_from": came_from(request),
    }
    return render(request, "trouble.html", given, status)
