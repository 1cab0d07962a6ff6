"""A copy of a backlog with its photos, good to go on from: flushed to the disk before it is called one."""

import shutil
from datetime import datetime
from pathlib import Path

from sync.errors import StoreError
from sync.store import Store
from sync.store_file import flush


def back_up(store: Store, target: Path, now: datetime) -> tuple[int, int]:
    """(entries, photos) now held by the copy at `target`; phones may let go of photos that a copy holds.

    The copy becomes another desk when it is opened: two files that write under one device would contradict each other.
    Raises StoreError where the target is the backlog itself, or a photo is not what it should be.
    """
    if target.exists() and target.samefile(store.path):
        raise StoreError(f"{target}: this is the backlog itself; name another file, best on another disk")
    target.parent.mkdir(parents=True, exist_ok=True)
    store.copy_to(target)
    with Store(target) as copy:
        photos = _copy_photos(store, copy)
        with copy.writing():
            copy.set("copied", now.isoformat(timespec="seconds"))
        entries = copy.count("entries")
    with store.writing():
        store.note_backup(photos, now.isoformat(timespec="seconds"))
    return entries, len(photos)


def _copy_photos(store: Store, copy: Store) -> list[str]:
    """The photos that the copy names, those that it has already left alone."""
    copy.photo_folder.mkdir(exist_ok=True)
    done: list[str] = []
    for photo in copy.photos():
        source, target = store.photo_path(photo.sha256), copy.photo_path(photo.sha256)
        if not source.exists():
            continue
        if not target.exists() or target.stat().st_size != photo.size:
            part = target.with_suffix(".part")
            shutil.copyfile(source, part)
            flush(part)
            part.replace(target)
        done.append(photo.sha256)
    flush(copy.photo_folder)
    return done
