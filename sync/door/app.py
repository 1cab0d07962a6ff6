"""The door's requests, one handler each; the shapes stand at the top of this package."""

import hashlib
import logging
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from functools import wraps

import anyio
from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sync.door import bodies, shapes
from sync.door.answers import Careful, answer, client_of, in_pieces, refusal
from sync.door.carried import Carried
from sync.door.clocks import offset_to_note
from sync.door.hosts import HostGuard, Hosts, OwnAndListed
from sync.door.lacking import lacking
from sync.door.limits import Limits
from sync.door.paired import Paired
from sync.door.pictures import refuse_no_picture
from sync.door.refusals import Refused
from sync.door.threads import HandIn, Threads, Together, hand_ins, photos
from sync.door.visits import Visits
from sync.intake_photo import Picture, checked
from sync.pairing import TooManyTriesError
from sync.service import Draft, Service
from sync.service_take import Receipt
from sync.store_own import TokenRow

log = logging.getLogger("driptray.door")
Handler = Callable[[Request], Awaitable[Response]]


@dataclass
class Door:
    """What the handlers work with."""

    service: Service
    paired: Paired
    hosts: Hosts
    visits: Visits
    threads: Threads
    now: Callable[[], datetime]
    limits: Limits = field(default_factory=Limits)
    hand_ins: Together[HandIn, Receipt] = field(init=False)
    photos: Together[Picture, bool] = field(init=False)
    carried: Carried = field(init=False)
    photo_room: anyio.CapacityLimiter = field(init=False)

    def __post_init__(self) -> None:
        self.hand_ins = hand_ins(self.service, self.threads)
        self.photos = photos(self.service, self.threads)
        self.carried = Carried(self.service.store, self.now)
        self.photo_room = anyio.CapacityLimiter(self.limits.photos_at_once)

    def moment(self) -> str:
        return self.now().isoformat(timespec="milliseconds")


def door_app(door: Door, besides: Sequence[Route] = ()) -> Starlette:
    """The door; `besides` are the requests of other desks, and last the phone app's own files."""
    routes = [
        Route("/door/hello", hello, methods=["GET"]),
        Route("/door/pair", pair, methods=["POST"]),
        Route("/door/device", device, methods=["POST"]),
        Route("/door/have", have, methods=["POST"]),
        Route("/door/entries", entries, methods=["POST"]),
        Route("/door/photos/{sha256}", photo, methods=["PUT"]),
        Route("/door/carry", carry, methods=["GET"]),
    ]
    app = Starlette(
        routes=[*routes, *besides],
        middleware=[
            Middleware(Careful, limits=door.limits),
            Middleware(HostGuard, hosts=door.hosts),
            Middleware(OwnAndListed, hosts=door.hosts),
        ],
        exception_handlers={HTTPException: _no_such},
    )
    app.state.door = door
    return app


def door_of(request: Request) -> Door:
    door = request.app.state.door
    assert isinstance(door, Door)  # noqa: S101 set above
    return door


def for_paired(handler: Callable[[Request, TokenRow], Awaitable[Response]], *, desk: bool = False) -> Handler:
    """Only with a token that is good, asked before a byte of the body is read."""

    @wraps(handler)
    async def guarded(request: Request) -> Response:
        door = door_of(request)
        given = request.headers.get("authorization", "")
        row = await door.threads.read(lambda: door.paired.of(given))
        if desk and not row.desk:
            raise Refused(403, "this is for paired workshop PCs alone")
        return await handler(request, row)

    return guarded


async def hello(request: Request) -> Response:
    door = door_of(request)
    edition = await door.threads.read(door.service.store.edition)
    return answer(
        shapes.Hello(fleet=edition.name, code=edition.code, edition=edition.fingerprint, server_time=door.moment())
    )


async def pair(request: Request) -> Response:
    door = door_of(request)
    asked = await bodies.shaped(request, shapes.Pair, door.limits.small, door.limits)
    whence = client_of(request)
    try:
        token = await door.threads.write(lambda: door.paired.pair(asked.code, asked.device, asked.device_name, whence))
    except TooManyTriesError as error:
        raise Refused(429, str(error)) from error
    log.info("%s (%s) is paired", asked.device_name or "a phone without a name", asked.device)
    return answer(shapes.Paired(token=token))


