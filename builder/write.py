"""The only writer: a temporary folder, then a swap; a failed build leaves the old site whole."""

import os
import shutil
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path

from builder.errors import BuildError

#: What tells a folder that we built from one that somebody else's files lie in.
OURS = ("edition.json", "worker.js")


def write_site(out: Path, files: Mapping[str, bytes]) -> None:
    """Put the app at `out`, in place of one built before.

    Raises BuildError where it cannot be written, or where `out` holds something else; what stood there stands.
    """
    out = out.absolute()
    fresh, old = out.with_name(f".{out.name}.new"), out.with_name(f".{out.name}.old")
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        _mend(out, old)
        _refuse_foreign(out)
        _clear(fresh)
        for path, data in sorted(files.items()):
            _write(fresh / path, data)
        _swap(out, fresh, old)
    except OSError as error:
        shutil.rmtree(fresh, ignore_errors=True)
        why = error.strerror or error
        raise BuildError(f"{out}: cannot be written: {why}; what stood there still stands") from error


def write_file(out: Path, data: bytes) -> None:
    """One file whole or not at all. Raises BuildError."""
    fresh = out.with_name(f".{out.name}.new")
    try:
        out.parent.mkdir(parents=True, exist_ok=True)
        _write(fresh, data)
        fresh.replace(out)
    except OSError as error:
        with suppress(OSError):
            fresh.unlink()
        raise BuildError(f"{out}: cannot be written: {error.strerror or error}") from error


def _mend(out: Path, old: Path) -> None:
    """A build that was killed between its two renames left the old site under its other name."""
    if old.exists() and not out.exists():
        old.rename(out)
    _clear(old)


def _refuse_foreign(out: Path) -> None:
    if not out.exists():
        return
    if not out.is_dir():
        raise BuildError(f"{out}: found a file; expected a folder for the app, or nothing yet")
    if any(out.iterdir()) and not all((out / name).is_file() for name in OURS):
        raise BuildError(f"{out}: found a folder with other things in it; name an empty one, or one built before")


def _write(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _swap(out: Path, fresh: Path, old: Path) -> None:
    if not out.exists():
        fresh.rename(out)
        return
    out.rename(old)
    try:
        fresh.rename(out)
    except OSError:
        old.rename(out)
        raise
    _clear(old)


def _clear(folder: Path) -> None:
    if folder.exists():
        shutil.rmtree(folder)
