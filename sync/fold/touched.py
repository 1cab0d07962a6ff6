"""What new entries change of what was folded before; an entry about a desk entry touches what that one touches."""

from collections.abc import Container
from dataclasses import dataclass
from typing import Protocol

from sync.entries import AnyEntry, Job, Redact, Report, Ruling, Run, Same, Settle, Tag, Walk, Work
from sync.fold.log import Logged, Place


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


class Index(Protocol):
    """What is asked of the context."""

    kept: dict[str, list[Logged]]
    jobs: dict[str, list[Logged]]
    chosen: dict[str, list[Logged]]

    def replaced_by(self, entry: str) -> list[str]: ...
    def settle_place(self, entry: Settle) -> Place: ...
    def places_of(self, entry: str) -> list[Place]: ...


class Touching:
    """Collects what entries touch, one after the other."""

    def __init__(self, index: Index, vehicles: Container[str], devices: set[str]) -> None:
        self.index = index
        self.known_vehicles = vehicles
        self.devices = devices
        self.entries: set[str] = set()
        self.walks: set[str] = set()
        self.places: set[Place] = set()
        self.vehicles: set[str] = set()

    def by(self, logged: Logged) -> None:
        """Everything one entry touches."""
        entry = logged.entry
        if entry.corrects is not None:
            self.entry(entry.corrects)
        for settle in self.index.chosen.get(entry.id, ()):
            self.entry(settle.entry.id)
        match entry:
            case Walk():
                self.walks.add(entry.walk)
            case Ruling() | Work():
                self._about(entry)
            case Settle():
                self.places.add(self.index.settle_place(entry))
            case Job() | Same() | Redact():
                for name in _spoken_of(entry):
                    self.entry(name)
            case Tag() | Report() | Run():
                self.vehicles.add(entry.vehicle)

    def entry(self, name: str) -> None:
        """An entry is spoken of: its place if it is a finding, else whatever it touches itself."""
        if name in self.entries:
            return
        self.entries.add(name)
        self.places.update(self.index.places_of(name))
        for later in self.index.replaced_by(name):
            self.entry(later)
        for logged in self.index.kept.get(name, ()):
            self.by(logged)

    def done(self, everything: bool) -> Touched:
        return Touched(
            everything,
            frozenset(self.entries),
            frozenset(self.walks),
            frozenset(self.devices),
            frozenset(self.places),
            frozenset(self.vehicles),
        )

    def _about(self, entry: Ruling | Work) -> None:
        self.entry(entry.about)
        vehicle = entry.about.partition("/")[0]  # "vehicle/kind/id": a task, a step, a fault of its
        if vehicle in self.known_vehicles:
            self.vehicles.add(vehicle)
        for logged in self.index.jobs.get(entry.about, ()):
            self.by(logged)
        if isinstance(entry, Ruling):
            if entry.vehicle in self.known_vehicles:
                self.vehicles.add(entry.vehicle or "")
            if isinstance(entry.set.explains, str):
                self.entry(entry.set.explains)


def _spoken_of(entry: AnyEntry) -> list[str]:
    match entry:
        case Job():
            return entry.defects
        case Same():
            return entry.of
        case Redact():
            return [entry.entry]
        case _:
            return []
