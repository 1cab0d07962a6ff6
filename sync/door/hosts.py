"""Which names this door answers to, and which pages may use it: a stranger's page cannot reach it by a name of its own.

DNS rebinding brings a foreign Host; a page of another site brings a foreign Origin. Both are refused before anything
is read. The fleet files list the static hosts whose app may come in (with a token, never with cookies).
"""

from collections.abc import Iterable
from dataclasses import dataclass
from urllib.parse import urlsplit

from starlette.middleware.cors import CORSMiddleware
from starlette.requests import Request
from starlette.types import ASGIApp, Receive, Scope, Send

from sync.door.answers import refusal


@dataclass
class Hosts:
    """The names and addresses that the certificate is for, as they are now; `origins` are the fleet files'.

    `scheme` is "http" where a PC shows itself the app without a certificate, on loopback alone.
    """

    names: frozenset[str]
    origins: frozenset[str] = frozenset()
    scheme: str = "https"
    port: int = 0  # the door's own; another program of this PC is not this door

    def answers_to(self, host: str) -> bool:
        return self._is_ours(_name(host))

    def is_own(self, origin: str) -> bool:
        """Whether a page was loaded from this door, by any of its names."""
        scheme, _, host = origin.partition("://")
        return scheme == self.scheme and self._is_ours(_name(host)) and _port(host, scheme) == self.port

    def allows(self, origin: str) -> bool:
        return origin in self.origins or self.is_own(origin)

    def _is_ours(self, name: str) -> bool:
        """By name, or by a certificate for every name of a domain ("*.example.org")."""
        return bool(name) and (name in self.names or f"*.{name.partition('.')[2]}" in self.names)


class HostGuard:
    """Refuses a foreign Host or Origin before anything else."""

    def __init__(self, app: ASGIApp, hosts: Hosts) -> None:
        self.app = app
        self.hosts = hosts

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        headers = Request(scope).headers
        origin = headers.get("origin")
        if not self.hosts.answers_to(headers.get("host", "")):
            words = "this door does not answer under that name; open it by the address that the workshop PC shows"
            await refusal(421, words)(scope, receive, send)
        elif origin is not None and not self.hosts.allows(origin):
            words = "this door takes nothing from that page's address; list it in fleet.toml under [door] origins"
            await refusal(403, words)(scope, receive, send)
        else:
            await self.app(scope, receive, send)


class OwnAndListed(CORSMiddleware):
    """Answers browsers' questions before a request across origins: our own names, and those the fleet files list."""

    def __init__(self, app: ASGIApp, hosts: Hosts) -> None:
        super().__init__(
            app,
            allow_methods=("GET", "POST", "PUT"),
            allow_headers=("Authorization", "Content-Type", "If-None-Match"),
            allow_credentials=False,
            allow_private_network=True,
            expose_headers=("ETag",),
        )
        self.hosts = hosts

    def is_allowed_origin(self, origin: str) -> bool:
        return self.hosts.allows(origin)


def names_of(some: Iterable[str]) -> frozenset[str]:
    return frozenset(name.lower() for name in some)


def _port(host: str, scheme: str) -> int:
    port = host.rpartition(":")[2]
    return int(port) if port.isdecimal() and len(port) < 6 else {"https": 443, "http": 80}.get(scheme, 0)


def _name(host: str) -> str:
    """A Host header without its port; "" for what is no host."""
    if "@" in host or "/" in host:
        return ""
    try:
        return urlsplit(f"//{host}").hostname or ""
    except ValueError:
        return ""
