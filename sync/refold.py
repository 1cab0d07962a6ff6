"""The log folded into the derived tables: only the places and vehicles that new entries touch, or all of it.

It joins the pure fold with the store, inside the caller's transaction; it decides nothing itself.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date

import msgspec

from builder.edition import Edition
from sync import derive
from sync.entries import Finding, Walk, read_entry
from sync.fold import Context, FoldedPlace, Logged, Place, Touched, extend_place, fold_place, fold_vehicle
from sync.fold.rest import fold_rest, fold_walks
from sync.fold.vehicle import FoldedVehicle
from sync.standing import standing
from sync.state import Conflict, Defect, Standing
from sync.store import Store
from sync.store_derived import StateRow
from sync.store_rows import DefectRow
from sync.store_seen import Kept

#: Raised whenever the same log makes other rows: a backlog last folded by another version is folded again when opened.
FOLD_VERSION = 4
_json = msgspec.json.Encoder().encode
_defect = msgspec.json.Decoder(Defect).decode
_conflict = msgspec.json.Decoder(Conflict).decode
_OF_VEHICLE = ("report", "tag", "pair", "task", "rulings")
_OF_ALL = ("part", "clone", "clock", "rest")
_SLICE = 20_000


class Shelf(Mapping[str, Edition]):
    """The editions that a backlog holds, each read when it is first asked for."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._names = frozenset(store.editions())

    def __getitem__(self, fingerprint: str) -> Edition:
        if fingerprint not in self._names:
            raise KeyError(fingerprint)
        return self._store.edition_of(fingerprint)

    def __iter__(self) -> Iterator[str]:
        return iter(sorted(self._names))

    def __len__(self) -> int:
        return len(self._names)


def logged_of(kept: Iterable[Kept]) -> Iterator[Logged]:
    """Entries as the fold reads them."""
    return (Logged(read_entry(body), digest) for _, digest, body in kept)


def context_of(store: Store) -> Context:
    """What places cannot see by themselves, gathered from the whole log."""
    context = Context(Shelf(store), store.setting("first edition"))
    context.take(logged_of(store.kept_for_context()), store.all_clones())
    return context


