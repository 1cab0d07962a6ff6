"""Conflicts: both sides whole, side by side, what stands meanwhile, and a person's word that ends it."""

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from builder.edition import Edition
from builder.fleet import SEVERITIES
from sync.desk.asked import Asked, filled
from sync.desk.history import voided
from sync.desk.page import Paged, desk_of, page_number, posted, render
from sync.desk.words import photos_here, subject_words
from sync.entries import Settle, read_entry
from sync.errors import DeskError
from sync.service import Draft
from sync.state import Conflict
from sync.store import Store

PER_PAGE = 25
SETTLED_SHOWN = 12
NEITHER = "neither"


def show(request: Request) -> Response:
    desk = desk_of(request)
    store, edition = desk.store, desk.store.edition()
    vehicle = request.query_params.get("vehicle", "")
    number = page_number(request.query_params)
    page = Paged.of(request, store.conflict_page(vehicle, PER_PAGE, (number - 1) * PER_PAGE), number, PER_PAGE)
    counts = store.conflict_counts(vehicle)
    given = {
        "page": page,
        "open": counts[0],
        "changed": counts[1],
        "clocks": {c.device: c for c in store.clocks() if c.flagged},
        "names": store.device_names(),
        "vehicles": {view.id: view.name for view in edition.by_vehicle.values()},
        "come": photos_here(store, (p for c in page.rows for side in c.sides for p in side.photos)),
        "codes": {c.id: store.defect(c.defect).code for c in page.rows if c.defect},
        "subject": lambda conflict: subject_words(edition, conflict),
        "units": {c.id: unit_of(edition, c) for c in page.rows},
        "severities": SEVERITIES,
        "vehicle": vehicle,
        "settled": settled(store),
    }
    return render(request, "conflicts.html", given)


def unit_of(edition: Edition, conflict: Conflict) -> str:
    """The unit in which its check is measured; "" where nothing is."""
    view = edition.by_vehicle.get(conflict.vehicle)
    check = view.checks.get(conflict.check) if view else None
    return check.reading.unit if check and check.reading else ""


def settled(store: Store) -> list[tuple[Settle, str]]:
    """The latest settlements, newest first, each with what took it back, or ""."""
    said = [read_entry(row.body) for row in store.latest("settle", SETTLED_SHOWN)]
    voids = voided(store, [entry.id for entry in said])
    return [
        (entry, f"{voids[entry.id].by}: {voids[entry.id].reason}" if entry.id in voids else "")
        for entry in said
        if isinstance(entry, Settle)
    ]


def settle(request: Request, form: FormData) -> Response:
    """One choice, or what it is instead, and a reason; taking it back is another entry."""
    asked = Asked.of(request, form)
    conflict = asked.desk.store.conflict(str(request.path_params["conflict"]))
    choose = asked.text("choose")
    if not choose:
        raise DeskError("no side is chosen; choose the one that is right, or say what it is instead")
    reason = asked.text("reason", "The reason")
    if choose == NEITHER:
        asked.write(Draft("settle", {**_instead(asked, conflict), "reason": reason}))
    else:
        asked.desk.service.settle(conflict.id, choose=choose, reason=reason, by=asked.by, knows=asked.text("knows"))
    still = next((c for c in asked.desk.store.conflicts(conflict.vehicle) if c.id == conflict.id), None)
    if still is not None:
        return asked.back("/conflicts", f"Written, but it stays open: {still.why}.")
    return asked.back("/conflicts", "Settled. Both sides stay readable, with your reason.")


def _instead(asked: Asked, conflict: Conflict) -> dict[str, object]:
    """What neither side said. Raises DeskError for what is no finding."""
    if conflict.kind == "field":
        raise DeskError("this is about a ruling or work: choose a side, or rule anew at the thing itself")
    result, severity, value = asked.text("result"), asked.text("severity"), asked.number("value")
    if result not in ("sound", "defect"):
        raise DeskError("say whether it is sound or a defect")
    if result == "defect" and severity not in SEVERITIES:
        raise DeskError(f"a defect has a severity: one of {', '.join(SEVERITIES)}")
    subject = {name: getattr(conflict, name) for name in ("vehicle", "check", "spot", "fault")}
    unit = asked.line("unit")
    if value is not None and not unit:
        raise DeskError("the reading has no unit; fill it in")
    return filled({
        **subject,
        "result": result,
        "severity": severity if result == "defect" else "",
        "reading": {"value": value, "unit": unit} if value is not None else None,
    })  # fmt: skip


ROUTES = [Route("/conflicts", show), Route("/conflicts/{conflict}", posted(settle), methods=["POST"])]
