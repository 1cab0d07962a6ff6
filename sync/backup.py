"""A copy of a backlog with its photos, good to go on from: flushed to the disk before it is called one."""

import shutil
from datetime import datetime
from pathlib import Path
from typing import NamedTuple

from sync.errors import StoreError
from sync.store import Store
from sync.store_file import flush


class Copied(NamedTuple):
    """What a copy holds now; `left_out` are photos whose files here are lacking or damaged: no copy holds those."""

    entries: int
    photos: int
    left_out: tuple[str, ...]


def back_up(store: Store, target: Path, now: datetime) -> Copied:
    """Copy a backlog and its photos to `target`; phones may let go of photos that a copy holds, and of no others.

    The copy becomes another desk when it is opened: two files that write under one device would contradict each other.
    Raises StoreError where the target is the backlog itself.
    """
    if target.exists() and target.samefile(store.path):
        raise StoreError(f"{target}: this is the backlog itself; name another file, best on another disk")
    target.parent.mkdir(parents=True, exist_ok=True)
    store.copy_to(target)
    with Store(target) as copy:
        copy.photo_folder.mkdir(exist_ok=True)
        photos = [photo.sha256 for photo in copy.photos()]
        held = [sha for sha in photos if copy.photo_is_whole(sha) or _copied(store, copy, sha)]
        flush(copy.photo_folder)
        with copy.writing():
            copy.set("copied", now.isoformat(timespec="seconds"))
        entries = copy.count("entries")
    with store.writing():
        store.note_backup(held, now.isoformat(timespec="seconds"))
    return Copied(entries, len(held), tuple(sorted(set(photos) - set(held))))


def _copied(store: Store, copy: Store, sha256: str) -> bool:
    """Whether the copy holds the photo now, byte for byte what its name says."""
    source, target = store.photo_path(sha256), copy.photo_path(sha256)
    if not source.exists():
        return False
    part = target.with_suffix(".part")
    shutil.copyfile(source, part)
    flush(part)
    part.replace(target)
    return copy.photo_is_whole(sha256)
