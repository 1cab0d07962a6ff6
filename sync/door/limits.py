"""How much the door takes at once, and how long it waits; all of it in one place, so that tests can narrow it."""

from dataclasses import dataclass

from sync.entries import PHOTO_MOST

MIB = 1024 * 1024


@dataclass(frozen=True)
class Limits:
    """Bytes, seconds and counts. A phone sends 200 entries at once at most, of at most 64 KiB each."""

    entries: int = 16 * MIB
    have: int = 32 * MIB
    small: int = 4 * 1024
    edition: int = 16 * MIB
    photo: int = PHOTO_MOST
    kept_in_memory: int = 256 * 1024  # of a hand-in; past that it waits on the disk
    photos_at_once: int = 12  # in memory
    pause_s: float = 20.0  # the longest silence within a body
    grace_s: float = 30.0  # after which a body has to come at `slowest` at least
    slowest: int = 2000  # bytes a second
    head_s: float = 10.0  # from connecting, or the last answer, to the next request's whole head
    answer_s: float = 300.0  # for a client to fetch what it asked for
    connections: int = 1000
    per_address: int = 400  # phones may share one, behind a router
