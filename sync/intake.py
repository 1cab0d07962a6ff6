"""A hand-in, read: bytes -> entries, photos, and lines set aside with reasons. Pure, streamed, in bounded memory.

`HandIn(chunks, terms)` reads the head at once; `batches()` yields what the lines hold, a chunk's worth at a time;
`summary()` then says whether the end was there and right and what is missing. Whole valid lines of a damaged
hand-in are kept; what cannot be understood is set aside whole, with its reason in words.
"""

import itertools
from collections.abc import Iterable, Iterator
from hashlib import sha256

import msgspec

from sync.entries import (
    FORMAT,
    LINE_MOST,
    PHOTO_MOST,
    Bare,
    End,
    Entry,
    Head,
    read_end,
    read_head,
    read_photo,
)
from sync.errors import IntakeError
from sync.intake_bytes import HAND_IN_MOST, Lines
from sync.intake_line import Fault, Terms, entry_of, faulty, plainly, words
from sync.intake_photo import Picture, picture_of

#: A file that has shown no good line by then is no hand-in.
_PATIENCE_LINES = 200
#: Damaged lines kept of one hand-in; past either they are only counted.
_ASIDE_LINES = 20_000
_ASIDE_BYTES = 32 * 1024 * 1024


class Taken(msgspec.Struct, frozen=True, gc=False):
    """One entry: its line's bytes as its writer wrote them, their SHA-256, and what they say."""

    raw: bytes
    digest: bytes
    entry: Entry | Bare

    @property
    def hash(self) -> str:
        return self.digest.hex()


class Aside(msgspec.Struct, frozen=True):
    """One line set aside: `code` sorts the reasons, `why` says it; `id`, `device` and `seq` where they can be read."""

    line: int
    raw: bytes
    hash: str
    code: str
    why: str
    id: str = ""
    device: str = ""
    seq: int = 0


class Batch(msgspec.Struct):
    entries: list[Taken]
    photos: list[Picture]
    aside: list[Aside]


class Summary(msgspec.Struct, frozen=True):
    """`missing` is ranges of seq between the first and the last that came, both ends in it."""

    head: Head | None
    entries: int
    photos: int
    aside: int
    uncounted: int  # damaged lines past what is kept
    complete: bool
    trouble: tuple[str, ...]  # in words: cut short, end wrong, entries lacking
    missing: tuple[tuple[int, int], ...]


