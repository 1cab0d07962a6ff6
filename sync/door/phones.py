"""The desk's page of phones: codes to let them in, who is at the door now, and the list of those that may come."""

from dataclasses import dataclass

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, RedirectResponse, Response
from starlette.routing import Route

from sync.desk.guard import Guard
from sync.door.app import Door
from sync.door.trust import file_route, style_routes
from sync.errors import DeskError
from sync.pages import environment
from sync.pairing import shown
from sync.service import Draft

WHO_COOKIE = "desk-by"
_NAME_MOST = 100


@dataclass(frozen=True)
class Address:
    """Where phones open the app."""

    app: str

    def pairing(self, code: str) -> str:
        """What a phone scans: the code stands after the #, which no server is ever sent and no log ever holds."""
        return f"{self.app}#/pair/{code}"


@dataclass(frozen=True)
class Entry:
    """One paired device, as the list shows it."""

    device: str
    name: str
    desk: bool
    made: str
    last_seen: str
    entries: int
    missing: tuple[tuple[int, int], ...]
    offset_s: float | None


@dataclass(frozen=True)
class Phones:
    door: Door
    address: Address
    trust: str

    def paired(self) -> tuple[Entry, ...]:
        """Devices whose token is good, by name."""
        store = self.door.service.store
        known = {row.device: row for row in store.devices()}
        found: dict[str, Entry] = {}
        for token in store.tokens():
            if token.revoked:
                continue
            seen = known.get(token.device)
            found[token.device] = Entry(
                token.device, token.name, token.desk, token.made, seen.last_seen if seen else "",
                seen.entries if seen else 0, seen.missing if seen else (), seen.offset_s if seen else None,
            )  # fmt: skip
        return tuple(sorted(found.values(), key=lambda entry: (entry.name, entry.device)))

    def codes(self) -> list[dict[str, object]]:
        return [
            {
                "text": shown(code.text),
                "until": f"{code.until:%H:%M}",
                "desk": code.desk,
                "scan": self.address.pairing(code.text),
            }
            for code in self.door.paired.pairing.open()
        ]


def phones_routes(phones: Phones) -> list[Route]:
    """The page's routes, for the desk to hold beside its own."""

    async def page(request: Request) -> Response:  # noqa: ARG001 a handler's signature
        values = {
            "fleet": phones.door.service.store.edition().name,
            "app_address": phones.address.app,
            "trust_address": phones.trust,
            "phones": await phones.door.threads.read(phones.paired),
            **_live(phones),
        }
        return HTMLResponse(environment().get_template("door/phones.html").render(values))

    async def live(request: Request) -> Response:  # noqa: ARG001 a handler's signature
        return HTMLResponse(environment().get_template("door/live.html").render(_live(phones)))

    async def code(request: Request) -> Response:
        form = await request.form()
        phones.door.paired.pairing.new_code(desk=form.get("for") == "desk")
        return _back()

    async def rename(request: Request) -> Response:
        form = await request.form()
        device, name = str(form.get("device", "")), str(form.get("name", "")).strip()[:_NAME_MOST]
        if not name:
            raise DeskError("the name is missing; fill it in")
        await phones.door.threads.write(lambda: _renamed(phones.door, device, name, _who(request)))
        return _back()

    async def revoke(request: Request) -> Response:
        device = str((await request.form()).get("device", ""))
        await phones.door.threads.write(lambda: _revoked(phones.door, device, _who(request)))
        return _back()

    return [
        Route("/phones", page, methods=["GET"]),
        Route("/phones/live", live, methods=["GET"]),
        Route("/phones/code", code, methods=["POST"]),
        Route("/phones/rename", rename, methods=["POST"]),
        Route("/phones/revoke", revoke, methods=["POST"]),
        file_route("/phones/live.js", "door/live.js", "text/javascript"),
        *style_routes("/phones/"),
    ]


def phones_app(door: Door, address: Address, trust: str) -> Starlette:
    """The page alone, where no desk is served beside it."""

    async def first(request: Request) -> Response:  # noqa: ARG001 a handler's signature
        return RedirectResponse("/phones", 303)

    return Starlette(
        routes=[Route("/", first), *phones_routes(Phones(door, address, trust))],
        middleware=[Middleware(Guard)],
        exception_handlers={DeskError: _told},
    )


def _live(phones: Phones) -> dict[str, object]:
    return {"codes": phones.codes(), "visits": phones.door.visits.latest()}


def _renamed(door: Door, device: str, name: str, by: str) -> None:
    """Here at once, and as a ruling, which other desks get too."""
    _refuse_unknown(door, device)
    door.service.write(Draft("ruling", {"about": device, "set": {"name": name}}), by=by)
    door.service.store.rename(device, name)
    door.paired.forget()


def _revoked(door: Door, device: str, by: str) -> None:
    """The token is worth nothing from here on; what the device handed in stays."""
    _refuse_unknown(door, device)
    door.paired.revoke(device)
    reason = {"reason": "taken off the list at the desk"}
    door.service.write(Draft("ruling", {"about": device, "set": {"revoked": reason}}), by=by)


def _refuse_unknown(door: Door, device: str) -> None:
    if all(token.device != device for token in door.service.store.tokens()):
        raise DeskError(f"no device {device!r} is paired here; open the page again")


def _who(request: Request) -> str:
    return request.cookies.get(WHO_COOKIE, "")[:20] or "desk"


def _back() -> Response:
    return RedirectResponse("/phones", 303)


async def _told(request: Request, error: Exception) -> Response:  # noqa: ARG001 a handler's signature
    page = environment().get_template("door/refused.html").render(words=str(error))
    return HTMLResponse(page, 422)
