"""Take in, write, settle, adopt: intake -> log -> fold of what it touches, each in one transaction.

The service alone joins the pure parts with the store. What a method returns is in the file and flushed to the disk;
an error means that nothing was changed. Clock and randomness are passed in.

    take_in(source, chunks, desk=False) -> Receipt      one hand-in; take_in_all for many in one transaction
    put_photo(sha256, bytes) -> bool                    one photo by its name
    write(draft, by=..., knows=...) -> entry id         one entry by this desk's own device; write_all for many
    write_sheet(drafts, by=...) -> entry ids            a walk that was done on paper, under its walker's device here
    settle(conflict_id, choose=..., reason=..., by=..., knows=...) -> entry id
    adopt(edition bytes, by=...)                        the edition in force from here on
    token() -> str                                      what a page shows goes back with what is written from it
    give_up(device, reason=..., by=...)                 seqs that will never come
"""

import hashlib
import json
import threading
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from datetime import datetime
from typing import Any

import msgspec

from builder.edition import read_edition
from sync.entries import DeskEntry, line_of, read_entry
from sync.errors import DeskError, StoreError
from sync.fold import Context
from sync.ids import uuid7
from sync.intake import Taken, Terms
from sync.intake_line import Fault, entry_of
from sync.intake_photo import Picture, checked
from sync.refold import context_of, refold_all
from sync.relaying import Parcel, read_parcel
from sync.relaying import Receipt as Delivered
from sync.service_again import READS, fold_again, lines_again
from sync.service_take import Receipt, Taking, collector_paused
from sync.settling import settlement
from sync.sheets import sheet_device, sheets_of
from sync.state import WalkState
from sync.store import Store
from sync.store_rows import PhotoRow

_LETTERS = "23456789abcdefghjkmnpqrstuvwxyz"


class Draft(msgspec.Struct, frozen=True):
    """An entry to be written: its kind, and the fields of that kind (design, section 5)."""

    kind: str
    fields: Mapping[str, Any]


