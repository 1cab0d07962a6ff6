"""What a place cannot see by itself: walks, corrections, rulings, work, jobs, settlements, clones, the edition in force."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from builder.edition import Edition
from sync.entries import Finding
from sync.fold.log import Logged, Place
from sync.state import Clone


@dataclass(frozen=True, slots=True)
class Touched:
    """What was folded before and has to be folded again, because of entries taken since.

    `everything`: the edition in force changed. `entries`: places of the findings with these ids. `walks`: places of
    the findings of these walks. `devices`: places of all findings of these devices. `places`: these places.
    `vehicles`: their vehicle level (tags, reports, jobs, pairs), no place.
    """

    everything: bool = False
    entries: frozenset[str] = frozenset()
    walks: frozenset[str] = frozenset()
    devices: frozenset[str] = frozenset()
    places: frozenset[Place] = frozenset()
    vehicles: frozenset[str] = frozenset()


@dataclass(slots=True)
class Context:
    """Grows with `take`; hold one per backlog, or build it again from every entry that `keeps` says it keeps.

    `editions` by fingerprint; `adopted` is the one in force where no `adopt` entry says (a new backlog's own).
    """

    editions: Mapping[str, Edition]
    adopted: str
    clones: list[Clone] = field(default_factory=list)

    @staticmethod
    def keeps(logged: Logged) -> bool:
        """Whether a context built again needs this entry: all but findings that correct nothing."""
        return not isinstance(logged.entry, Finding) or logged.entry.corrects is not None

    def take(self, new: Iterable[Logged], clones: Iterable[Clone] = ()) -> Touched:
        """Entries that are new to the log, each once, in any order, and clones that the store found among all.

        `take` everything new before folding any place of it.
        """
        raise NotImplementedError

    @property
    def edition(self) -> Edition:
        """The edition in force."""
        raise NotImplementedError

    def place(self, finding: Finding) -> Place:
        """Where a finding is folded: by id, by `formerly`, by its own edition, or where a ruling placed it."""
        raise NotImplementedError
