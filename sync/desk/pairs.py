"""Perhaps the same: open defects of one vehicle that may be one, side by side; a person joins or parts them."""

from typing import NamedTuple

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sync.desk.asked import Asked, filled
from sync.desk.page import Paged, desk_of, page_number, posted, render
from sync.desk.words import photos_here
from sync.errors import DeskError
from sync.paper import words
from sync.service import Draft
from sync.state import Defect, Pair
from sync.store import Store

PER_PAGE = 20
SAID_SHOWN = 50


class Two(NamedTuple):
    pair: Pair
    first: Defect
    second: Defect

    @property
    def both(self) -> tuple[Defect, Defect]:
        return (self.first, self.second)


def show(request: Request) -> Response:
    desk = desk_of(request)
    store, vehicle = desk.store, request.query_params.get("vehicle", "")
    number = page_number(request.query_params)
    found = store.pair_page(vehicle, None, PER_PAGE, (number - 1) * PER_PAGE)
    offered = [_two(store, pair) for pair in found.rows]
    joined, parted = (store.pair_page(vehicle, said, SAID_SHOWN) for said in (True, False))
    given = {
        "page": Paged.of(request, found, number, PER_PAGE),
        "offered": offered,
        "joined": [_two(store, pair) for pair in joined.rows],
        "parted": [_two(store, pair) for pair in parted.rows],
        "joined_count": joined.total,
        "parted_count": parted.total,
        "come": photos_here(store, (photo for two in offered for one in two.both for photo in one.photos)),
        "vehicles": {view.id: view.name for view in store.edition().by_vehicle.values()},
        "words": words,
    }
    return render(request, "pairs.html", given)


def say(request: Request, form: FormData) -> Response:
    """They are one, or they are two."""
    asked = Asked.of(request, form)
    first, second = (asked.desk.store.defect(asked.text(name, "A defect")) for name in ("first", "second"))
    if first.opening == second.opening:
        raise DeskError(f"{first.code} and {second.code} are one line already")
    if first.vehicle != second.vehicle:
        raise DeskError(f"{first.code} and {second.code} are on two vehicles; only defects of one can be the same")
    answer = asked.text("joined")
    if answer not in ("yes", "no"):
        raise DeskError("say whether they are one, or two")
    of = sorted((first.opening, second.opening))
    asked.write(Draft("same", {"of": of, "joined": answer == "yes", **filled({"reason": asked.text("reason")})}))
    return asked.back("/perhaps-the-same", "Joined." if answer == "yes" else "Parted.")


def _two(store: Store, pair: Pair) -> Two:
    return Two(pair, store.defect(pair.first), store.defect(pair.second))


ROUTES = [Route("/perhaps-the-same", show), Route("/perhaps-the-same", posted(say), methods=["POST"])]
