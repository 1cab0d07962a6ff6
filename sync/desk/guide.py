"""Guide: the illustrated guide, from the same source as the app's."""

from collections.abc import Mapping
from functools import cache
from pathlib import Path

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from builder.guide import CHAPTERS, FOLDER, PICTURES, STYLE, neighbours, sizes
from sync.desk.page import render
from sync.pages import TEMPLATES


def contents(request: Request) -> Response:
    return _page(request, {"chapter": None, "before": None, "after": None})


def chapter(request: Request) -> Response:
    slug = request.path_params["chapter"]
    found = next((one for one in CHAPTERS if one.slug == slug), None)
    if found is None:
        raise HTTPException(404)
    return _page(request, neighbours(found))


def _page(request: Request, given: Mapping[str, object]) -> Response:
    return render(request, "guide.html", {"at": "desk", "chapters": CHAPTERS, "sizes": _sizes(), **given})


def picture(request: Request) -> Response:
    """One of the guide's own pictures."""
    path = _pictures().get(request.path_params["picture"])
    if path is None:
        raise HTTPException(404)
    return FileResponse(path, media_type="image/webp")


@cache
def _pictures() -> dict[str, Path]:
    return {path.name: path for path in (TEMPLATES / PICTURES).glob("*.webp")}


@cache
def _sizes() -> dict[str, tuple[int, int]]:
    return sizes({f"{PICTURES}{name}": path.read_bytes() for name, path in _pictures().items()})


ROUTES = [
    Route(f"/{FOLDER.rstrip('/')}", contents),
    Route(f"/{STYLE}", lambda _: FileResponse(TEMPLATES / STYLE)),
    Route(f"/{PICTURES}{{picture}}", picture),
    Route(f"/{FOLDER}{{chapter}}", chapter),
]
