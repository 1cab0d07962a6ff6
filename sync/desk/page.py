"""What every page of the desk has at hand: the store, today, who is at the desk, what the page had shown, forms."""

from collections.abc import Awaitable, Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from functools import wraps
from typing import Any, Generic, TypeVar
from urllib.parse import urlencode, urlsplit, urlunsplit

from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response

from sync.errors import DeskError
from sync.pages import environment
from sync.service import Draft, Service
from sync.store import Store
from sync.store_rows import Page

Row = TypeVar("Row")
WHO_COOKIE = "desk-by"
#: A whole walk-round typed in has some hundred fields a vehicle; a box of phones some dozen files.
FIELDS_MOST = 5000
FILES_MOST = 200
_KEPT_SHOWN = 40


@dataclass(frozen=True)
class Desk:
    """The parts that pages work with; `today` is asked anew each time."""

    store: Store
    service: Service
    today: Callable[[], date]


def desk_of(request: Request) -> Desk:
    desk: Desk = request.app.state.desk
    return desk


def who(request: Request) -> str:
    """The initials of who is at the desk, as last chosen in this browser; "" before."""
    chosen = request.cookies.get(WHO_COOKIE, "")
    return chosen if chosen in desk_of(request).store.edition().by_initials else ""


def posted(handler: Callable[[Request, FormData], Response]) -> Callable[[Request], Awaitable[Response]]:
    """A handler of a filled-in form: it runs in a thread, so that a write never keeps the door's phones waiting."""

    @wraps(handler)
    async def answered(request: Request) -> Response:
        async with request.form(max_files=FILES_MOST, max_fields=FIELDS_MOST) as form:
            request.state.kept = _kept(form)  # shown again where it is refused
            return await run_in_threadpool(handler, request, form)

    return answered


def _kept(form: FormData) -> list[tuple[str, str]]:
    """(field, text) of what a person filled in, without what the page itself put there."""
    return [
        (name.replace("_", " "), value)
        for name, value in form.multi_items()
        if isinstance(value, str) and value.strip() and name not in ("knows", "to")
    ][:_KEPT_SHOWN]


def render(request: Request, template: str, given: Mapping[str, Any], status: int = 200) -> Response:
    """A page from web_templates/desk, with what its frame shows: the fleet, who, and what the page's forms know."""
    desk = desk_of(request)
    edition = desk.store.edition()
    initials = who(request)
    frame = {
        "path": request.url.path,
        "here": _here(request),
        "fleet": edition.name,
        "people": edition.people,
        "who": initials,
        "leads": [person.initials for person in edition.people if person.lead],
        "leading": any(person.initials == initials and person.lead for person in edition.people),
        "today": desk.today().isoformat(),
        "knows": desk.service.token(),
        "said": request.query_params.get("said", ""),
        "leaves": getattr(request.state, "leaves", False),
    }
    if hidden := frame.keys() & given.keys():
        raise ValueError(f"{template} would hide the frame's own {', '.join(sorted(hidden))}")
    return HTMLResponse(environment().get_template(f"desk/{template}").render({**frame, **given}), status)


def came_from(request: Request) -> str:
    """The page of ours that a form or a link stood on; the first page where that is not known."""
    found = urlsplit(request.headers.get("referer", ""))
    ours = found.path and found.netloc == request.headers.get("host", "")
    return urlunsplit(("", "", found.path, found.query, "")) if ours else "/"


def _here(request: Request) -> str:
    """This page's address, without what was said on it once; for an answer to a form, where the form stood."""
    if request.method == "POST":
        return came_from(request)
    kept = urlencode([pair for pair in request.query_params.multi_items() if pair[0] != "said"])
    return f"{request.url.path}?{kept}" if kept else request.url.path


@dataclass(frozen=True)
class Paged(Generic[Row]):
    """One page of a long list. `kept` is the address's question without the page's number; `more`: than `total`."""

    rows: tuple[Row, ...]
    total: int
    number: int
    pages: int
    kept: str
    more: bool = False

    @classmethod
    def of(cls, request: Request, found: Page[Row], number: int, per_page: int) -> "Paged[Row]":
        """A page that the store has cut already."""
        pages = max(1, -(-found.total // per_page))
        return cls(found.rows, found.total, number, pages, kept_query(request), found.more)


def page_number(given: Mapping[str, str]) -> int:
    text = given.get("page", "1")
    return max(1, int(text)) if text.isdecimal() and len(text) < 8 else 1


def kept_query(request: Request) -> str:
    """What stands in the address, without the page's number and what was said."""
    pairs = [(name, value) for name, value in request.query_params.items() if name not in {"page", "said"} and value]
    return urlencode(pairs)


def page_of(request: Request, rows: Sequence[Row], per_page: int) -> Paged[Row]:
    """The part of a list that the address asks for."""
    pages = max(1, -(-len(rows) // per_page))
    number = min(page_number(request.query_params), pages)
    first = (number - 1) * per_page
    return Paged(tuple(rows[first : first + per_page]), len(rows), number, pages, kept_query(request))


def of_ours(to: str, otherwise: str) -> str:
    """An address of this desk as a form gave it; `otherwise` for any that could lead elsewhere."""
    return to if to.startswith("/") and not to.startswith(("//", "/\\")) else otherwise


def back(path: str, said: str) -> Response:
    """To a page after a change, which says there what was done."""
    parted = path.split("#", 1)
    sign = "&" if "?" in parted[0] else "?"
    anchor = f"#{parted[1]}" if len(parted) > 1 else ""
    return RedirectResponse(f"{parted[0]}{sign}{urlencode({'said': said})}{anchor}", 303)


def write(request: Request, form: FormData, *drafts: Draft) -> tuple[str, ...]:
    """Entries by this desk's device, knowing what the form's page had shown, and no more.

    Raises DeskError where nobody said who they are, the page is stale, or an entry is not valid.
    """
    knows = str(form.get("knows", ""))
    if not knows:
        raise DeskError("the form came without what its page had shown; open the page again")
    return desk_of(request).service.write_all(drafts, by=by(request, form), knows=knows)


def by(request: Request, form: FormData) -> str:
    """Who makes a change. Raises DeskError where nobody was chosen."""
    name = str(form.get("by", "")).strip() or who(request)
    if name not in desk_of(request).store.edition().by_initials:
        raise DeskError('say first who you are: choose your initials under "At the desk"')
    return name


def text_of(form: FormData, name: str, *, needed: str = "") -> str:
    """A form's text field, trimmed. `needed` says what to ask for where it must not be empty."""
    value = form.get(name, "")
    text = "" if isinstance(value, UploadFile) else value.strip()
    if needed and not text:
        raise DeskError(f"{needed} is missing; fill it in")
    return text


def day_of(form: FormData, name: str, *, needed: str = "") -> str:
    """A form's date field as an ISO day, or "". Raises DeskError where it is no day."""
    text = text_of(form, name, needed=needed)
    try:
        return date.fromisoformat(text).isoformat() if text else ""
    except ValueError as error:
        raise DeskError(f"{text!r} is no day; write it as 2026-10-18") from error


def number_of(form: FormData, name: str) -> float | None:
    """A form's number field, or None where it is empty; a decimal comma will do."""
    text = text_of(form, name)
    try:
        return float(text.replace(",", ".")) if text else None
    except ValueError as error:
        raise DeskError(f"{text!r} is no number") from error
