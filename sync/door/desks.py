"""The door's requests for paired workshop PCs: what there is here, some of it, and what they bring."""

from starlette.requests import Request
from starlette.responses import FileResponse, Response
from starlette.routing import Route

from builder.edition import fingerprint_of
from sync.door import bodies
from sync.door.answers import answer
from sync.door.app import door_of, for_paired
from sync.door.refusals import Refused
from sync.door.shapes import Held
from sync.errors import StoreError
from sync.relaying import Entry, Fetch, Inventory, Line, Parcel
from sync.service import Service
from sync.store import Store
from sync.store_own import TokenRow

#: Entries that may be asked for at once: 200 of 64 KiB each are 12.5 MiB.
AT_ONCE = 200


async def _log(request: Request, row: TokenRow) -> Response:  # noqa: ARG001 as every handler of a paired device
    door = door_of(request)
    return answer(await door.threads.read(lambda: inventory(door.service.store)))


async def _fetch(request: Request, row: TokenRow) -> Response:  # noqa: ARG001 as above
    door = door_of(request)
    asked = await bodies.shaped(request, Fetch, door.limits.have, door.limits)
    if len(asked.entries) + len(asked.aside) > AT_ONCE:
        raise Refused(413, f"at most {AT_ONCE} are given at once")
    return answer(await door.threads.read(lambda: parcel(door.service.store, asked)))


async def _parcel(request: Request, row: TokenRow) -> Response:
    door = door_of(request)
    brought = await bodies.shaped(request, Parcel, door.limits.have, door.limits)
    receipt = await door.threads.write(lambda: door.service.take_parcel("exchange", brought))
    door.visits.took(row.device, row.name, receipt.entries, receipt.aside)
    return answer(receipt)


async def _edition(request: Request, row: TokenRow) -> Response:  # noqa: ARG001 as above
    door = door_of(request)
    fingerprint = request.path_params["fingerprint"]
    if request.method == "GET":
        body = await door.threads.read(lambda: door.service.store.edition_bytes(fingerprint))
        if not body:
            raise Refused(404, f"the edition {fingerprint[:20]} is not held here")
        return Response(body, media_type="application/json")
    body = await bodies.whole(request, door.limits.edition, door.limits)
    await door.threads.write(lambda: hold(door.service, fingerprint, body))
    return answer(Held(edition=fingerprint))


async def _photo_out(request: Request, row: TokenRow) -> Response:  # noqa: ARG001 as above
    door = door_of(request)
    sha256 = request.path_params["sha256"]
    store = door.service.store
    known = await door.threads.read(lambda: store.photo(sha256) if store.has_photo(sha256) else None)
    if known is None:
        raise Refused(404, f"the photo {sha256[:12]}… is not here")
    return FileResponse(await door.threads.read(lambda: store.photo_path(sha256)), media_type=known.type)


DESK_ROUTES = [
    Route("/door/log", for_paired(_log, desk=True), methods=["GET"]),
    Route("/door/fetch", for_paired(_fetch, desk=True), methods=["POST"]),
    Route("/door/parcel", for_paired(_parcel, desk=True), methods=["POST"]),
    Route("/door/editions/{fingerprint}", for_paired(_edition, desk=True), methods=["GET", "PUT"]),
    Route("/door/photos/{sha256}", for_paired(_photo_out, desk=True), methods=["GET"]),
]


def inventory(store: Store) -> Inventory:
    """All that this PC has to give."""
    with store.reading():
        return Inventory(
            store.relay_items(),
            store.aside_hashes(),
            list(store.editions()),
            store.held_photos(),
        )


def parcel(store: Store, asked: Fetch) -> Parcel:
    """What was asked for, as it stands here."""
    with store.reading():
        rows = store.relay_rows(asked.entries)
        names = store.latest_names()
        return Parcel(
            [Entry(row.body, row.hash, row.trusted) for row in rows],
            [Line(*line) for line in store.aside_bytes(asked.aside)],
            {device: names[device] for device in sorted({row.device for row in rows} & names.keys())},
        )


def hold(service: Service, fingerprint: str, body: bytes) -> None:
    """Keep an edition under the name it was handed on by. Raises Refused where it is not that edition."""
    if fingerprint_of(body) != fingerprint:
        raise Refused(400, f"these bytes are not the edition {fingerprint[:20]}")
    try:
        service.hold(body)
    except (StoreError, ValueError) as error:
        raise Refused(422, str(error)) from error
