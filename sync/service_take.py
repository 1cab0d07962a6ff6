"""Hand-ins into the log: each read, kept and named, inside one transaction that the service opens and commits."""

import gc
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager

import msgspec

from sync.entries import Bare, Entry, Finding, Fluid, Redact, Report, Run, Walk, read_entry
from sync.errors import IntakeError
from sync.fold import Context, Logged, Place, Touched
from sync.fold.redacting import redacted_body
from sync.intake import Aside, HandIn, Picture, Taken, Terms
from sync.refold import Refold
from sync.relaying import Read
from sync.relaying import Receipt as Delivered
from sync.state import Clone
from sync.store import Store
from sync.store_log import LogRow
from sync.store_rows import AsideRow, BatchRow, PhotoRow

_FLUSH = 10_000
_HELD = 30_000  # new findings kept in memory for the fold; where there are more, it reads them again
_SHOWN = 200
_to_json = msgspec.json.encode
_from_json = msgspec.json.decode


class Receipt(msgspec.Struct, frozen=True, kw_only=True):
    """What became of one hand-in. It is true only once the transaction is committed."""

    source: str
    device: str = ""
    device_name: str = ""
    taken: int = 0  # entries new to the log
    already: int = 0
    later: int = 0  # of those taken: kinds of a later version, kept for it
    photos: int = 0  # new ones
    set_aside: tuple[Aside, ...] = ()  # the first 200
    aside: int = 0
    trouble: tuple[str, ...] = ()
    missing: tuple[tuple[int, int], ...] = ()  # of the device, over all that is here
    want_photos: tuple[str, ...] = ()
    refused: str = ""  # why nothing could be taken

    @property
    def useful(self) -> bool:
        """Whether anything of it is in the log now."""
        return not self.refused and (self.taken + self.already + self.photos > 0 or not self.aside)


