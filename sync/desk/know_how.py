"""Know-how: notes per vehicle, access step and fault, with who said it."""

from typing import NamedTuple

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sync.desk.asked import Asked
from sync.desk.page import Desk, desk_of, posted, render
from sync.desk.vehicle_changes import know_how
from sync.desk.vehicles import about_words
from sync.entries import Ruling, read_entry


class Note(NamedTuple):
    vehicle: str
    vehicle_name: str
    about: str  # in words; "" for the whole vehicle
    by: str
    text: str
    entry: str  # of the ruling, to take it back


def show(request: Request) -> Response:
    desk = desk_of(request)
    asked = request.query_params.get("search", "").strip()
    vehicle = request.query_params.get("vehicle", "")
    views = desk.store.edition().by_vehicle
    notes = [note for note in notes_of(desk) if _wanted(note, asked, vehicle)]
    by_vehicle: dict[str, list[Note]] = {}
    for note in notes:
        by_vehicle.setdefault(note.vehicle_name, []).append(note)
    given = {"by_vehicle": by_vehicle, "search": asked, "vehicle": vehicle, "views": views}
    return render(request, "know_how.html", given)


def notes_of(desk: Desk) -> list[Note]:
    """Every note that stands, by vehicle."""
    views, found = desk.store.edition().by_vehicle, []
    rulings = [one for one in desk.store.all_rulings() if one.know_how]
    entries = _entries(desk, [about for one in rulings for about, _, _ in one.know_how])
    for one in rulings:
        view = views.get(one.vehicle)
        for about, by, text in one.know_how:
            words = about_words(view, about) if view else about
            found.append(
                Note(
                    one.vehicle, view.name if view else one.vehicle, words, by, text, entries.get((about, by, text), "")
                )
            )
    return found


def _entries(desk: Desk, abouts: list[str]) -> dict[tuple[str, str, str], str]:
    """(about, by, text) -> the id of the ruling that says it."""
    said = (read_entry(row.body) for row in desk.store.said_about(abouts))
    return {
        (one.about, one.by, one.set.know_how): one.id
        for one in said
        if isinstance(one, Ruling) and isinstance(one.set.know_how, str)
    }


def _wanted(note: Note, search: str, vehicle: str) -> bool:
    if vehicle and note.vehicle != vehicle:
        return False
    return all(word in f"{note.vehicle_name} {note.about} {note.text}".casefold() for word in search.casefold().split())


def keep(request: Request, form: FormData) -> Response:
    asked = Asked.of(request, form)
    return asked.back("/know-how", know_how(asked, asked.view(asked.text("vehicle", "The vehicle"))))


ROUTES = [Route("/know-how", show), Route("/know-how", posted(keep), methods=["POST"])]
