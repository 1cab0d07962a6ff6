"""One place (vehicle, check, spot) folded, and extended by newer findings without reading its history again."""

from collections.abc import Callable, Sequence

import msgspec

from sync.fold.context import Context
from sync.fold.log import Logged, Place
from sync.state import Conflict, Defect


class FoldedPlace(msgspec.Struct, frozen=True, kw_only=True, array_like=True):
    """What the store keeps of a place: its defects and conflicts as rows, `memory` as bytes for `extend_place`.

    Defects carry codes of five letters; `fold_vehicle` lengthens those that collide.
    """

    place: Place
    defects: tuple[Defect, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    memory: bytes = b""


def fold_place(place: Place, findings: Sequence[Logged], context: Context) -> FoldedPlace:
    """All findings whose `context.place` is this one, in any order; rulings, work and settlements come from `context`."""
    raise NotImplementedError


def extend_place(
    folded: FoldedPlace, new: Sequence[Logged], context: Context, read: Callable[[Sequence[str]], Sequence[Logged]]
) -> FoldedPlace | None:
    """The same as folding all again with `new` among them; None where that is not certain: then fold it again.

    `context` has already taken `new`; `read` gives the log's entries of some ids (few, by primary key). Not to be asked
    of a place that `Touched` names: that one is folded again.
    """
    raise NotImplementedError
