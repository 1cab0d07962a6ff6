"""Bodies as they stream in: counted against a cap, timed against slow senders, in bounded memory."""

import asyncio
import tempfile
import time
from collections.abc import AsyncIterator, Iterator
from typing import IO, TypeVar

import msgspec
from starlette.requests import ClientDisconnect, Request

from sync.door.limits import Limits
from sync.door.refusals import Refused

Shape = TypeVar("Shape")
_PIECE = 64 * 1024


async def pieces(request: Request, most: int, limits: Limits) -> AsyncIterator[bytes]:
    """The body in pieces. Raises Refused past `most` bytes, after a long silence, or below the slowest pace."""
    declared = request.headers.get("content-length", "0")
    if declared.isdigit() and int(declared) > most:
        raise Refused(413, f"{int(declared)} bytes; at most {most} are taken here")
    stream = request.stream()
    begun, total = time.monotonic(), 0
    while True:
        try:
            async with asyncio.timeout(limits.pause_s):
                piece = await anext(stream)
        except StopAsyncIteration:
            return
        except TimeoutError as error:
            raise Refused(408, f"nothing came for {limits.pause_s:g} seconds; send again") from error
        except ClientDisconnect as error:
            raise Refused(400, "the connection was cut; send again") from error
        total += len(piece)
        if total > most:
            raise Refused(413, f"more than {most} bytes; no more are taken here")
        spent = time.monotonic() - begun
        if spent > limits.grace_s and total < limits.slowest * spent:
            raise Refused(408, f"slower than {limits.slowest} bytes a second; come nearer and send again")
        yield piece


async def whole(request: Request, most: int, limits: Limits) -> bytes:
    return b"".join([piece async for piece in pieces(request, most, limits)])


async def shaped(request: Request, kind: type[Shape], most: int, limits: Limits) -> Shape:
    """A JSON body. Raises Refused where it is none, or not of that shape."""
    try:
        return msgspec.json.decode(await whole(request, most, limits), type=kind)
    except (msgspec.MsgspecError, ValueError, RecursionError) as error:
        raise Refused(400, f"this is not what is asked for here ({error})") from error


async def spooled(request: Request, most: int, limits: Limits) -> IO[bytes]:
    """The body in a file of its own, in memory while it is small; gone when it is closed."""
    file = tempfile.SpooledTemporaryFile(limits.kept_in_memory)  # noqa: SIM115 the taker closes it
    try:
        async for piece in pieces(request, most, limits):
            file.write(piece)
    except BaseException:
        file.close()
        raise
    file.seek(0)
    return file


def chunks(file: IO[bytes]) -> Iterator[bytes]:
    """A spooled body, read again."""
    return iter(lambda: file.read(_PIECE), b"")
