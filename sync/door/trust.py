"""The plain page: the workshop's certificate authority, its fingerprint, and how a phone is told to trust it.

It is plain http, for a phone that trusts nothing yet could open nothing else; so whoever reads it is asked to compare
the fingerprint with the PC's own screen. Nothing else is served here, and nothing is taken.
"""

from pathlib import Path

from starlette.applications import Starlette
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route

from sync.certificates import Served, as_der
from sync.door.answers import Careful
from sync.door.hosts import HostGuard, Hosts
from sync.door.limits import Limits
from sync.pages import TEMPLATES, environment

POLICY = (
    "default-src 'none'; style-src 'self'; img-src data:; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
_STYLES = {"door.css": "door/door.css", "tokens.css": "app/css/tokens.css"}


def trust_app(authority: Path, fingerprint: str, fleet: str, app_address: str, hosts: Hosts) -> Starlette:
    """The page, the certificate in the form that phones install, and the page's styles."""
    certificate = as_der(authority)
    values = {"fleet": fleet, "fingerprint": pairs(fingerprint), "app_address": app_address}

    async def page(request: Request) -> Response:  # noqa: ARG001 a handler's signature
        shown = environment().get_template("door/trust.html").render(values)
        return HTMLResponse(shown, headers={"Content-Security-Policy": POLICY})

    async def authority_file(request: Request) -> Response:  # noqa: ARG001 as above
        return Response(certificate, media_type="application/x-x509-ca-cert")

    return Starlette(
        routes=[
            Route("/", page, methods=["GET"]),
            Route("/workshop.crt", authority_file, methods=["GET"]),
            *style_routes("/"),
        ],
        middleware=[Middleware(Careful, limits=Limits()), Middleware(HostGuard, hosts=hosts)],
    )


def authority_routes(served: Served | None) -> list[Route]:
    """The authority for another workshop PC, which compares its fingerprint before it believes a word."""
    if served is None or served.authority is None:
        return []
    body = served.authority.read_bytes()

    async def authority(request: Request) -> Response:  # noqa: ARG001 a handler's signature
        return Response(body, media_type="application/x-pem-file")

    return [Route("/door/authority", authority, methods=["GET"])]


def style_routes(under: str) -> list[Route]:
    """The styles of the door's own pages."""
    return [file_route(f"{under}{name}", path, "text/css") for name, path in _STYLES.items()]


def pairs(fingerprint: str) -> tuple[str, ...]:
    """A fingerprint in four lines of eight pairs, to be compared by eye."""
    parts = fingerprint.split(" ")
    return tuple(" ".join(parts[start : start + 8]) for start in range(0, len(parts), 8))


def file_route(address: str, path: str, kind: str) -> Route:
    """One file of the templates, served as it stands."""
    body = (TEMPLATES / path).read_bytes()

    async def serve(request: Request) -> Response:  # noqa: ARG001 a handler's signature
        return Response(body, media_type=f"{kind}; charset=utf-8")

    return Route(address, serve, methods=["GET"])
