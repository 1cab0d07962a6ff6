"""The bytes of a hand-in as lines: unpacked where gzipped, hashed on the way, never more than a line in memory."""

import hashlib
import zlib
from collections.abc import Iterable, Iterator

from sync.entries import PHOTO_MOST
from sync.errors import IntakeError

#: A hand-in unpacked; phones split theirs at 20 MB.
HAND_IN_MOST = 512 * 1024 * 1024
#: The longest line there can be: a photo in base64, and what stands round it.
LONGEST = PHOTO_MOST * 4 // 3 + 1024
_PIECE = 1024 * 1024
_GZIP = b"\x1f\x8b"
_BOM = b"\xef\xbb\xbf"


class Lines:
    """Lines without their ends (a mail program's CR and a BOM taken off), and the hash of all before a line."""

    def __init__(self, chunks: Iterable[bytes]) -> None:
        self._pieces = _within(_unpacked(iter(chunks)), self)
        self._filled = self._fill()
        self._hash = hashlib.sha256()
        self._block: list[bytes] = []
        self._block_at = 1
        self.count = 0
        self.half = 0  # the number of a last line that has no line end
        self.trouble = ""

    def first(self) -> tuple[int, bytes]:
        """(1, the first line)."""
        for _ in self._filled:
            if self._block:
                self.count = 1
                return 1, self._block[0]
        raise IntakeError("not a hand-in: it is empty")

    def blocks(self) -> Iterator[tuple[int, list[bytes]]]:
        """(number of the first line, lines), from line 2 on."""
        yield 2, self._block[1:]
        self._done()
        for _ in self._filled:
            yield self._block_at, self._block
            self._done()

    def hash_before(self, number: int) -> str:
        """SHA-256 in hex over every byte before a line of the present block."""
        so_far = self._hash.copy()
        before = self._block[: number - self._block_at]
        if before:
            so_far.update(b"\n".join(before) + b"\n")
        return so_far.hexdigest()

    def _done(self) -> None:
        if self._block:
            self._hash.update(b"\n".join(self._block) + b"\n")
        self._block_at += len(self._block)
        self.count = self._block_at - 1
        self._block = []

    def _fill(self) -> Iterator[None]:
        """Each time on, the next block of whole lines; the last may lack its line end."""
        parts: list[bytes] = []
        held = 0
        for piece in self._pieces:
            cut = piece.rfind(b"\n")
            if cut < 0:
                held = self._hold(parts, held, piece)
                continue
            block = b"".join([*parts, piece[:cut]])
            parts, held = [piece[cut + 1 :]], len(piece) - cut - 1
            self._block = [line.removesuffix(b"\r") for line in block.split(b"\n")]
            yield
        last = b"".join(parts)
        if last:
            self._block = [last.removesuffix(b"\r")]
            self.half = self._block_at
            yield

    def _hold(self, parts: list[bytes], held: int, piece: bytes) -> int:
        """A line that goes on over pieces; past the longest there can be, its rest is let go."""
        room = LONGEST + 1 - held
        if room > 0:
            parts.append(piece[:room])
        elif not self.trouble:
            self.trouble = f"a line of it is longer than {LONGEST // 1024} KiB: the rest of that line was let go"
        return held + min(len(piece), max(room, 0))


def _within(pieces: Iterator[bytes], lines: Lines) -> Iterator[bytes]:
    """The pieces up to the cap; the BOM off the first."""
    total = 0
    for piece in pieces:
        yield piece.removeprefix(_BOM) if total == 0 else piece
        total += len(piece)
        if total > HAND_IN_MOST:
            lines.trouble = f"it is longer than {HAND_IN_MOST // 1024**2} MiB: what comes after was not read"
            return


def _unpacked(chunks: Iterator[bytes]) -> Iterator[bytes]:
    """Pieces of at most 1 MiB (as handed in) from plain or gzipped chunks."""
    first = b""
    for chunk in chunks:
        first += chunk
        if len(first) >= len(_GZIP):
            break
    if not first.startswith(_GZIP):
        if first:
            yield first
        yield from (chunk for chunk in chunks if chunk)
        return
    yield from _gunzipped(first, chunks)


def _gunzipped(first: bytes, chunks: Iterator[bytes]) -> Iterator[bytes]:
    unpacker = zlib.decompressobj(wbits=31)
    data = first
    while True:
        try:
            piece = unpacker.decompress(data, _PIECE)
        except zlib.error:
            return  # what was whole before the damage has been handed on; the end line will be lacking
        if piece:
            yield piece
        data = unpacker.unconsumed_tail
        if unpacker.eof:
            return
        if not data:
            data = next(chunks, b"")
            if not data:
                return
