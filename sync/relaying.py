"""What two workshop PCs give each other, as models; and one relayed line, read. Pure.

An entry goes over as its line stands here, with the hash of the line as its writer wrote it: the two differ only
where a person took content away, and then only under a redaction that goes over too.
"""

import hashlib
from collections.abc import Iterable, Sequence

import msgspec

from sync.entries import DESK_KINDS, Bare, Id, Redact, Sha256, read_bare
from sync.intake import Aside, Taken, Terms
from sync.intake_line import Fault, entry_of

_TERMS = Terms("", desk=True)


class Entry(msgspec.Struct, frozen=True):
    """`trusted`: it came from a desk, here or there, that may write desk kinds."""

    line: str
    hash: Sha256
    trusted: bool


class Line(msgspec.Struct, frozen=True):
    """One line set aside; `body` is base64 on the way."""

    hash: Sha256
    line: int
    code: str
    why: str
    id: str
    device: str
    seq: int
    body: bytes


class Parcel(msgspec.Struct, frozen=True):
    """Some of a log. `names` is device -> what its latest hand-in called it."""

    entries: list[Entry] = []
    aside: list[Line] = []
    names: dict[str, str] = {}


class Fetch(msgspec.Struct, frozen=True):
    """What is asked for: entries by id, lines set aside by hash."""

    entries: list[Id] = []
    aside: list[Sha256] = []


class Inventory(msgspec.Struct, frozen=True):
    """All that a PC has to give. Entries are [id, hash, trusted], those that take content away first."""

    entries: list[tuple[Id, Sha256, bool]]
    aside: list[Sha256]
    editions: list[str]
    photos: list[Sha256]


class Receipt(msgspec.Struct, frozen=True):
    """What a parcel brought that was new."""

    entries: int
    aside: int


class Read(msgspec.Struct, frozen=True):
    """A parcel, read: entries by whether they are trusted, and what is set aside."""

    trusted: list[Taken]
    untrusted: list[Taken]
    aside: list[Aside]


def read_parcel(parcel: Parcel, redacted: Iterable[str]) -> Read:
    """`redacted` are the ids whose content is known to have been taken away."""
    read = [(one, entry_of(one.line.encode(), _TERMS, "")) for one in parcel.entries]
    gone = {entry.entry for _, entry in read if isinstance(entry, Redact)} | set(redacted)
    found = Read([], [], [_as_it_was(line) for line in parcel.aside if _digest(line.body) == line.hash])
    for one, entry in read:
        raw = one.line.encode()
        if isinstance(entry, Fault):
            found.aside.append(Aside(0, raw, _digest(raw), entry.code, entry.why, entry.id, entry.device, entry.seq))
        elif _digest(raw) != one.hash and entry.id not in gone:
            why = "its bytes are not those it was handed on as"
            found.aside.append(Aside(0, raw, _digest(raw), "hash", why, entry.id, entry.device, entry.seq))
        elif one.trusted:
            found.trusted.append(Taken(raw, bytes.fromhex(one.hash), entry))
        else:
            # A desk's kind from a device that was none is kept as it is there: in the log, and counting for nothing.
            desk_kind = not isinstance(entry, Bare) and entry.__struct_config__.tag in DESK_KINDS
            found.untrusted.append(Taken(raw, bytes.fromhex(one.hash), read_bare(raw) if desk_kind else entry))
    return found


def in_parts(ids: Sequence[str], most: int) -> list[list[str]]:
    """In their order, at most so many at once."""
    return [list(ids[start : start + most]) for start in range(0, len(ids), most)]


def _as_it_was(line: Line) -> Aside:
    return Aside(line.line, line.body, line.hash, line.code, line.why, line.id, line.device, line.seq)


def _digest(raw: bytes) -> str:
    return hashlib.sha256(raw).hexdigest()
