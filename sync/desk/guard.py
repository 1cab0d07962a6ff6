"""Who may see the desk: this PC itself, by its own names, from its own pages; or a person with the password."""

import base64
import binascii
import hashlib
import hmac
import ipaddress
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import PlainTextResponse, Response
from starlette.types import ASGIApp, Message, Receive, Scope, Send

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
_ROUNDS = 200_000


@dataclass(frozen=True)
class Password:
    """A password as it is kept: salted PBKDF2-SHA-256."""

    salt: bytes
    digest: bytes

    @classmethod
    def made(cls, text: str, salt: bytes) -> "Password":
        return cls(salt, hashlib.pbkdf2_hmac("sha256", text.encode(), salt, _ROUNDS))

    def fits(self, text: str) -> bool:
        return hmac.compare_digest(self.digest, Password.made(text, self.salt).digest)


class Guard:
    """Refuses before any page is made; adds the desk's security headers to every answer.

    `names` are host names it answers to (DNS rebinding brings a foreign one); with a password it answers others than
    this PC too.
    """

    def __init__(
        self, app: ASGIApp, *, names: frozenset[str] = LOOPBACK_NAMES, password: Password | None = None
    ) -> None:
        self.app = app
        self.names = names
        self.password = password

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        refusal = self._refusal(Request(scope))
        await (refusal or self.app)(scope, receive, _with_headers(send))

    def _refusal(self, request: Request) -> Response | None:
        host = request.headers.get("host", "")
        if host_name(host) not in self.names:
            return PlainTextResponse("This desk does not answer under that name.\n", 421)
        if not _own_page(request):
            return PlainTextResponse("A change comes from the desk's own pages alone.\n", 403)
        if _is_loopback(request.client.host if request.client else ""):
            return None
        if self.password is None:
            return PlainTextResponse("The desk answers on the workshop PC alone.\n", 403)
        if self.password.fits(_given_password(request)):
            return None
        return PlainTextResponse("The desk's password, please.\n", 401, {"WWW-Authenticate": 'Basic realm="desk"'})


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


def _given_password(request: Request) -> str:
    kind, _, value = request.headers.get("authorization", "").partition(" ")
    if kind.lower() != "basic":
        return ""
    try:
        return base64.b64decode(value, validate=True).decode().partition(":")[2]
    except (binascii.Error, UnicodeDecodeError):
        return ""


def _with_headers(send: Send) -> Send:
    extra = [(name.lower().encode(), value.encode()) for name, value in HEADERS.items()]

    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            given = list(message.get("headers", []))
            present = {name for name, _ in given}
            message["headers"] = given + [pair for pair in extra if pair[0] not in present]
        await send(message)

    return sending
