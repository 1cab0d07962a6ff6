"""What belongs to no single place or vehicle: walks, jobs, parts, clones, clocks, adoption."""

from collections.abc import Iterable

from sync.fold.context import Context
from sync.state import Clock, Clone, Conflict, Frozen, JobState, PartState, WalkState


class FoldedRest(Frozen, frozen=True, kw_only=True):
    """`adopted` are the editions adopted by people who did not know of each other; the smallest is in force."""

    edition: str
    adopted: tuple[str, ...] = ()
    jobs: tuple[JobState, ...] = ()
    parts: tuple[PartState, ...] = ()
    clones: tuple[Clone, ...] = ()
    clocks: tuple[Clock, ...] = ()
    conflicts: tuple[Conflict, ...] = ()  # about fields of jobs and parts


def fold_walks(context: Context, walks: Iterable[str] | None = None) -> tuple[WalkState, ...]:
    """These walks (None: all), by id."""
    raise NotImplementedError


def fold_rest(context: Context) -> FoldedRest:
    """Jobs, parts, clones, clocks and the edition in force."""
    raise NotImplementedError
