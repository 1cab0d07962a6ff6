"""The door's answers: JSON, headers on every one of them, and failures in words, never in tracebacks."""

import asyncio
import logging
import traceback
from collections.abc import AsyncIterator, Mapping
from typing import Any

import msgspec
from starlette.requests import Request
from starlette.responses import Response, StreamingResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from builder.errors import DriptrayError
from sync.door.limits import Limits
from sync.door.refusals import Refused
from sync.door.shapes import Error
from sync.errors import DeskError, DoorError, IntakeError, StoreError

log = logging.getLogger("driptray.door")
_PIECE = 64 * 1024
#: Of every answer. HSTS is left out: the address may change hands, and would then be unreachable.
HEADERS = {
    "X-Content-Type-Options": "nosniff",
    "Referrer-Policy": "no-referrer",
    "Cross-Origin-Opener-Policy": "same-origin",
    "X-Frame-Options": "DENY",
    "Permissions-Policy": "geolocation=(), microphone=(), payment=(), usb=()",
    "Content-Security-Policy": "default-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'",
    "Cache-Control": "no-store",
}


def answer(value: Any, status: int = 200, headers: Mapping[str, str] | None = None) -> Response:
    return Response(msgspec.json.encode(value), status, headers, "application/json")


def in_pieces(body: bytes, headers: Mapping[str, str]) -> Response:
    """A large JSON answer, each piece sent when the one before has gone: many at once cost no memory twice."""

    async def pieces() -> AsyncIterator[bytes]:
        for start in range(0, len(body), _PIECE):
            yield body[start : start + _PIECE]

    length = {"Content-Length": str(len(body))}
    return StreamingResponse(pieces(), 200, {**headers, **length}, "application/json")


def refusal(status: int, words: str) -> Response:
    # What is left of a refused body is not waited for.
    close = {"Connection": "close"} if status in {408, 413} else {}
    wait = {"Retry-After": "60"} if status == 429 else {"Retry-After": "5"} if status == 503 else {}
    return answer(Error(words), status, {**close, **wait})


def told(error: DriptrayError) -> Response:
    """A failure that was foreseen, under the status that fits it."""
    if isinstance(error, Refused):
        return refusal(error.status, str(error))
    if isinstance(error, IntakeError | DeskError):
        return refusal(422, str(error))
    if isinstance(error, StoreError):
        return refusal(507 if "full" in str(error) else 503, str(error))
    return refusal(403 if isinstance(error, DoorError) else 400, str(error))


class Careful:
    """The outermost layer: headers on every answer, a limit to how long one may take, and no failure untold."""

    def __init__(self, app: ASGIApp, limits: Limits) -> None:
        self.app = app
        self.limits = limits

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        if scope["type"] != "http":
            await self.app(scope, receive, send)
            return
        begun = False

        async def sending(message: Message) -> None:
            nonlocal begun
            if message["type"] == "http.response.start":
                begun = True
                message["headers"] = _completed(message.get("headers", []))
            async with asyncio.timeout(self.limits.answer_s):
                await send(message)

        try:
            await self.app(scope, receive, sending)
        except Exception as error:
            if not isinstance(error, DriptrayError | TimeoutError):
                log.error("%s %s: %s", scope["method"], scope["path"], _where(error))  # noqa: TRY400 one line
            if begun:
                return  # the client has gone, or has half an answer: it will ask again
            response = told(error) if isinstance(error, DriptrayError) else refusal(500, "something went wrong here")
            await response(scope, receive, sending)


def client_of(request: Request) -> str:
    return request.client.host if request.client else ""


def _completed(given: list[tuple[bytes, bytes]]) -> list[tuple[bytes, bytes]]:
    present = {name.lower() for name, _ in given}
    extra = [(name.lower().encode(), value.encode()) for name, value in HEADERS.items()]
    return [*given, *(pair for pair in extra if pair[0] not in present)]


def _where(error: Exception) -> str:
    """One line for the log: what, and where in the code."""
    frame = traceback.extract_tb(error.__traceback__)[-1]
    return f"{type(error).__name__}: {error} ({frame.filename}:{frame.lineno})"
