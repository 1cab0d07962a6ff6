"""Take in: hand-in files dropped on the page; phones seen; lines set aside, and what to do about each."""

from collections.abc import Iterator
from typing import IO, NamedTuple

from starlette.datastructures import FormData, UploadFile
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sync.desk import may
from sync.desk.asked import Asked
from sync.desk.page import Desk, Paged, desk_of, kept_query, page_number, posted, render
from sync.errors import DeskError
from sync.service_take import Receipt

_PIECE = 1024 * 1024
BATCHES_SHOWN = 30
ASIDE_A_PAGE = 50
_AGAIN = "Damaged on its way. Send the hand-in from that phone once more: what is here is not counted twice."
#: What a person can do about a line that was set aside, by its code.
WHAT_TO_DO = {
    "json": _AGAIN,
    "end": _AGAIN,
    "format": "A later version's line. Update Driptray here; it is read again then.",
    "fields": "Something wrote it that is no phone of this version. Look at the line; nothing of it counts.",
    "severity": "A defect without a severity. Look at the vehicle, and write the finding at the desk.",
    "desk kind": "Rulings and work count only from a desk. If it is your other workshop PC, pair the two.",
    "device": "Lines of another phone in this hand-in. Take in that phone's own.",
    "head": "The first line is lost. Send the hand-in from that phone once more.",
    "size": "Longer than an entry may be. Look at the line; write what matters at the desk.",
    "hash": "Another PC handed it on changed. Take it in from the phone itself.",
    "photo": "The photo came damaged. Send it from that phone once more.",
}
ELSE = "Keep it; nothing is lost. Look at the line, and write what matters at the desk."


class AsideKind(NamedTuple):
    code: str
    lines: int
    todo: str


def _todo(code: str) -> str:
    return WHAT_TO_DO.get("format" if code.startswith("format ") else code, ELSE)


def show(request: Request) -> Response:
    return render(request, "take_in.html", _given(request, desk_of(request), ()))


def take(request: Request, form: FormData) -> Response:
    """The files of one form, in one transaction. The answer says what became of each."""
    desk = desk_of(request)
    files = [file for file in form.getlist("files") if isinstance(file, UploadFile) and file.filename]
    if not files:
        raise DeskError("no file is chosen; choose the hand-in files that the phones saved")
    receipts = desk.service.take_in_all([(file.filename or "file", _pieces(file.file)) for file in files])
    return render(request, "take_in.html", _given(request, desk, receipts))


def give_up(request: Request, form: FormData) -> Response:
    """A lead says that what is missing of a phone will never come, so that what came after it can be known."""
    asked = Asked.of(request, form)
    may.refuse_unless_lead(asked.edition, asked.by, "giving up what is missing of a phone")
    device, reason = asked.text("device", "The phone"), asked.text("reason", "The reason")
    missing = asked.desk.service.give_up(device, reason=reason, by=asked.by)
    noun = "gap" if len(missing) == 1 else "gaps"
    return asked.back("/take-in", f"Given up: {len(missing)} {noun} of {device}." if missing else "Nothing is missing.")


def _given(request: Request, desk: Desk, receipts: tuple[Receipt, ...]) -> dict[str, object]:
    store = desk.store
    counts = store.aside_counts()
    total, number = sum(counts.values()), page_number(request.query_params)
    some = store.set_aside(number * ASIDE_A_PAGE)[(number - 1) * ASIDE_A_PAGE :]
    return {
        "receipts": receipts,
        "conflicts": len(store.conflicts()) if receipts else 0,
        "batches": store.batches(BATCHES_SHOWN),
        "devices": [device for device in store.devices() if not device.own],
        "wanted": store.wanted_by_device(),
        "page": Paged(some, total, number, max(1, -(-total // ASIDE_A_PAGE)), kept_query(request)),
        "kinds": [AsideKind(code, count, _todo(code)) for code, count in counts.items()],
        "todo": _todo,
        "to_place": len(store.to_place()),
        "clones": store.clones(),
        "names": store.device_names(),
    }


def _pieces(file: IO[bytes]) -> Iterator[bytes]:
    while piece := file.read(_PIECE):
        yield piece


ROUTES = [
    Route("/take-in", show),
    Route("/take-in", posted(take), methods=["POST"]),
    Route("/take-in/give-up", posted(give_up), methods=["POST"]),
]
