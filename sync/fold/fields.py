"""Fields of rulings and work: merged one by one, by awareness. What disagrees is kept, and the safer stands."""

from collections.abc import Callable, Mapping, Sequence
from typing import Any, NamedTuple

from sync.fold.awareness import Cloned, bits, known
from sync.fold.log import Logged, canonical


class Said(NamedTuple):
    """One value that one desk entry gives a field; None takes the value back. `names` begins with what it is about."""

    logged: Logged
    value: Any
    knows: Mapping[str, int]
    names: tuple[str, ...] = ()

    @property
    def entry(self) -> str:
        return self.logged.entry.id

    @property
    def device(self) -> str:
        return self.logged.entry.device

    @property
    def seq(self) -> int:
        return self.logged.entry.seq


class Merged(NamedTuple):
    """`value` is what stands; `sides` are the heads where they disagree, else empty."""

    value: Any
    stands: Said | None = None
    sides: tuple[Said, ...] = ()


def heads(said: Sequence[Said], cloned: Cloned) -> list[Said]:
    """Those that none of the others knew, in canonical order."""
    if len(said) < 2:
        return list(said)
    ordered = sorted(set_of(said), key=lambda item: canonical(item.logged))
    replaced = 0
    for mask in known(ordered, cloned):
        replaced |= mask
    left = ((1 << len(ordered)) - 1) & ~replaced
    return [ordered[i] for i in bits(left)]


def set_of(said: Sequence[Said]) -> list[Said]:
    """Each entry once."""
    return list({(item.entry, item.logged.hash): item for item in said}.values())


def merge(
    said: Sequence[Said],
    cloned: Cloned,
    *,
    same: Callable[[Any], object] = lambda value: value,
    safer: Callable[[Any], Any] | None = None,
) -> Merged:
    """The value of a field. `same` maps a value to what has to agree; `safer` is a key, least first.

    Without `safer` a dispute leaves the field empty: no permit, no closing, not placed.
    """
    tops = heads(said, cloned)
    if not tops:
        return Merged(None)
    if all(same(top.value) == same(tops[0].value) for top in tops):
        return Merged(tops[0].value, tops[0])
    if safer is None:
        return Merged(None, None, tuple(tops))
    stands = min(tops, key=lambda top: (safer(top.value), canonical(top.logged)))
    return Merged(stands.value, stands, tuple(tops))
