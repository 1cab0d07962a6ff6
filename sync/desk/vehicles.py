"""Vehicles: the fleet as a board, and each vehicle whole."""

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sync.desk.page import desk_of, render


def show(request: Request) -> Response:
    desk = desk_of(request)
    return render(request, "vehicles.html", {"standing": desk.store.standing(desk.today())})


ROUTES = [Route("/vehicles", show)]