async def _device(request: Request, row: TokenRow) -> Response:
    door = door_of(request)
    asked = await bodies.shaped(request, shapes.NewDevice, door.limits.small, door.limits)
    token = await door.threads.write(lambda: door.paired.rename(row, asked.new))
    log.info("%s goes on as %s: another phone writes as %s too", row.name or row.device, asked.new, asked.old)
    return answer(shapes.Paired(token=token))


async def _have(request: Request, row: TokenRow) -> Response:
    door = door_of(request)
    asked = await bodies.shaped(request, shapes.Have, door.limits.have, door.limits)
    came = door.now()
    found = await door.threads.read(lambda: lacking(door.service.store, asked, door.moment()))
    offset = await door.threads.read(lambda: offset_to_note(door.service.store, asked, came))
    if offset is not None:
        draft = Draft("clock", {"of": asked.device, "offset_s": offset})
        await door.threads.write(lambda: door.service.write(draft, by="desk"))
    door.visits.asked(asked.device, row.name, len(found.want), len(found.want_photos))
    return answer(found)


async def _entries(request: Request, row: TokenRow) -> Response:
    door = door_of(request)
    source = "exchange" if row.desk else "door"
    with await bodies.spooled(request, door.limits.entries, door.limits) as file:
        receipt = await door.hand_ins.do(HandIn(source, file, row.desk))
    if receipt.refused:
        raise Refused(422, receipt.refused)
    door.visits.took(row.device, row.name, receipt.taken, receipt.aside)
    log.info("%s: %d entries taken, %d set aside", row.name or row.device, receipt.taken, receipt.aside)
    return answer(
        shapes.Taken(
            taken=receipt.taken,
            already=receipt.already,
            set_aside=tuple(shapes.AsideLine(line=a.line, id=a.id, why=a.why) for a in receipt.set_aside),
            missing_seq=receipt.missing,
            want_photos=receipt.want_photos,
            server_time=door.moment(),
        )
    )


async def _photo(request: Request, row: TokenRow) -> Response:
    door = door_of(request)
    sha256 = request.path_params["sha256"]
    if len(sha256) != 64 or not set(sha256) <= set("0123456789abcdef"):
        raise Refused(400, "a photo is named by its SHA-256: 64 hex digits in small letters")
    async with door.photo_room:
        data = await bodies.whole(request, door.limits.photo, door.limits)
        if await door.threads.read(lambda: hashlib.sha256(data).hexdigest()) != sha256:
            raise Refused(400, f"these bytes are not those of {sha256[:12]}…; send the photo again")
        picture = await door.threads.read(lambda: _looked_at(sha256, data))
        new = await door.photos.do(picture)
    door.visits.photo(row.device, row.name)
    return answer(shapes.PhotoTaken(sha256=sha256, new=new))


def _looked_at(sha256: str, data: bytes) -> Picture:
    refuse_no_picture(data)
    return checked(sha256, data)


async def _carry(request: Request, row: TokenRow) -> Response:  # noqa: ARG001 as every handler of a paired device
    door = door_of(request)
    made = await door.threads.read(door.carried.now_made)
    headers = {"ETag": made.etag, "Cache-Control": "no-cache"}
    if made.etag in request.headers.get("if-none-match", ""):
        return Response(status_code=304, headers=headers)
    return in_pieces(made.body, headers)


async def _no_such(request: Request, error: Exception) -> Response:  # noqa: ARG001 a handler's signature
    assert isinstance(error, HTTPException)  # noqa: S101 registered for it
    words = {404: "there is nothing at this address", 405: "this address is not asked that way"}
    return refusal(error.status_code, words.get(error.status_code, error.detail))


device, have, entries = for_paired(_device), for_paired(_have), for_paired(_entries)
photo, carry = for_paired(_photo), for_paired(_carry)
