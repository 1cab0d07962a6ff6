"""Whether a backlog is what its log says: every line against its hash, every photo, and the whole log folded again."""

import hashlib
import tempfile
from collections.abc import Iterator, Mapping
from itertools import islice, zip_longest
from pathlib import Path

import msgspec

from sync.refold import refold_all
from sync.store import Store
from sync.store_derived import COMPARED

_SHOWN = 10


class Verdict(msgspec.Struct, frozen=True, kw_only=True):
    """What was looked at, and what was found wrong, the first ten of each kind."""

    entries: int
    photos: int
    file: tuple[str, ...] = ()  # what SQLite's own check says
    lines: tuple[str, ...] = ()  # entries that are not what their hash says
    pictures: tuple[str, ...] = ()  # photos lacking or changed
    derived: tuple[str, ...] = ()  # rows that a refold makes otherwise; `--rebuild` mends these

    @property
    def whole(self) -> bool:
        return not (self.file or self.lines or self.pictures or self.derived)


def verify(store: Store) -> Verdict:
    """Check everything. The backlog itself is only read: the refold is done in a copy."""
    return Verdict(
        entries=store.count("entries"),
        photos=store.count("photos"),
        file=tuple(store.check()),
        lines=tuple(islice(_changed_lines(store), _SHOWN)),
        pictures=tuple(islice(_changed_photos(store), _SHOWN)),
        derived=tuple(islice(_differences(store), _SHOWN)),
    )


def _changed_lines(store: Store) -> Iterator[str]:
    redacted = store.redacted_entries()
    for row in store.entries():
        if row.id not in redacted and hashlib.sha256(row.body.encode()).hexdigest() != row.hash:
            yield f"entry {row.id} of {row.device}: its line is not what its hash says"


def _changed_photos(store: Store) -> Iterator[str]:
    for photo in store.photos():
        path = store.photo_path(photo.sha256)
        if not path.exists():
            yield f"photo {photo.sha256}: there is no {path.name}"
        elif not store.photo_is_whole(photo.sha256):
            yield f"photo {photo.sha256}: {path.name} was changed"


def _differences(store: Store) -> Iterator[str]:
    with tempfile.TemporaryDirectory() as folder:
        copy = Path(folder) / "refolded.db"
        store.copy_to(copy)
        with Store(copy) as again:
            with again.writing():
                refold_all(again)
            for table in COMPARED:
                yield from islice(_between(table, store, again), _SHOWN)


def _between(table: str, store: Store, again: Store) -> Iterator[str]:
    """Rows in an order of their own on both sides: the first that differ are told, then what follows them is."""
    for have, want in zip_longest(store.derived_rows(table), again.derived_rows(table)):
        if have != want:
            yield f"{table}: {_told(have, want)}"


def _told(have: Mapping[str, object] | None, want: Mapping[str, object] | None) -> str:
    """Which row, and the columns that are not as they should be."""
    if have is None or want is None:
        return f"{_row(want or {})} is lacking" if have is None else f"{_row(have)} should not be there"
    if list(have.values())[:1] != list(want.values())[:1]:
        return f"{_row(have)} stands where {_row(want)} should"
    wrong = [f"{name} {_short(value)} should be {_short(want[name])}" for name, value in have.items()
             if value != want[name] and name != "body"]  # fmt: skip
    return f"{_row(have)}: {'; '.join(wrong) or 'what it was made from differs'}"


def _row(row: Mapping[str, object]) -> str:
    return ", ".join(_short(value) for value in list(row.values())[:3])


def _short(value: object) -> str:
    text = str(value)
    return text if len(text) <= 40 else f"{text[:39]}…"