class Taking:
    """One transaction's taking in. After any error the context has seen what the file has not: throw it away."""

    def __init__(self, store: Store, context: Context, at: str) -> None:
        self._store = store
        self._context = context
        self._at = at
        self._above = store.highest_number()
        self._numbers: dict[Place, int] = {}
        self._held: dict[int, list[Logged]] | None = {}
        self._room = _HELD
        self._walks: set[str] = set()
        self._touched: list[Touched] = []
        self._rest = False
        self._devices: set[str] = set()
        self._pictures: dict[str, PhotoRow] = {}
        self.gone: set[str] = set()  # photos redacted: their files go after the commit

    def hand_in(self, source: str, chunks: Iterable[bytes], terms: Terms) -> Receipt:
        """One hand-in. A file that is none changes nothing and is told in `refused`."""
        batch = self._store.open_batch(self._at, source)
        one = _One(source)
        try:
            hand_in = HandIn(chunks, terms)
            for some in hand_in.batches():
                one.add(some.entries, some.photos, some.aside)
                self._photos(one)
                if len(one.entries) >= _FLUSH:
                    self._flush(one, batch, trusted=terms.desk)
        except IntakeError as error:
            if not one.entries and not one.taken and not one.already:
                self._store.drop_batch(batch)
                return Receipt(source=source, refused=str(error))
            one.trouble.append(str(error))
        self._flush(one, batch, trusted=terms.desk)
        return self._close(one, batch, hand_in)

    def entries(self, taken: list[Taken], *, trusted: bool = True) -> None:
        """Entries that come in no batch: the desk's own, and (not trusted) lines set aside that can be read now."""
        one = _One("desk")
        one.entries = taken
        self._flush(one, 0, trusted=trusted)

    def parcel(self, source: str, read: Read, names: Mapping[str, str]) -> Delivered:
        """What another workshop PC handed on, under a batch of its own."""
        batch = self._store.open_batch(self._at, source)
        one = _One(source)
        one.entries = list(read.trusted)
        self._flush(one, batch, trusted=True)
        one.entries, one.aside = list(read.untrusted), list(read.aside)
        self._flush(one, batch, trusted=False)
        for device, name in names.items():
            self._store.put_device(device, name, batch)
        row = BatchRow(batch=batch, at=self._at, source=source, device="", device_name="", taken=one.taken,
                       already=one.already, set_aside=one.set_aside, photos=0, trouble="")  # fmt: skip
        self._store.close_batch(row, "")
        return Delivered(one.taken, one.set_aside)

    def finish(self) -> None:
        """Fold what all of it touched."""
        self._store.advance(sorted(self._devices))
        if self._pictures:
            self._store.flush_photos()
        for picture in self._pictures.values():
            self._store.put_photo(picture)
        for sha in self.gone:
            self._store.forget_photo(sha)
        touched = union(self._touched)
        rest = self._rest or bool(touched.devices)
        Refold(self._store, self._context, self._above, self._held).run(self._numbers, self._walks, touched, rest=rest)

    # --- how

    def _flush(self, one: "_One", batch: int, *, trusted: bool) -> None:
        items, one.entries = one.entries, []
        if items:
            items = sorted(items, key=_by_id)  # not in place: the caller's own order is what it answers in
            before = self._store.highest_number()
            numbers = self._store.append([_row(taken, batch, trusted=trusted) for taken in items])
            new = [(number, taken) for number, taken in zip(numbers, items, strict=True) if number is not None]
            one.taken += len(new)
            one.already += len(items) - len(new)
            if trusted and len(new) < len(items):
                known = (taken for number, taken in zip(numbers, items, strict=True) if number is None)
                self._store.trust(taken.entry.id for taken in known)
            if new:
                self._take(one, new, before)
        aside, one.aside = one.aside, []
        self._put_aside(one, aside, batch)

    def _take(self, one: "_One", new: list[tuple[int, Taken]], before: int) -> None:
        """What is new in the log, told to the context, and its findings put where they belong."""
        spans: dict[str, tuple[int, int]] = {}
        findings: list[tuple[int, Finding, Taken]] = []
        kept: list[Logged] = []
        for number, taken in new:
            entry = taken.entry
            low, high = spans.get(entry.device, (entry.seq, entry.seq))
            spans[entry.device] = (min(low, entry.seq), max(high, entry.seq))
            if type(entry) is Finding:
                findings.append((number, entry, taken))
                if is_kept(entry):
                    kept.append(Logged(entry, taken.hash))
            elif isinstance(entry, Bare):
                one.later += 1
            else:
                kept.append(Logged(entry, taken.hash))  # type: ignore[arg-type]
        self._devices.update(spans)
        self._tell(kept, self._store.clones_above(before, spans))
        late = frozenset(entry.id for _, entry, _ in findings if self._context.is_spoken_against(entry.id))
        self._touched.append(Touched(entries=late))  # what takes them back came before them
        self._settle_down(findings)
        self._redact(new)

    def _tell(self, kept: list[Logged], clones: tuple[Clone, ...]) -> None:
        """Plain findings are not told: the context would not keep them."""
        grown = {digest for clone in clones for digest in clone.hashes}
        self._context.clones[:] = [clone for clone in self._context.clones if not grown.issuperset(clone.hashes)]
        self._touched.append(self._context.take(kept, clones))
        self._rest = self._rest or bool(clones)
        for entry, _ in kept:
            if isinstance(entry, Walk):
                self._walks.add(entry.walk)
            elif isinstance(entry, Report):
                self._store.name_photos(entry.id, entry.device, entry.photos)
            elif not isinstance(entry, Finding | Run | Fluid):
                self._rest = True  # it may be about a job, a part or the edition

    def _settle_down(self, findings: list[tuple[int, Finding, Taken]]) -> None:
        """Each finding at its place, its note to be searched, its photos to be asked for."""
        place_of = self._context.place
        belongs: list[tuple[int, int]] = []
        self._room -= len(findings)
        held = self._held = self._held if self._room >= 0 else None
        for number, entry, taken in findings:
            place = place_of(entry)
            known = self._numbers.get(place)
            if known is None:
                known = self._numbers[place] = self._store.place_number(place)
            belongs.append((number, known))
            if held is not None:
                held.setdefault(known, []).append(Logged(entry, taken.hash))
            if entry.note and entry.result != "defect":
                self._store.put_note(entry.id, entry.vehicle, entry.note)
            if entry.photos:
                self._store.name_photos(entry.id, entry.device, entry.photos)
        self._store.place_entries(belongs)

    def _redact(self, new: list[tuple[int, Taken]]) -> None:
        """What a person took out goes from the log too, whichever of the two came first."""
        redacts = self._context.redacts
        if not redacts:
            return
        targets = {taken.entry.id for _, taken in new if taken.entry.id in redacts}
        targets |= {taken.entry.entry for _, taken in new if isinstance(taken.entry, Redact)}
        for target in sorted(targets):
            for row in self._store.entry(target):
                entry = read_entry(row.body)
                body = _from_json(row.body)
                for redact in redacts[target]:
                    body = redacted_body(body, entry, redact)
                self._store.redact(target, bytes.fromhex(row.hash), _to_json(body).decode())
            self._store.forget_note(target)
        self.gone |= {sha for target in targets for redact in redacts[target] for sha in redact.photos}

    def _photos(self, one: "_One") -> None:
        """Photos into their places; the transaction names them afterwards."""
        pictures, one.pictures = one.pictures, []
        redacted = {sha for some in self._context.redacts.values() for redact in some for sha in redact.photos}
        for picture in pictures:
            if picture.sha256 in redacted or self._store.photo(picture.sha256) or picture.sha256 in self._pictures:
                continue
            self._store.place_photo(picture.sha256, picture.type, picture.data)
            self._pictures[picture.sha256] = PhotoRow(sha256=picture.sha256, type=picture.type, size=len(picture.data))
            one.photos += 1

    def _put_aside(self, one: "_One", aside: list[Aside], batch: int) -> None:
        one.set_aside += len(aside)
        one.shown += aside[: max(0, _SHOWN - len(one.shown))]
        rows = [
            AsideRow(hash=a.hash, batch=batch, line=a.line, code=a.code, why=a.why, id=a.id, device=a.device,
                     seq=a.seq, body="")
            for a in aside
        ]  # fmt: skip
        self._store.put_aside(rows, [a.raw for a in aside])
        self._devices.update(a.device for a in aside if a.device and a.seq)

    def _close(self, one: "_One", batch: int, hand_in: HandIn) -> Receipt:
        summary = hand_in.summary()
        head = summary.head
        device, name = hand_in.device, head.device_name if head else ""
        if device:
            self._devices.add(device)
            self._store.put_device(device, name, batch)
            self._store.advance([device])
        trouble = tuple(one.trouble) + summary.trouble
        receipt = Receipt(
            source=one.source,
            device=device,
            device_name=name,
            taken=one.taken,
            already=one.already,
            later=one.later,
            photos=one.photos,
            set_aside=tuple(one.shown),
            aside=one.set_aside,
            trouble=trouble,
            missing=self._store.missing(device) if device else (),
            want_photos=self._wanted(device) if device else (),
        )
        row = BatchRow(
            batch=batch,
            at=self._at,
            source=one.source,
            device=device,
            device_name=name,
            taken=one.taken,
            already=one.already,
            set_aside=one.set_aside,
            photos=one.photos,
            trouble="; ".join(trouble),
        )
        self._store.close_batch(row, head.edition if head else "")
        return receipt

    def _wanted(self, device: str) -> tuple[str, ...]:
        """Photos that the device's entries name and that have not come, in this taking either."""
        return tuple(sha for sha in self._store.wanted_photos(device) if sha not in self._pictures)


