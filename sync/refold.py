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
from sync.state import Defect, Pair, Standing
from sync.store import Store
from sync.store_derived import DefectWritten, StateRow
from sync.store_rows import DefectRow, OldDefect
from sync.store_seen import Kept

#: Raised whenever the same log makes other rows: a backlog last folded by another version is folded again when opened.
FOLD_VERSION = 11
_json = msgspec.json.Encoder().encode
_defect = msgspec.json.Decoder(Defect).decode


class Named(msgspec.Struct, frozen=True):
    """Of a defect's body, under which ids and codes of five letters it is found."""

    opening: str
    code: str
    also: tuple[str, ...] = ()
    also_codes: tuple[str, ...] = ()

    @property
    def short(self) -> Iterator[tuple[str, str]]:
        yield self.opening, self.code
        yield from zip(self.also, self.also_codes, strict=True)


_named = msgspec.json.Decoder(Named).decode
_OF_VEHICLE = ("report", "tag", "task", "rulings")
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
        self._everything = False

    def run(self, new: Mapping[Place, int], walks: Iterable[str], touched: Touched, *, rest: bool) -> None:
        """Fold what is touched. `new`: the places of new findings, and their numbers; `walks`: those spoken of anew."""
        self._numbers.update(new)
        self._everything = touched.everything
        again = self._moved(touched)
        places = set(new) | again
        self._walks(set(walks) | touched.walks, everything=touched.everything)
        self._take_back(touched)
        if rest or touched.everything:
            self._rest()
        vehicles = {place.vehicle for place in places} | touched.vehicles
        if touched.everything:
            self._context.written_pairs.clear()
            vehicles |= {*self._edition.by_vehicle, *self._context.reports, *self._context.tags}
            vehicles |= {place.vehicle for place in self._store.all_places()}
            self._store.drop_vehicles(keep=sorted(vehicles))
        by_vehicle: dict[str, list[Place]] = {vehicle: [] for vehicle in vehicles}
        for place in places:
            by_vehicle[place.vehicle].append(place)
        for vehicle in sorted(by_vehicle):
            self._vehicle(vehicle, sorted(by_vehicle[vehicle]), again)

    def _take_back(self, touched: Touched) -> None:
        """Note which entries count no more, for what is read past the fold: charts, looks, hours run."""
        context = self._context
        asked = {*context.corrections, *context.voids} if touched.everything else touched.entries
        ids = [entry for entry in asked if context.is_spoken_against(entry)]
        for start in range(0, len(ids), _SLICE):
            for row in self._store.relay_rows(ids[start : start + _SLICE]):
                logged = Logged(read_entry(row.body), row.hash)
                self._store.take_back(row.id, row.device, back=context.is_void(logged))

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
        old = self._store.old_defects(vehicle)
        told = bool(self._context.reports.get(vehicle))  # by what explains them, reports may name closed ones
        known = {one.opening: _defect(one.body) for one in old if one.open or told}
        folded = self._folded(numbers, again, old, known)
        fresh = {defect.opening: (number, defect) for number, one in folded.items() for defect in one.defects}
        kept = [one for one in old if one.place not in folded and one.opening not in fresh]
        everything = [known[one.opening] for one in kept if one.opening in known]
        everything += [defect for _, defect in fresh.values()]
        closed = [named for one in kept if one.opening not in known for named in _named(one.body).short]
        together = fold_vehicle(vehicle, everything, self._context, closed)
        self._lesser(together)
        rest = derive.whole(together, self._edition, everything, self._store.conflict_whys(vehicle))
        gone = [one.opening for one in old if one.place in folded and one.opening not in fresh]
        self._rows(old, fresh, gone, rest)
        self._lines([(one, known.get(one.opening)) for one in kept], rest)
        holding = rest.held or any(one.open and one.line.holding for one in old)
        self._ranks(vehicle, everything, None if holding or self._everything else {*fresh, *gone})
        self._standing(vehicle, [d for d in everything if d.closed is None], together)
        self._store.drop_empty_places(list(numbers.values()))

    def _folded(
        self, numbers: Mapping[Place, int], again: set[Place], old: Sequence[OldDefect], known: Mapping[str, Defect]
    ) -> dict[int, FoldedPlace]:
        """Places by number that are not as they were; of others what they remember may be newer."""
        memories = self._store.memories(list(numbers.values()))
        before: dict[int, list[Defect]] = {}
        for one in old:
            if one.opening in known:
                before.setdefault(one.place, []).append(known[one.opening])
        folded: dict[int, FoldedPlace] = {}
        remembered: list[tuple[int, bytes]] = []
        for place, number in numbers.items():
            anew = place in again
            was = FoldedPlace(place=place, defects=tuple(before.get(number, ())), memory=memories[number])
            now = self._fold(was, number, anew=anew)
            if anew or not was.memory or now.defects is not was.defects:
                folded[number] = now
            elif now.memory != was.memory:
                remembered.append((number, now.memory))
        self._store.remember(remembered)
        self._store.write_places([(number, one.memory, one.conflicts) for number, one in folded.items()])
        return folded

    def _fold(self, was: FoldedPlace, number: int, *, anew: bool) -> FoldedPlace:
        """A place with its new findings; `anew` where its whole history is read again."""
        if was.memory and not anew:
            extended = extend_place(was, self._new_at(number), self._context, self._read)
            if extended is not None:
                return extended
        findings = self._findings_at(number, 0) if was.memory or anew else self._new_at(number)
        return fold_place(was.place, findings, self._context)

    def _rows(
        self, old: Sequence[OldDefect], fresh: Mapping[str, tuple[int, Defect]], gone: list[str], rest: derive.Whole
    ) -> None:
        """The rows of what was folded: those that are not as they were."""
        before = {one.opening: one for one in old}
        rows: list[DefectWritten] = []
        same: list[tuple[OldDefect, Defect | None]] = []
        for opening, (number, defect) in fresh.items():
            body, was = _json(defect).decode(), before.get(opening)
            if was is not None and (was.place, was.body) == (number, body) and not self._everything:
                same.append((was, defect))
            else:
                row = derive.defect_row(defect, number, rest)
                rows.append(DefectWritten(row, defect, body, derive.words_of(defect, row, rest.name)))
        self._store.drop_defects(gone)
        self._store.put_defects(rows)
        self._lines(same, rest)

    def _lines(self, some: Iterable[tuple[OldDefect, Defect | None]], rest: derive.Whole) -> None:
        """Rows of defects that stay as they were, but whose line the rest of the vehicle may have changed."""
        changed: list[tuple[DefectRow, Defect]] = []
        for one, known in some:
            if known is None and not rest.codes and not one.long:
                continue
            defect = known or _defect(one.body)
            if derive.line(defect, rest) != one.line:
                changed.append((derive.defect_row(defect, one.place, rest), defect))
        self._store.change_lines(changed)

    def _ranks(self, vehicle: str, defects: Sequence[Defect], openings: set[str] | None) -> None:
        """Ranks of a vehicle's open defects; of some of them only, where the others stay what they were."""
        rows = derive.ranks(defects, self._edition, openings)
        self._store.put_ranks(vehicle, rows, openings)

    def _new_at(self, number: int) -> Sequence[Logged]:
        return self._findings_at(number, self._above) if self._held is None else self._held.get(number, ())

    def _findings_at(self, number: int, above: int) -> list[Logged]:
        return [Logged(read_entry(body), digest) for digest, body in self._store.at_place(number, above=above)]

    def _read(self, ids: Sequence[str]) -> list[Logged]:
        return list(logged_of(self._store.kept_by_ids(ids)))

    def _lesser(self, folded: FoldedVehicle) -> None:
        vehicle = folded.vehicle
        rows = [StateRow("report", r.entry, vehicle, not r.explained, _json(r)) for r in folded.reports]
        rows += [StateRow("tag", f"{vehicle}/{t.tag}/{t.entry}", vehicle, t.on, _json(t)) for t in folded.tags]
        rows += [StateRow("task", t.about, vehicle, t.state != "signed off", _json(t)) for t in folded.tasks]
        rows.append(StateRow("rulings", vehicle, vehicle, True, _json(folded.rulings)))
        self._store.put_states(_OF_VEHICLE, vehicle, rows)
        self._pairs(vehicle, folded.pairs)
        self._store.put_texts("report", vehicle, ((r.entry, f"{r.symptom}\n{r.conditions}") for r in folded.reports))
        self._store.put_conflicts_of_vehicle(vehicle, folded.conflicts)

    def _pairs(self, vehicle: str, pairs: Sequence[Pair]) -> None:
        """Pairs can be many: those of which the context remembers that they are written are passed over."""
        now = {f"{p.first}/{p.second}": p for p in pairs}
        before = self._context.written_pairs.get(vehicle)
        new = [(key, p) for key, p in now.items() if before is None or before.get(key) != p]
        rows = [StateRow("pair", key, vehicle, p.joined is None, _json(p)) for key, p in new]
        if before is None:
            self._store.put_states(("pair",), vehicle, rows)
        else:
            self._store.change_states("pair", [key for key in before if key not in now], rows)
        if self._held is None:  # a large taking in, of all vehicles: it would be much to remember
            self._context.written_pairs.pop(vehicle, None)
        else:
            self._context.written_pairs[vehicle] = now

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
