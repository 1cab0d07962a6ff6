"""What the fold reads: an entry as the log holds it, and the place it speaks of."""

from typing import NamedTuple

from sync.entries import AnyEntry


class Logged(NamedTuple):
    """One entry of the log. `hash` is the SHA-256 (hex) of its line as its writer wrote it."""

    entry: AnyEntry
    hash: str


class Place(NamedTuple):
    """The smallest unit that folds by itself: a `sound` speaks of every fault at its check and spot.

    `spot` is empty where the check has none. Something else stands at a place of its own: `check` is empty and
    `spot` is its opening entry's id.
    """

    vehicle: str
    check: str
    spot: str


def canonical(logged: Logged) -> tuple[str, int, str, str]:
    """The order in which a log is read, whatever order it came in."""
    entry = logged.entry
    return (entry.device, entry.seq, entry.id, logged.hash)
