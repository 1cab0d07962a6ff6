"""Who may see the desk: this PC itself, by its own names, from its own pages; others with a password, by its gate."""

import ipaddress
from collections.abc import Callable

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from sync.desk.gate import ENTER, LEAVE, OPEN, Gate

#: Scripts and styles are files of ours; nothing is fetched from elsewhere, nothing frames us, forms stay here.
POLICY = (
    "default-src 'none'; style-src 'self'; script-src 'self'; img-src 'self' data:; font-src 'self'; "
    "connect-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
HEADERS = {
    "Content-Security-Policy": POLICY,
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Cache-Control": "no-store",
}
LOOPBACK_NAMES = frozenset({"localhost", "127.0.0.1", "[::1]"})


def loopback_names() -> frozenset[str]:
    return LOOPBACK_NAMES


class Guard:
    """Refuses before any page is made; adds the desk's security headers to every answer.

    `names` gives the host names it answers to (DNS rebinding brings a foreign one). Without a `gate` it answers this PC
    alone; with one it answers whoever has come through it, and this PC is no exception.
    """

    def __init__(
        self, app: ASGIApp, *, names: Callable[[], frozenset[str]] = loopback_names, gate: Gate | None = None
    ) -> None:
        self.app = app
        self.names = names
        self.gate = gate

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        request = Request(scope, receive)
        answer = self._refusal(request) or await self._at_the_gate(request)
        await (answer or self.app)(scope, receive, _with_headers(send))

    def _refusal(self, request: Request) -> Response | None:
        host = request.headers.get("host", "")
        if host_name(host) not in self.names():
            return PlainTextResponse("This desk does not answer under that name.\n", 421)
        if not _own_page(request):
            return PlainTextResponse("A change comes from the desk's own pages alone.\n", 403)
        if self.gate is None and not _is_loopback(request.client.host if request.client else ""):
            return PlainTextResponse("The desk answers on the workshop PC alone.\n", 403)
        return None

    async def _at_the_gate(self, request: Request) -> Response | None:
        gate, path = self.gate, request.url.path
        if gate is None or path.startswith(OPEN):
            return None
        if path == ENTER:
            return await gate.enter(request)
        if not gate.lets_in(request):
            return gate.turned_away(request)
        if path == LEAVE and request.method == "POST":
            return gate.leave(request)
        request.state.leaves = True  # the frame shows the way out
        return None


def host_name(host: str) -> str:
    """A Host header without its port."""
    return (host.rpartition(":")[0] if host.rpartition(":")[2].isdigit() and ":" in host else host).lower()


def _own_page(request: Request) -> bool:
    """Whether what asks for a change is one of our pages: by Sec-Fetch-Site, else by Origin."""
    if request.method in {"GET", "HEAD", "OPTIONS"}:
        return True
    site = request.headers.get("sec-fetch-site")
    if site is not None:
        return site in {"same-origin", "none"}
    origin = request.headers.get("origin")
    return origin is None or origin == f"{request.url.scheme}://{request.headers.get('host', '')}"


def _is_loopback(address: str) -> bool:
    try:
        return ipaddress.ip_address(address).is_loopback
    except ValueError:
        return False


def _with_headers(send: Send) -> Send:
    extra = [(name.lower().encode(), value.encode()) for name, value in HEADERS.items()]

    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            given = list(message.get("headers", []))
            present = {name for name, _ in given}
            message["headers"] = given + [pair for pair in extra if pair[0] not in present]
        await send(message)

    return sending