class Refold:
    """One refolding. `above` is the highest entry number before what is new."""

    def __init__(
        self, store: Store, context: Context, above: int, held: Mapping[int, Sequence[Logged]] | None = None
    ) -> None:
        """`held`: the new findings by place number, where they are few enough to have been kept in memory."""
        self._held = held
        self._store = store
        self._context = context
        self._above = above
        self._edition = context.edition
        self._numbers: dict[Place, int] = {}

    def run(self, new: Mapping[Place, int], walks: Iterable[str], touched: Touched, *, rest: bool) -> None:
        """Fold what is touched. `new`: the places of new findings, and their numbers; `walks`: those spoken of anew."""
        self._numbers.update(new)
        again = self._moved(touched)
        places = set(new) | again
        self._walks(set(walks) | touched.walks, everything=touched.everything)
        if rest or touched.everything:
            self._rest()
        vehicles = {place.vehicle for place in places} | touched.vehicles
        if touched.everything:
            vehicles |= {*self._edition.by_vehicle, *self._context.reports, *self._context.tags}
            vehicles |= {place.vehicle for place in self._store.all_places()}
            self._store.drop_vehicles(keep=sorted(vehicles))
        by_vehicle: dict[str, list[Place]] = {vehicle: [] for vehicle in vehicles}
        for place in places:
            by_vehicle[place.vehicle].append(place)
        for vehicle in sorted(by_vehicle):
            self._vehicle(vehicle, sorted(by_vehicle[vehicle]), again)

    # --- where findings belong

    def _moved(self, touched: Touched) -> set[Place]:
        """The places to fold from their whole history: those named, and where touched findings were and are now."""
        again = set(touched.places)
        for some in self._touched_findings(touched):
            before = self._store.places_of([kept.number for kept in some])
            again |= before | self.place(some)
        if touched.everything:
            again |= set(self._store.all_places())
        return again

    def _touched_findings(self, touched: Touched) -> Iterator[Sequence[Kept]]:
        if touched.everything:
            yield from _sliced(self._store.findings())
            return
        if touched.entries:
            yield self._store.findings_about(sorted(touched.entries))
        if self._above and (touched.walks or touched.devices):
            kept = self._store.findings_of(self._above, walks=sorted(touched.walks), devices=sorted(touched.devices))
            yield kept

    def place(self, kept: Iterable[Kept]) -> set[Place]:
        """Note where findings belong; those places."""
        belongs: list[tuple[int, Place]] = []
        for number, _, body in kept:
            entry = read_entry(body)
            if isinstance(entry, Finding):
                belongs.append((number, self._context.place(entry)))
        self._store.place_entries([(number, self._number(place)) for number, place in belongs])
        return {place for _, place in belongs}

    def _number(self, place: Place) -> int:
        number = self._numbers.get(place)
        if number is None:
            number = self._numbers[place] = self._store.place_number(place)
        return number

    # --- one vehicle

    def _vehicle(self, vehicle: str, places: Sequence[Place], again: set[Place]) -> None:
        numbers = {place: self._number(place) for place in places}
        memories = self._store.memories(list(numbers.values()))
        folded = {
            number: self._fold(place, number, b"" if place in again else memories[number], anew=place in again)
            for place, number in numbers.items()
        }
        defects = [(place, _defect(body)) for place, body in self._store.defect_bodies(vehicle) if place not in folded]
        touched = [(number, defect) for number, one in folded.items() for defect in one.defects]
        self._store.write_places([(number, one.memory, one.conflicts) for number, one in folded.items()])
        everything = [defect for _, defect in (*defects, *touched)]
        together = fold_vehicle(vehicle, everything, self._context)
        self._lesser(together)
        rest = derive.whole(together, self._edition, everything, self._store.conflict_whys(vehicle))
        self._store.drop_defects(list(folded))
        rows = [(derive.defect_row(defect, number, rest), defect) for number, defect in touched]
        self._store.put_defects([(row, defect, derive.words_of(defect, row, rest.name)) for row, defect in rows])
        self._lines(vehicle, [(derive.defect_row(defect, number, rest), defect) for number, defect in defects])
        self._store.put_ranks(vehicle, derive.ranks(everything, self._edition))
        self._standing(vehicle, [d for d in everything if d.closed is None], together)
        self._store.drop_empty_places(list(folded))

    def _fold(self, place: Place, number: int, memory: bytes, *, anew: bool) -> FoldedPlace:
        """A place with its new findings; `anew` where its whole history is read again."""
        if memory:
            defects, conflicts = self._store.folded_at(number)
            before = FoldedPlace(
                place=place,
                defects=tuple(map(_defect, defects)),
                conflicts=tuple(map(_conflict, conflicts)),
                memory=memory,
            )
            extended = extend_place(before, self._new_at(number), self._context, self._read)
            if extended is not None:
                return extended
        findings = self._findings_at(number, 0) if memory or anew else self._new_at(number)
        return fold_place(place, findings, self._context)

    def _new_at(self, number: int) -> Sequence[Logged]:
        return self._findings_at(number, self._above) if self._held is None else self._held.get(number, ())

    def _findings_at(self, number: int, above: int) -> list[Logged]:
        return [Logged(read_entry(body), digest) for digest, body in self._store.at_place(number, above=above)]

    def _read(self, ids: Sequence[str]) -> list[Logged]:
        return list(logged_of(self._store.kept_by_ids(ids)))

    def _lines(self, vehicle: str, rows: Sequence[tuple[DefectRow, Defect]]) -> None:
        """Rows of untouched places whose line the rest of the vehicle has changed."""
        have = self._store.defect_lines(vehicle) if rows else {}
        changed = [(row, defect) for row, defect in rows if have.get(row.opening) != self._store.line_of(row)]
        if changed:
            self._store.change_lines([row for row, _ in changed])
            self._store.put_codes(changed)

    def _lesser(self, folded: FoldedVehicle) -> None:
        vehicle = folded.vehicle
        rows = [StateRow("report", r.entry, vehicle, not r.explained, _json(r)) for r in folded.reports]
        rows += [StateRow("tag", f"{vehicle}/{t.tag}/{t.entry}", vehicle, t.on, _json(t)) for t in folded.tags]
        rows += [StateRow("pair", f"{p.first}/{p.second}", vehicle, p.joined is None, _json(p)) for p in folded.pairs]
        rows += [StateRow("task", t.about, vehicle, t.state != "signed off", _json(t)) for t in folded.tasks]
        rows.append(StateRow("rulings", vehicle, vehicle, True, _json(folded.rulings)))
        self._store.put_states(_OF_VEHICLE, vehicle, rows)
        self._store.put_texts("report", vehicle, ((r.entry, f"{r.symptom}\n{r.conditions}") for r in folded.reports))
        self._store.put_conflicts_of_vehicle(vehicle, folded.conflicts)

    def _standing(self, vehicle: str, defects: Sequence[Defect], folded: FoldedVehicle) -> None:
        walks = self._store.walks(vehicle)
        edition = self._edition

        def on(day: date) -> Standing:
            return standing(
                vehicle, edition, day, defects=defects, walks=walks, tags=folded.tags, rulings=folded.rulings
            )

        self._store.put_standings(vehicle, derive.standings(folded, defects, edition, on))
        self._store.put_vehicle(derive.vehicle_row(vehicle, edition, folded.rulings))

    # --- what belongs to no vehicle

    def _walks(self, walks: set[str], *, everything: bool) -> None:
        asked = None if everything else sorted(walks)
        if everything:
            self._store.drop_walks(None)
        else:
            self._store.drop_walks(sorted(walks))
        self._store.put_walks(fold_walks(self._context, asked))

    def _rest(self) -> None:
        rest = fold_rest(self._context)
        rows = [StateRow("part", part.part, "", part.state != "here", _json(part)) for part in rest.parts]
        rows += [StateRow("clone", f"{c.device}/{c.seq}/{c.entries[0]}", "", True, _json(c)) for c in rest.clones]
        rows += [StateRow("clock", clock.device, "", clock.flagged, _json(clock)) for clock in rest.clocks]
        rows.append(StateRow("rest", "adopted", "", len(rest.adopted) > 1, _json(rest.adopted)))
        self._store.put_states(_OF_ALL, None, rows)
        self._store.put_jobs((job.job, job.vehicle, job.title, job.state, _json(job)) for job in rest.jobs)
        self._store.put_conflicts_of_vehicle("", rest.conflicts)
        self._store.set("edition", rest.edition)


def refold_all(store: Store) -> Context:
    """Everything derived, made anew from the log; inside the caller's transaction."""
    store.clear_derived()
    store.advance(store.known_devices())
    context = Context(Shelf(store), store.setting("first edition"))
    walks: set[str] = set()

    def kept() -> Iterator[Logged]:
        for logged in logged_of(store.kept_for_context()):
            if isinstance(logged.entry, Walk):
                walks.add(logged.entry.walk)
            yield logged

    touched = context.take(kept(), store.all_clones())
    refold = Refold(store, context, 0)
    for some in _sliced(store.findings()):
        refold.place(some)
    everything = Touched(everything=True, places=touched.places)
    refold.run({}, (), everything, rest=True)
    return context


def _sliced(kept: Iterable[Kept]) -> Iterator[list[Kept]]:
    some: list[Kept] = []
    for one in kept:
        some.append(one)
        if len(some) == _SLICE:
            yield some
            some = []
    if some:
        yield some
