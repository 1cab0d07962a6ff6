"""The desk's page of phones: codes to let them in, who is at the door now, and the list of those that may come."""

from dataclasses import dataclass

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from sync.desk.page import back, by, posted, render, text_of
from sync.door.app import Door
from sync.errors import DeskError
from sync.pages import environment
from sync.pairing import Code, shown
from sync.service import Draft

_NAME_MOST = 100


@dataclass(frozen=True)
class Address:
    """Where phones open the app."""

    app: str

    def pairing(self, code: str) -> str:
        """What a phone scans: the code stands after the #, which no server is ever sent and no log ever holds."""
        return f"{self.app}#/pair/{code}"


@dataclass(frozen=True)
class Shown:
    """One open code as the page shows it; `scan` is what its QR symbol says."""

    text: str
    until: str
    desk: bool
    scan: str


@dataclass(frozen=True)
class Listed:
    """One device; `paired` is since when, "" where it came by file alone."""

    device: str
    name: str
    desk: bool
    paired: str
    last_seen: str
    entries: int
    missing: tuple[tuple[int, int], ...]
    offset_s: float | None


@dataclass(frozen=True)
class Phones:
    """`trust` is the plain page's address, "" where the certificate needs no trusting; `lines` is the fingerprint's."""

    door: Door
    address: Address
    trust: str
    lines: tuple[str, ...]

    def listed(self) -> tuple[Listed, ...]:
        """Every device but this desk: those whose token is good first, each by its name."""
        store = self.door.service.store
        good = {token.device: token for token in store.tokens() if not token.revoked}
        known = {row.device: row for row in store.devices() if not row.own}
        found = []
        for device in good.keys() | known.keys():
            token, seen = good.get(device), known.get(device)
            found.append(
                Listed(
                    device=device,
                    name=token.name if token else seen.name if seen else "",
                    desk=token.desk if token else bool(seen and seen.desk),
                    paired=token.made if token else "",
                    last_seen=seen.last_seen if seen else "",
                    entries=seen.entries if seen else 0,
                    missing=seen.missing if seen else (),
                    offset_s=seen.offset_s if seen else None,
                )
            )
        return tuple(sorted(found, key=lambda one: (not one.paired, one.name, one.device)))

    def codes(self) -> tuple[Shown, ...]:
        return tuple(self._shown(code) for code in self.door.paired.pairing.open())

    def _shown(self, code: Code) -> Shown:
        return Shown(shown(code.text), f"{code.until:%H:%M}", code.desk, self.address.pairing(code.text))


def phones_routes(phones: Phones) -> list[Route]:
    """The page's routes, for the desk to hold beside its own."""

    def page(request: Request) -> Response:
        given = {
            "app_address": phones.address.app,
            "trust_address": phones.trust,
            "fingerprint": phones.lines,
            "devices": phones.listed(),
            **_live(phones),
        }
        return render(request, "phones.html", given)

    def live(request: Request) -> Response:  # noqa: ARG001 a handler's signature
        return HTMLResponse(environment().get_template("desk/phones_live.html").render(_live(phones)))

    def code(request: Request, form: FormData) -> Response:  # noqa: ARG001 as above
        made = phones.door.paired.pairing.new_code(desk=form.get("for") == "desk")
        return back("/phones", f"A code is open until {made.until:%H:%M}.")

    def rename(request: Request, form: FormData) -> Response:
        device, name = text_of(form, "device"), text_of(form, "name", needed="The name")[:_NAME_MOST]
        _renamed(phones.door, device, name, by(request, form))
        return back("/phones", f"{device} is now called {name}.")

    def revoke(request: Request, form: FormData) -> Response:
        device = text_of(form, "device")
        _revoked(phones.door, device, by(request, form))
        return back("/phones", f"{device} is off the list. What it handed in stays.")

    return [
        Route("/phones", page, methods=["GET"]),
        Route("/phones/live", live, methods=["GET"]),
        Route("/phones/code", posted(code), methods=["POST"]),
        Route("/phones/rename", posted(rename), methods=["POST"]),
        Route("/phones/revoke", posted(revoke), methods=["POST"]),
    ]


def _live(phones: Phones) -> dict[str, object]:
    return {"codes": phones.codes(), "visits": phones.door.visits.latest()}


def _renamed(door: Door, device: str, name: str, who: str) -> None:
    """Here at once, and as a ruling, which other desks get too."""
    _refuse_unknown(door, device)
    door.service.write(Draft("ruling", {"about": device, "set": {"name": name}}), by=who)
    door.service.store.rename(device, name)
    door.paired.forget()


def _revoked(door: Door, device: str, who: str) -> None:
    """The token is worth nothing from here on; what the device handed in stays."""
    _refuse_unknown(door, device)
    door.paired.revoke(device)
    reason = {"reason": "taken off the list at the desk"}
    door.service.write(Draft("ruling", {"about": device, "set": {"revoked": reason}}), by=who)


def _refuse_unknown(door: Door, device: str) -> None:
    if all(token.device != device for token in door.service.store.tokens()):
        raise DeskError(f"no device {device!r} is paired here; open the page again")
