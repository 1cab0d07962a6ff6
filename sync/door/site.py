"""The phone app's files, served from memory by their exact names: a path that is none of them leads nowhere."""

import gzip
import hashlib
import mimetypes
from collections.abc import Mapping
from dataclasses import dataclass

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

#: As the app's own page says it, and nothing may frame it.
POLICY = (
    "default-src 'self'; img-src 'self' blob: data:; connect-src 'self' https:; object-src 'none'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'"
)
_TYPES = {
    ".js": "text/javascript",
    ".webmanifest": "application/manifest+json",
    ".json": "application/json",
    ".svg": "image/svg+xml",
    ".woff2": "font/woff2",
    ".css": "text/css",
    ".html": "text/html",
}
_TEXT = ("text/", "application/json", "application/manifest+json")


@dataclass(frozen=True)
class File:
    body: bytes
    type: str
    etag: str
    packed: bytes  # gzip; empty where that would not make it smaller


def site(files: Mapping[str, bytes]) -> list[Route]:
    """Routes for the app's files; "/" is its first page."""
    held = {f"/{path}": _file(path, body) for path, body in files.items()}
    held["/"] = held["/index.html"]

    async def serve(request: Request) -> Response:
        file = held.get(request.url.path)
        if file is None:
            return Response("There is nothing at this address.\n", 404, media_type="text/plain")
        headers = {"ETag": file.etag, "Cache-Control": "no-cache", "Content-Security-Policy": POLICY}
        if file.etag in request.headers.get("if-none-match", ""):
            return Response(status_code=304, headers=headers)
        headers["Vary"] = "Accept-Encoding"
        if file.packed and "gzip" in request.headers.get("accept-encoding", ""):
            return Response(file.packed, 200, {**headers, "Content-Encoding": "gzip"}, file.type)
        return Response(file.body, 200, headers, file.type)

    return [Route("/{path:path}", serve, methods=["GET"])]


def _file(path: str, body: bytes) -> File:
    kind = _TYPES.get(path[path.rfind(".") :]) or mimetypes.guess_type(path)[0] or "application/octet-stream"
    charset = "; charset=utf-8" if kind.startswith(_TEXT) else ""
    packed = gzip.compress(body, mtime=0) if charset else b""
    etag = f'"{hashlib.sha256(body).hexdigest()[:32]}"'
    return File(body, kind + charset, etag, packed if len(packed) < len(body) else b"")
