"""What phones and other desks send and get, as models; in words, it stands at the top of this package."""

from typing import Annotated

import msgspec
from msgspec import Meta

from sync.entries import Device, Id, Line, Moment, Seq, Sha256

Code = Annotated[str, Meta(max_length=40)]
Ranges = tuple[tuple[int, int], ...]


class Pair(msgspec.Struct, frozen=True, kw_only=True):
    code: Code
    device: Device
    device_name: Line = ""


class NewDevice(msgspec.Struct, frozen=True, kw_only=True):
    old: Device
    new: Device


class Have(msgspec.Struct, frozen=True, kw_only=True):
    device: Device
    items: list[tuple[Seq, Id, Sha256]] = []
    photos: list[Sha256] = []
    at: Moment | None = None


class Hello(msgspec.Struct, frozen=True, kw_only=True):
    fleet: str
    code: str
    edition: str
    server_time: str


class Paired(msgspec.Struct, frozen=True, kw_only=True):
    token: str


class Lacking(msgspec.Struct, frozen=True, kw_only=True):
    want: tuple[str, ...]
    want_photos: tuple[str, ...]
    held: Ranges
    backed_up: tuple[str, ...]
    clone: bool
    server_time: str


class AsideLine(msgspec.Struct, frozen=True, kw_only=True):
    line: int
    id: str
    why: str


class Taken(msgspec.Struct, frozen=True, kw_only=True):
    taken: int
    already: int
    set_aside: tuple[AsideLine, ...]
    missing_seq: Ranges
    want_photos: tuple[str, ...]
    server_time: str


class PhotoTaken(msgspec.Struct, frozen=True, kw_only=True):
    sha256: str
    new: bool


class Held(msgspec.Struct, frozen=True, kw_only=True):
    edition: str


class Error(msgspec.Struct, frozen=True):
    error: str