class _One:
    """One hand-in's running account."""

    def __init__(self, source: str) -> None:
        self.source = source
        self.entries: list[Taken] = []
        self.pictures: list[Picture] = []
        self.aside: list[Aside] = []
        self.shown: list[Aside] = []
        self.trouble: list[str] = []
        self.taken = self.already = self.later = self.photos = self.set_aside = 0

    def add(self, entries: list[Taken], photos: list[Picture], aside: list[Aside]) -> None:
        self.entries += entries
        self.pictures += photos
        self.aside += aside


def union(some: Iterable[Touched]) -> Touched:
    """All that any of several takings touched."""
    parts = list(some)
    return Touched(
        everything=any(part.everything for part in parts),
        entries=frozenset().union(*(part.entries for part in parts)),
        walks=frozenset().union(*(part.walks for part in parts)),
        devices=frozenset().union(*(part.devices for part in parts)),
        places=frozenset().union(*(part.places for part in parts)),
        vehicles=frozenset().union(*(part.vehicles for part in parts)),
    )


@contextmanager
def collector_paused() -> Iterator[None]:
    """Taking in makes many small objects and no rings of them: the collector would walk them over and over."""
    was = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was:
            gc.enable()


def _by_id(taken: Taken) -> tuple[str, bytes]:
    return taken.entry.id, taken.digest


def is_kept(entry: Entry) -> bool:
    """Whether a context gathered again needs it: all but findings that neither correct nor say what they knew."""
    return not isinstance(entry, Finding) or entry.corrects is not None or bool(entry.knows)


def _row(taken: Taken, batch: int, *, trusted: bool) -> LogRow:
    entry, line = taken.entry, taken.raw.decode()
    if type(entry) is Finding:
        return (entry.id, taken.digest, entry.device, entry.seq, "finding", entry.vehicle, entry.walk or "",
                entry.defect or "", int(trusted), 2 if is_kept(entry) else 1, batch, line)  # fmt: skip
    later = isinstance(entry, Bare)
    kind = entry.kind if isinstance(entry, Bare) else str(entry.__struct_config__.tag)
    return (entry.id, taken.digest, entry.device, entry.seq, kind, getattr(entry, "vehicle", None) or "", "", "",
            int(trusted), 0 if later else 2, batch, line)  # fmt: skip
