"""The backlog file itself: opened, brought forward, its transactions, its copies. No table is known here."""

import contextlib
import os
import sqlite3
import threading
import weakref
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from sync.errors import StoreError
from sync.migrations import STEPS

#: "dtry", so that `file` and SQLite tools can tell whose it is.
APPLICATION_ID = 0x64747279
#: Releases whose write-ahead log is free of the WAL-reset defect (sqlite.org, 2026): each line's first good one.
_WAL_SOUND = {(3, 44): 6, (3, 50): 7, (3, 51): 3}
_WAIT_S = 10.0
_CACHE_KIB = 32 * 1024


def wal_is_sound(version: tuple[int, int, int]) -> bool:
    """Whether this SQLite release may be trusted with a write-ahead log."""
    line, patch = version[:2], version[2]
    return line > (3, 51) or patch >= _WAL_SOUND.get(line, 1_000_000)


class _Held:
    """A thread's connection, closed when the thread has ended: a server's threads come and go."""

    def __init__(self, connection: sqlite3.Connection) -> None:
        self.connection = connection

    def __del__(self) -> None:
        self.connection.close()


class StoreFile:
    """One backlog file. Each thread gets its own connection; one writer at a time, by SQLite's own lock.

    Every failure comes out as StoreError with the file's name, what was found, and the way out.
    """

    def __init__(self, path: Path, *, create: bool = True) -> None:
        self.path = path
        self._own = threading.local()
        self._all: weakref.WeakSet[_Held] = weakref.WeakSet()
        self._guard = threading.Lock()
        if not create and not path.exists():
            raise StoreError(f"{path}: no such backlog; `driptray take-in` with --fleet FLEET makes one")
        with self._told():
            self._forward(self.connection)

    @property
    def connection(self) -> sqlite3.Connection:
        """This thread's connection."""
        held: _Held | None = getattr(self._own, "held", None)
        if held is None:
            with self._told():
                held = self._own.held = _Held(self._connect())
            with self._guard:
                self._all.add(held)
        return held.connection

    def close(self) -> None:
        with self._guard:
            for held in self._all:
                held.connection.close()
            self._all.clear()
        self._own = threading.local()

    def __enter__(self) -> "StoreFile":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    @contextlib.contextmanager
    def writing(self) -> Iterator[sqlite3.Connection]:
        """One transaction: all of it is in the file and flushed to the disk, or none. Only one at a time anywhere."""
        connection = self.connection
        with self._told():
            connection.execute("BEGIN IMMEDIATE")
            try:
                yield connection
                connection.execute("COMMIT")
            except BaseException:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")
                raise

    @contextlib.contextmanager
    def reading(self) -> Iterator[sqlite3.Connection]:
        """Several reads that see one state of the file."""
        connection = self.connection
        if connection.in_transaction:
            yield connection
            return
        with self._told():
            connection.execute("BEGIN")
            try:
                yield connection
            finally:
                if connection.in_transaction:
                    connection.execute("ROLLBACK")

    def rows(self, sql: str, values: object = ()) -> list[tuple[Any, ...]]:
        with self._told():
            return self.connection.execute(sql, values).fetchall()  # type: ignore[arg-type]

    def copy_to(self, target: Path) -> None:
        """A whole copy by the backup API, flushed, then put in place under its name in one step."""
        part = target.with_name(f"{target.name}.part")
        with self._told():
            part.unlink(missing_ok=True)
            with contextlib.closing(sqlite3.connect(part)) as copy:
                self.connection.backup(copy)
            flush(part)
            part.replace(target)
            flush(target.parent)

    def check(self) -> list[str]:
        """What SQLite's own check finds wrong with the file; nothing where it is whole."""
        found = [str(row[0]) for row in self.rows("PRAGMA integrity_check(20)")]
        return [] if found == ["ok"] else found

    def _connect(self) -> sqlite3.Connection:
        connection = sqlite3.connect(self.path, timeout=_WAIT_S, isolation_level=None, check_same_thread=False)
        self._refuse_foreign(connection)  # before the first pragma that writes
        mode = "WAL" if wal_is_sound(sqlite3.sqlite_version_info) else "TRUNCATE"
        # TRUNCATE syncs the emptied journal; DELETE leaves its unlinking to chance after a power cut.
        for pragma in (f"journal_mode={mode}", "synchronous=FULL", f"cache_size=-{_CACHE_KIB}", "foreign_keys=ON",
                       "temp_store=MEMORY"):  # fmt: skip
            connection.execute(f"PRAGMA {pragma}")
        return connection

    def _forward(self, connection: sqlite3.Connection) -> None:
        have = self._version(connection)
        if have == len(STEPS):
            return
        if have:
            self._keep_copy(have)
        with self.writing():  # all of them or none, and another process may have taken them meanwhile
            for step in STEPS[self._version(connection) :]:
                step(connection)
            connection.execute(f"PRAGMA application_id = {APPLICATION_ID}")
            connection.execute(f"PRAGMA user_version = {len(STEPS)}")

    def _version(self, connection: sqlite3.Connection) -> int:
        have = int(connection.execute("PRAGMA user_version").fetchone()[0])
        if have > len(STEPS):
            raise StoreError(
                f"{self.path}: a newer Driptray made it (step {have}, this one knows {len(STEPS)}); update Driptray"
            )
        return have

    def _refuse_foreign(self, connection: sqlite3.Connection) -> None:
        ours = connection.execute("PRAGMA application_id").fetchone()[0] == APPLICATION_ID
        if not ours and connection.execute("SELECT count(*) FROM sqlite_schema").fetchone()[0]:
            connection.close()
            raise StoreError(f"{self.path}: a SQLite file, but no backlog of Driptray's; name another file")

    def _keep_copy(self, have: int) -> None:
        self.copy_to(self.path.with_name(f"{self.path.name}.before-step-{have + 1}"))

    @contextlib.contextmanager
    def _told(self) -> Iterator[None]:
        try:
            yield
        except sqlite3.Error as error:
            raise StoreError(f"{self.path}: {_in_words(error)}") from error
        except OSError as error:
            raise StoreError(f"{error.filename or self.path}: {error.strerror or error}") from error


def flush(path: Path) -> None:
    """A file or folder as it stands, made to last through a power cut."""
    if os.name == "nt" and path.is_dir():
        return  # Windows has no handle for that; a rename there is journalled
    handle = os.open(path, os.O_RDONLY if path.is_dir() else os.O_RDWR)
    try:
        os.fsync(handle)
    finally:
        os.close(handle)


def _in_words(error: sqlite3.Error) -> str:
    text = str(error)
    code = getattr(error, "sqlite_errorname", "") or ""
    if code.startswith(("SQLITE_BUSY", "SQLITE_LOCKED")):
        return "another program is writing to it; nothing was changed, try again when that is done"
    if code.startswith("SQLITE_FULL"):
        return "the disk is full; nothing was changed, make room and try again"
    if code.startswith(("SQLITE_READONLY", "SQLITE_CANTOPEN", "SQLITE_PERM")):
        return f"it cannot be opened for writing ({text}); check the folder's and the file's permissions"
    if code.startswith(("SQLITE_CORRUPT", "SQLITE_NOTADB")):
        return f"it is damaged or no backlog ({text}); keep it, and go on from a copy (`driptray backup` makes them)"
    if code.startswith("SQLITE_IOERR"):
        return f"the disk does not read or write it ({text}); nothing was changed, check the disk"
    return f"{text} ({code or 'SQLite'})"
