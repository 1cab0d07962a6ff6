"""Conflicts: both sides whole, side by side, what stands meanwhile, and a person's word that ends it."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from builder.fleet import SEVERITIES
from sync.desk.page import back, by, desk_of, render, text_of
from sync.desk.words import subject_words
from sync.errors import DeskError


def show(request: Request) -> Response:
    desk = desk_of(request)
    store, edition = desk.store, desk.store.edition()
    vehicle = request.query_params.get("vehicle", "")
    found = store.conflicts(vehicle)
    given = {
        "open": [c for c in found if c.kind != "changed"],
        "changed": [c for c in found if c.kind == "changed"],
        "clocks": {c.device: c for c in store.clocks() if c.flagged},
        "names": {d.device: d.name for d in store.devices()},
        "codes": {c.id: store.defect(c.defect).code for c in found if c.defect},
        "subject": lambda conflict: subject_words(edition, conflict),
        "severities": SEVERITIES,
        "vehicle": vehicle,
    }
    return render(request, "conflicts.html", given)


async def settle(request: Request) -> Response:
    """One choice and a reason; taking it back is another settlement."""
    async with request.form() as form:
        choose = text_of(form, "choose")
        if not choose:
            raise DeskError("no side is chosen; choose the one that is right")
        reason = text_of(form, "reason", needed="The reason")
        conflict = str(request.path_params["conflict"])
        desk_of(request).service.settle(
            conflict, choose=choose, reason=reason, by=by(request, form), knows=text_of(form, "knows")
        )
    return back("/conflicts", "Settled. Both sides stay readable, with your reason.")


ROUTES = [Route("/conflicts", show), Route("/conflicts/{conflict}", settle, methods=["POST"])]