class HandIn:
    """One hand-in being read. Raises IntakeError where there is nothing in it to take."""

    def __init__(self, chunks: Iterable[bytes], terms: Terms) -> None:
        self._lines = Lines(chunks)
        self._terms = terms
        self._seqs: list[int] = []
        self._entries = self._photos = self._aside = self._uncounted = self._aside_bytes = 0
        self._end: End | None = None
        self._end_right = False
        self._after_end = 0
        self._half = 0
        self._shown = ""
        self._first: list[Aside] = []
        self.head = self._read_head()
        self.device = self.head.device if self.head else ""

    def batches(self) -> Iterator[Batch]:
        """What the lines hold, in their order; each batch is one chunk's worth."""
        first, self._first = self._first, []
        if first:
            yield self._keep(Batch([], [], first))
        for number, raws in self._lines.blocks():
            batch = Batch([], [], [])
            self._read_all(number, raws, batch)
            if self._lines.half and batch.aside and batch.aside[-1].line == self._lines.half:
                self._half = batch.aside.pop().line  # the line will come again whole; its half says nothing
            kept = self._keep(batch)
            self._be_patient(_PATIENCE_LINES)
            yield kept
        self._be_patient(0)

    def summary(self) -> Summary:
        """What came and what did not; to be asked after the last batch."""
        trouble = tuple(self._trouble())
        return Summary(
            head=self.head,
            entries=self._entries,
            photos=self._photos,
            aside=self._aside,
            uncounted=self._uncounted,
            complete=not trouble,
            trouble=trouble,
            missing=gaps(self._seqs),
        )

    def _read_head(self) -> Head | None:
        number, raw = self._lines.first()
        try:
            head = read_head(raw)
        except (msgspec.MsgspecError, ValueError, RecursionError) as error:
            self._shown = raw[:40].decode("utf-8", "replace").replace("\x00", "")
            self._first.append(_aside(number, raw, "head", f"the head cannot be read ({words(error)})"))
            return None
        if head.fleet != self._terms.fleet and self._terms.fleet:
            raise IntakeError(
                f"this hand-in is of the fleet {head.fleet!r}, this backlog of {self._terms.fleet!r}: "
                "nothing was taken; take it in at the other fleet's backlog"
            )
        return head

    def _read_all(self, number: int, raws: list[bytes], batch: Batch) -> None:
        """The lines of a block. Nearly all are plain entries, and those are read here without a call each."""
        plain = self.head is not None and self.head.driptray <= FORMAT and self._end is None
        entries, seqs, terms, device = batch.entries, self._seqs, self._terms, self.device
        for offset, raw in enumerate(raws):
            entry = plainly(raw, terms, device) if plain and 0 < len(raw) <= LINE_MOST else None
            if entry is not None:
                seqs.append(entry.seq)
                entries.append(Taken(raw, sha256(raw).digest(), entry))
            elif raw:
                self._read(number + offset, raw, batch)
                plain = plain and self._end is None

    def _read(self, number: int, raw: bytes, batch: Batch) -> None:
        if self._end is not None:
            self._after_end += 1
        if raw.startswith(b'{"photo"') or len(raw) > LINE_MOST:
            self._read_photo(number, raw, batch)
        elif raw.startswith(b'{"end"'):
            self._read_end(number, raw, batch)
        else:
            self._read_entry(number, raw, batch)

    def _read_entry(self, number: int, raw: bytes, batch: Batch) -> None:
        digest = sha256(raw).digest()
        read = entry_of(raw, self._terms, self.device)
        if isinstance(read, Fault):
            batch.aside.append(Aside(number, raw, digest.hex(), read.code, read.why, read.id, read.device, read.seq))
            return
        if self.head is not None and self.head.driptray > FORMAT:
            why = f"the hand-in is of format {self.head.driptray}, this version reads {FORMAT}: update Driptray"
            code = f"format {self.head.driptray}"
            batch.aside.append(Aside(number, raw, digest.hex(), code, why, read.id, read.device, read.seq))
            return
        if not self.device:
            self.device = read.device
        self._seqs.append(read.seq)
        batch.entries.append(Taken(raw, digest, read))

    def _read_photo(self, number: int, raw: bytes, batch: Batch) -> None:
        try:
            batch.photos.append(picture_of(read_photo(raw)))
        except (msgspec.MsgspecError, ValueError, RecursionError) as error:
            over = f"the line is longer than {LINE_MOST // 1024} KiB and no photo" if b'"photo"' not in raw[:64] else ""
            batch.aside.append(_aside(number, raw[:200], "photo", over or f"photo: {words(error)}"))

    def _read_end(self, number: int, raw: bytes, batch: Batch) -> None:
        try:
            self._end = read_end(raw)
        except (msgspec.MsgspecError, ValueError, RecursionError) as error:
            batch.aside.append(_aside(number, raw, "end", f"the end line cannot be read ({words(error)})"))
            return
        self._end_right = self._end.sha256 == self._lines.hash_before(number)

    def _keep(self, batch: Batch) -> Batch:
        self._entries += len(batch.entries)
        self._photos += len(batch.photos)
        kept: list[Aside] = []
        for aside in batch.aside:
            self._aside_bytes += len(aside.raw)
            if self._aside < _ASIDE_LINES and self._aside_bytes <= _ASIDE_BYTES:
                kept.append(aside)
                self._aside += 1
            else:
                self._uncounted += 1
        return Batch(batch.entries, batch.photos, kept)

    def _be_patient(self, lines: int) -> None:
        """Raises once it is clear that this is some other file."""
        if self.head is None and not self._entries and not self._photos and self._lines.count > lines:
            shown = self._shown.strip() or "nothing readable"
            raise IntakeError(f"not a hand-in: it begins with {shown!r}, and no line of it is an entry")

    def _trouble(self) -> Iterator[str]:
        if self._lines.trouble:
            yield self._lines.trouble
        if self._end is None:
            where = f" in the middle of line {self._half}" if self._half else ""
            yield f"it is cut short{where}: its end line is missing"
        elif not self._end_right:
            yield "its end line does not match its bytes: something in it was changed on the way"
        if self._after_end:
            yield f"{self._after_end} lines follow its end line"
        if self._uncounted:
            yield f"{self._uncounted} more damaged lines were not kept: have the phone save the hand-in again"
        if self.head is None:
            return
        for declared, came, name in (
            (self.head.entries, len(self._seqs) + self._aside, "entries"),
            (self.head.photos, self._photos, "photos"),
        ):
            if came < declared and (name == "entries" or self._end is None or came):
                yield f"{declared - came} of the {declared} {name} that it declares did not come"


def gaps(seqs: Iterable[int]) -> tuple[tuple[int, int], ...]:
    """Ranges of seq that lie between the first and the last and did not come, both ends in them."""
    ordered = sorted(set(seqs))
    pairs = itertools.pairwise(ordered)
    return tuple((low + 1, high - 1) for low, high in pairs if high - low > 1)


def _aside(number: int, raw: bytes, code: str, why: str) -> Aside:
    read = faulty(raw)
    return Aside(number, raw, sha256(raw).hexdigest(), code, why, read.id, read.device, read.seq)


__all__ = ["HAND_IN_MOST", "PHOTO_MOST", "Aside", "Batch", "HandIn", "Picture", "Summary", "Taken", "Terms", "gaps"]
