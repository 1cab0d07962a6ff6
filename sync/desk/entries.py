"""One entry taken back by a lead, or what names or shows a person taken out of it."""

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sync.desk import may
from sync.desk.asked import Asked, ruling
from sync.desk.page import posted
from sync.entries import AnyEntry, read_entry
from sync.errors import DeskError, NotHereError
from sync.fold.redacting import may_redact
from sync.service import Draft


def void(request: Request, form: FormData) -> Response:
    """As if never said, with a reason; both stay in the log. Ticked to take back, it counts again."""
    asked = Asked.of(request, form)
    entry = _entry(asked, request.path_params["entry"])
    may.refuse_unless_lead(asked.edition, asked.by, "taking back what somebody else said")
    value = None if asked.ticked("take_back") else {"reason": asked.text("reason", "The reason")}
    asked.write(ruling(entry.id, getattr(entry, "vehicle", None) or asked.text("vehicle"), void=value))
    return asked.back("/", "It counts again." if value is None else f"What {entry.by} said is taken back.")


def redact(request: Request, form: FormData) -> Response:
    """Words, a name or a photo out of an entry, for good: the bytes go from this PC's disk."""
    asked = Asked.of(request, form)
    entry = _entry(asked, request.path_params["entry"])
    may.refuse_unless_lead(asked.edition, asked.by, "taking a name or a photo out for good")
    fields = [name for name in asked.every("field") if may_redact(entry, name)]
    photos = [photo for photo in asked.every("photo") if photo in getattr(entry, "photos", [])]
    if not fields and not photos:
        raise DeskError("nothing is ticked; tick what is to go for good")
    reason = asked.text("reason", "The reason")
    asked.write(Draft("redact", {"entry": entry.id, "fields": fields, "photos": photos, "reason": reason}))
    return asked.back("/", "Taken out for good. The entry itself stays, and so does what it decided.")


def _entry(asked: Asked, entry_id: str) -> AnyEntry:
    rows = asked.desk.store.entry(entry_id)
    if not rows:
        raise NotHereError(f"there is no entry {entry_id!r} in this backlog")
    entry: AnyEntry = read_entry(rows[0].body)
    return entry


ROUTES = [
    Route("/entry/{entry}/void", posted(void), methods=["POST"]),
    Route("/entry/{entry}/redact", posted(redact), methods=["POST"]),
]
