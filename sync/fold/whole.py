"""A whole log folded at once: the measure for every other way to get there."""

from collections.abc import Iterable, Mapping

from builder.edition import Edition
from sync.fold.log import Logged
from sync.state import State


def fold(logged: Iterable[Logged], editions: Mapping[str, Edition], adopted: str) -> State:
    """The state that this set of entries has: the same bytes for the same set, in any order, with any repetition."""
    raise NotImplementedError
