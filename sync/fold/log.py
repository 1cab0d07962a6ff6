"""What the fold reads: an entry as the log holds it, and the place it speaks of."""

from collections.abc import Iterable, Iterator
from typing import NamedTuple, TypeVar

from sync.entries import AnyEntry, Entry

Kind = TypeVar("Kind", bound=Entry)


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


def of_kind(kind: type[Kind], logged: Iterable[Logged]) -> Iterator[Kind]:
    """The entries of one kind."""
    return (one.entry for one in logged if isinstance(one.entry, kind))


def canonical(logged: Logged) -> tuple[str, int, str, str]:
    """The order in which a log is read, whatever order it came in."""
    entry = logged.entry
    return (entry.device, entry.seq, entry.id, logged.hash)
