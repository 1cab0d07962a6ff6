"""A store in memory that takes batches in as the service does: extends what it can, folds again what was touched."""

from collections.abc import Mapping, Sequence

from builder.edition import Edition
from sync.entries import Finding
from sync.fold import Context, FoldedPlace, Logged, Place, extend_place, fold_place
from sync.fold.clones import find_clones
from sync.fold.whole import put_together
from sync.state import State


class Keeper:
    """`extended` counts the places that were extended rather than folded again."""

    def __init__(self, editions: Mapping[str, Edition], adopted: str) -> None:
        self.context = Context(editions, adopted)
        self.log: dict[tuple[str, str], Logged] = {}
        self.belongs: dict[tuple[str, str], Place] = {}
        self.places: dict[Place, FoldedPlace] = {}
        self.extended = 0

    def take_in(self, batch: Sequence[Logged]) -> None:
        new = {(one.entry.id, one.hash): one for one in batch if (one.entry.id, one.hash) not in self.log}
        self.log.update(new)
        rows = ((one.entry.device, one.entry.seq, one.entry.id, one.hash) for one in self.log.values())
        touched = self.context.take(new.values(), find_clones(rows))
        again = set(touched.places) | (set(self.places) if touched.everything else set())
        fresh: dict[Place, list[Logged]] = {}
        for key, one in self.log.items():
            entry = one.entry
            if not isinstance(entry, Finding):
                continue
            spoken_of = bool({entry.id, entry.defect} & touched.entries) or entry.device in touched.devices
            spoken_of = spoken_of or entry.walk in touched.walks
            if key in new:
                self.belongs[key] = self.context.place(entry)
                fresh.setdefault(self.belongs[key], []).append(one)
            if spoken_of or touched.everything:
                again |= {self.belongs[key], self.context.place(entry)}
                self.belongs[key] = self.context.place(entry)
        for place in again | set(fresh):
            self._fold(place, fresh.get(place, []), whole=place in again)

    def _fold(self, place: Place, new: Sequence[Logged], *, whole: bool) -> None:
        before = self.places.get(place)
        found = None
        if before is not None and not whole:
            found = extend_place(before, new, self.context, self.read)
            self.extended += found is not None
        if found is None:
            here = [self.log[key] for key, belongs in self.belongs.items() if belongs == place]
            found = fold_place(place, here, self.context)
        self.places[place] = found

    def read(self, ids: Sequence[str]) -> Sequence[Logged]:
        wanted = set(ids)
        return [one for one in self.log.values() if one.entry.id in wanted]

    def state(self) -> State:
        return put_together([self.places[place] for place in sorted(self.places)], self.context)

    def refolded(self) -> dict[Place, FoldedPlace]:
        """Every place folded from its whole history."""
        found = {}
        for place in self.places:
            here = [self.log[key] for key, belongs in self.belongs.items() if belongs == place]
            found[place] = fold_place(place, here, self.context)
        return found
