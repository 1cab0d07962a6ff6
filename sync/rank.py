"""The order of the backlog: what to look at first, and why, in words."""

from collections.abc import Iterable
from datetime import date

from builder.edition import Edition
from sync.state import Defect, Frozen


class Ranked(Frozen, frozen=True, kw_only=True):
    """`rank` 1 is first; `why` names what put it there."""

    opening: str
    rank: int
    why: str


def ranked(defects: Iterable[Defect], edition: Edition, as_of: date) -> tuple[Ranked, ...]:
    """Open defects of all vehicles: severity in force, what it holds up, worse or recurring, wanted at the next display day, age."""
    raise NotImplementedError
