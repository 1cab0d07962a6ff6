"""Defect: one line of the backlog, whole."""

from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from sync.desk.page import desk_of, render


def show(request: Request) -> Response:
    desk = desk_of(request)
    return render(request, "defect.html", {"defect": desk.store.defect(request.path_params["defect"])})


def photo(request: Request) -> Response:
    """A photo as it was handed in; its name is its content, so it may be kept for good."""
    store = desk_of(request).store
    sha256 = request.path_params["sha256"]
    path = store.photo_path(sha256)
    row = store.photo(sha256)
    kind = row.type if row else "application/octet-stream"
    return FileResponse(path, media_type=kind, headers={"Cache-Control": "private, max-age=31536000, immutable"})


ROUTES = [Route("/defect/{defect}", show), Route("/photos/{sha256:str}", photo)]