class Service:
    """One backlog's writer. Threads may share it; one writes at a time."""

    def __init__(self, store: Store, now: Callable[[], datetime], randomness: Callable[[int], bytes]) -> None:
        self.store = store
        self._now = now
        self._random = randomness
        self._lock = threading.RLock()
        self._context: Context | None = None
        self._context_at = ""
        with self._lock:
            self._open()

    # --- taking in

    def take_in(self, source: str, chunks: Iterable[bytes], *, desk: bool = False) -> Receipt:
        """One hand-in; `desk` where it comes from this desk or a paired one."""
        return self.take_in_all([(source, chunks)], desk=desk)[0]

    def take_in_all(self, sources: Iterable[tuple[str, Iterable[bytes]]], *, desk: bool = False) -> tuple[Receipt, ...]:
        """Several hand-ins in one transaction; what is none of ours is told in its receipt, the others are taken."""
        terms = Terms(self.store.fleet(), desk, frozenset(self.store.editions()))
        with self._taking() as taking:
            receipts = tuple(taking.hand_in(source, chunks, terms) for source, chunks in sources)
            taking.finish()
        return receipts

    def take_parcel(self, source: str, parcel: Parcel) -> Delivered:
        """What a paired workshop PC handed on of its log: entries as their lines stand there, and lines set aside."""
        with self._taking() as taking:
            read = read_parcel(parcel, self._gathered().redacts)
            brought = taking.parcel(source, read, parcel.names)
            taking.finish()
        return brought

    def put_photo(self, sha256: str, data: bytes) -> bool:
        """One photo by its name; whether it was new. Raises DeskError where the bytes are not that photo."""
        try:
            picture = checked(sha256, data)
        except ValueError as error:
            raise DeskError(f"photo {sha256[:12]}…: {error}") from error
        return self.put_pictures([picture])[0]

    def put_pictures(self, pictures: Sequence[Picture]) -> tuple[bool, ...]:
        """Photos that were looked at, in one transaction; whether each was new. No hand-in waits for the placing."""
        placed = [one for one in pictures if self._is_wanted(one.sha256)]
        for one in placed:
            self.store.place_photo(one.sha256, one.type, one.data)
        if not placed:
            return (False,) * len(pictures)
        self.store.flush_photos()
        new: dict[str, bool] = {}
        with self._lock, self.store.writing():
            for one in placed:
                row = PhotoRow(sha256=one.sha256, type=one.type, size=len(one.data))
                gone = self.store.is_redacted_photo(one.sha256)  # taken out while it was being placed
                new[one.sha256] = not gone and (self.store.put_photo(row) or new.get(one.sha256, False))
        for sha256 in (sha for sha in new if self.store.is_redacted_photo(sha)):
            self.store.remove_photo_file(sha256)
        return tuple(new.pop(one.sha256, False) for one in pictures)

    def _is_wanted(self, sha256: str) -> bool:
        return not self.store.has_photo(sha256) and not self.store.is_redacted_photo(sha256)

    # --- writing

    def token(self) -> str:
        """What the store's state includes now, for a page to hand back with what is written from it."""
        return json.dumps(self._knows(), separators=(",", ":"), sort_keys=True)

    def write(self, draft: Draft, *, by: str, knows: str = "") -> str:
        """One entry by this desk's device; its id. `knows` is the token of the page it was written from.

        Raises DeskError where it is no valid entry, or where this desk changed the same thing since that page.
        """
        return self.write_all([draft], by=by, knows=knows)[0]

    def write_all(self, drafts: Sequence[Draft], *, by: str, knows: str = "") -> tuple[str, ...]:
        """Several entries in one transaction: all or none."""
        with self._taking() as taking:
            known = _token(knows) if knows else self._knows()
            taken = self._entries(self.device, drafts, by, known)
            self._refuse_overwriting([one.entry for one in taken], known)
            taking.entries(taken)
            taking.finish()
            self.store.advance([self.device])
        self.store.note_written(self.device)
        return tuple(one.entry.id for one in taken)

    def write_sheet(self, drafts: Sequence[Draft], *, by: str) -> tuple[str, ...]:
        """A walk and its findings from paper, in one transaction. A sheet knows what was printed on it and no more:
        it speaks of known defects by name, and differs from another's as one phone does from another."""
        with self._taking() as taking:
            said = drafts[0].fields
            walk = WalkState(walk=said["walk"], vehicle=said["vehicle"], round=said["round"], day=said["day"], by=by,
                             device="")  # fmt: skip
            device = sheet_device(self.device, walk, self.store.walks_under(sheets_of(self.device)))
            taken = self._entries(device, drafts, by, {})
            taking.entries(taken, trusted=False)  # no desk's word: nothing that only a desk may say
            taking.finish()
            self.store.put_device(device, f"Paper sheets of {by}", 0)
        self.store.note_written(device)
        return tuple(one.entry.id for one in taken)

    def settle(self, conflict_id: str, *, choose: str, reason: str, by: str, knows: str = "") -> str:
        """A person ends a conflict with one of its sides. Raises DeskError where that cannot be said."""
        with self._lock:
            conflict = self.store.conflict(conflict_id)
            chosen = next(iter(self.store.entry(choose)), None)
            draft = settlement(conflict, choose, reason, chosen.body if chosen else "", self.store.jobs())
            return self.write(Draft(*draft), by=by, knows=knows)

    def adopt(self, edition: bytes, *, by: str = "desk") -> str:
        """Hold an edition and have it in force from here on; its fingerprint. Raises StoreError for another fleet's."""
        with self._lock:
            new = not self.store.known_devices()
            fingerprint = self.hold(edition)
            if new or self.store.setting("edition") != fingerprint:
                self.write(Draft("adopt", {"edition": fingerprint}), by=by)
        return fingerprint

    def hold(self, edition: bytes) -> str:
        """Keep an edition, in force or not: entries are judged by their own. Raises StoreError for another fleet's."""
        read = read_edition(edition)
        code = self.store.fleet()
        if code and code != read.code:
            raise StoreError(f"{self.store.path}: this backlog is of the fleet {code!r}, not of {read.code!r}")
        with self._lock:
            if read.fingerprint in self.store.editions():
                return read.fingerprint
            with self.store.writing():
                self.store.put_edition(read.fingerprint, edition)
                if not code:
                    self.store.set("first edition", read.fingerprint)
                    self.store.set("reads", READS)
                    self.store.set("edition", read.fingerprint)
                self._context = refold_all(self.store)
                self._changed()
        return read.fingerprint

    def give_up(self, device: str, *, reason: str, by: str) -> tuple[tuple[int, int], ...]:
        """Say that what is missing of a device will never come, so that what came after it can be known."""
        with self._lock, self.store.writing():
            missing = self.store.missing(device)
            for low, high in missing:
                self.store.put_given_up(device, low, high, f"given up by {by}: {reason}")
            self.store.advance([device])
            self._changed()
        return missing

    def rebuild(self) -> None:
        """Throw away what is derived and fold the whole log again."""
        with self._lock, collector_paused(), self.store.writing():
            self._context = refold_all(self.store)
            self._changed()

    def new_id(self) -> str:
        """A fresh id, for what several entries share: a walk."""
        return uuid7(self._now(), self._random)

    @property
    def device(self) -> str:
        """This desk's own device."""
        return self.store.setting("device")

    # --- how

    def _open(self) -> None:
        """A desk has a device of its own; a copy, put back or carried elsewhere, becomes another one."""
        place = str(self.store.path.stat().st_ino)
        copied = self.store.setting("place") != place or self.store.setting("copied")
        if not self.device or copied or self.store.is_put_back(self.device):
            with self.store.writing():
                self.store.set("device", self._new_device())
                self.store.set("place", place)
                self.store.set("copied", "")
        if self.store.setting("reads") != READS and self.store.editions():
            with self.store.writing():
                fold_again(self.store)
                self._changed()
            self._context = None
            with self._taking() as taking:
                taking.entries(lines_again(self.store), trusted=False)
                taking.finish()

    def _new_device(self) -> str:
        return "desk-" + "".join(_LETTERS[byte % len(_LETTERS)] for byte in self._random(8))

    @contextmanager
    def _taking(self) -> Iterator[Taking]:
        """A transaction with its context; after any failure the context is gathered again."""
        with self._lock, collector_paused():
            try:
                with self.store.writing():
                    taking = Taking(self.store, self._gathered(), self._moment())
                    yield taking
                    self._changed()
            except BaseException:
                self._context = None
                raise
            for sha in taking.gone:
                self.store.remove_photo_file(sha)

    def _gathered(self) -> Context:
        if self._context is None or self._context_at != self.store.setting("revision"):
            self._context = context_of(self.store)
        return self._context

    def _changed(self) -> None:
        """Mark that the file has moved on, so that every other holder of a context gathers its own again."""
        revision = str(int(self.store.setting("revision") or 0) + 1)
        self.store.set("revision", revision)
        self._context_at = revision

    def _moment(self) -> str:
        return self._now().isoformat(timespec="milliseconds")

    def _knows(self) -> dict[str, int]:
        """What the store's state includes: by number; by id those sides of conflicts that no number tells, since some
        of their device's entries are missing or it was cloned. Without them nobody could ever settle those."""
        knows = self.store.knows()
        cloned = {clone.device for clone in self.store.clones()}
        disputed = self.store.conflicts_of({*cloned, *self.store.ahead()})
        sides = [side for conflict in disputed for side in conflict.sides]
        untold = {s.entry: s.seq for s in sides if s.device in cloned or s.seq > knows.get(s.device, 0)}
        return {**knows, **untold}

    def _entries(self, device: str, drafts: Sequence[Draft], by: str, knows: Mapping[str, int]) -> list[Taken]:
        first = self.store.highest_seq(device) + 1
        others = {other: upto for other, upto in knows.items() if other != device}
        return [self._entry(device, seq, draft, by, others) for seq, draft in enumerate(drafts, first)]

    def _entry(self, device: str, seq: int, draft: Draft, by: str, knows: Mapping[str, int]) -> Taken:
        head = {
            "id": uuid7(self._now(), self._random),
            "device": device,
            "seq": seq,
            "at": self._moment(),
            "by": by,
            "edition": self.store.setting("edition"),
            "kind": draft.kind,
        }
        raw = line_of({**head, **draft.fields, "knows": knows})
        entry = entry_of(raw, Terms("", desk=True), device)
        if isinstance(entry, Fault):
            raise DeskError(f"this {draft.kind} cannot be written: {entry.why}")
        return Taken(raw, hashlib.sha256(raw).digest(), entry)

    def _refuse_overwriting(self, entries: Sequence[Any], knows: Mapping[str, int]) -> None:
        """This desk always knows its own entries, so a second window's stale page is refused here, not merged."""
        since = knows.get(self.device, 0)
        newer = [read_entry(row.body) for row in self.store.own_after(self.device, since)]
        subjects = {_subject(entry) for entry in entries}
        for entry in newer:
            if isinstance(entry, DeskEntry) and _subject(entry) in subjects:
                raise DeskError(
                    f"{entry.by} changed this at this desk after the page was opened ({entry.at:%H:%M}); "
                    "look at it again, then say it again if it still holds"
                )


def _subject(entry: Any) -> tuple[str, ...]:
    """What a desk entry speaks of: two of one subject, the second unaware of the first, would overwrite."""
    kind = type(entry).__name__
    if kind == "Settle":
        return (kind, entry.vehicle, entry.check or "", entry.spot or "", entry.fault or "")
    if kind == "Ruling":
        return (kind, entry.about, *sorted(msgspec.to_builtins(entry.set)))
    names = {"Work": "about", "Tag": "tag", "Job": "job", "PartEntry": "part", "Same": "of", "Redact": "entry"}
    name = names.get(kind)
    return (kind, str(getattr(entry, name))) if name else (kind, entry.id)


def _token(text: str) -> dict[str, int]:
    try:
        return msgspec.json.decode(text, type=dict[str, int])
    except msgspec.MsgspecError as error:
        raise DeskError("the page's own mark is damaged; open the page again") from error
