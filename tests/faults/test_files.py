"""Backlog files that cannot be opened, read or written: a line that says what and what to do, and nothing lost."""

import os
import shutil
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing
from pathlib import Path

import pytest

from sync import store_file
from sync.errors import StoreError
from sync.service import Service
from sync.store import Store
from sync.store_file import wal_is_sound
from tests.sync.phones import Phone, edition_of, service_at

NOBODY = 65534


@pytest.fixture
def edition(tmp_path: Path) -> bytes:
    return edition_of(tmp_path / "fleet")


@pytest.fixture
def service(tmp_path: Path, edition: bytes) -> Iterator[Service]:
    service = service_at(tmp_path / "backlog.db", edition)
    phone = Phone("d-aaaa", edition)
    phone.walk()
    phone.find()
    service.take_in("a.txt", [phone.hand_in()])
    yield service
    service.store.close()


def more(edition: bytes) -> bytes:
    phone = Phone("d-bbbb", edition)
    phone.walk()
    for spot in range(300):
        phone.find("left-side/wheels", spot=str(spot), fault="cracked", note="x" * 1000)
    return phone.hand_in()


def test_a_full_disk_is_told_and_what_was_there_stays(service: Service, edition: bytes) -> None:
    connection = service.store.connection
    pages = connection.execute("PRAGMA page_count").fetchone()[0]
    connection.execute(f"PRAGMA max_page_count = {pages + 5}")
    before = service.store.count("entries")
    with pytest.raises(StoreError, match="the disk is full; nothing was changed, make room"):
        service.take_in("b.txt", [more(edition)])
    assert service.store.count("entries") == before
    connection.execute("PRAGMA max_page_count = 1000000")
    assert service.take_in("b.txt", [more(edition)]).taken == 301


def test_another_writer_is_told_and_the_hand_in_can_be_taken_after_it(service: Service, edition: bytes) -> None:
    service.store.connection.execute("PRAGMA busy_timeout = 50")
    with closing(sqlite3.connect(service.store.path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreError, match="another program is writing to it; nothing was changed, try again"):
            service.take_in("b.txt", [more(edition)])
        other.execute("ROLLBACK")
    assert service.take_in("b.txt", [more(edition)]).taken == 301


def test_a_damaged_file_is_told_with_the_way_out(service: Service, edition: bytes) -> None:
    path = service.store.path
    service.take_in("b.txt", [more(edition)])
    service.store.close()
    data = bytearray(path.read_bytes())
    data[8192 : len(data) // 2] = b"\xa5" * (len(data) // 2 - 8192)
    path.write_bytes(data)
    with pytest.raises(StoreError, match=r"damaged or no backlog.*go on from a copy"):
        Store(path).check() and Store(path).state()


@pytest.mark.parametrize("content", [b"hello, this is a letter\n" * 100, b"SQLite format 3\x00" + bytes(200)])
def test_a_file_that_is_no_backlog_is_told(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "letter.db"
    path.write_bytes(content)
    with pytest.raises(StoreError, match="damaged or no backlog"):
        Store(path)
    assert path.read_bytes() == content


def test_another_programs_database_is_left_alone(tmp_path: Path) -> None:
    path = tmp_path / "other.db"
    with closing(sqlite3.connect(path)) as other:
        other.execute("PRAGMA journal_mode = WAL")
        other.execute("CREATE TABLE tools (name TEXT)")
    content = path.read_bytes()
    with pytest.raises(StoreError, match="no backlog of Driptray's; name another file"):
        Store(path)
    assert path.read_bytes() == content


def test_a_backlog_of_a_later_version_is_left_alone(service: Service) -> None:
    path = service.store.path
    service.store.connection.execute("PRAGMA user_version = 99")
    service.store.close()
    with pytest.raises(StoreError, match=r"a newer Driptray made it .step 99.*update Driptray"):
        Store(path)


def test_a_folder_that_may_not_be_written_is_told(edition: bytes) -> None:
    """As a user without the right to: the tests may run as one who has every right."""
    folder = Path(tempfile.mkdtemp())
    try:
        service = service_at(folder / "backlog.db", edition)
        service.store.close()
        folder.chmod(0o555)
        (folder / "backlog.db").chmod(0o444)
        assert "cannot be opened for writing" in as_nobody(folder / "backlog.db", edition)
        assert "cannot be opened for writing" in as_nobody(folder / "new.db", edition)
    finally:
        folder.chmod(0o755)
        shutil.rmtree(folder)


def as_nobody(path: Path, edition: bytes) -> str:
    """What a taking in says to a user who may only read."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        said = "nothing"
        try:
            if os.geteuid() == 0:
                os.setuid(NOBODY)
            service_at(path, edition).take_in("b.txt", [more(edition)])
        except StoreError as error:
            said = str(error)
        finally:
            os.write(write, said.encode())
            os._exit(0)
    os.close(write)
    os.waitpid(child, 0)
    with os.fdopen(read) as pipe:
        return pipe.read()


@pytest.mark.parametrize(
    ("version", "sound"),
    [
        ((3, 40, 1), False), ((3, 44, 5), False), ((3, 44, 6), True), ((3, 45, 3), False), ((3, 50, 6), False),
        ((3, 50, 7), True), ((3, 51, 2), False), ((3, 51, 3), True), ((3, 52, 0), True), ((4, 0, 0), True),
    ],
)  # fmt: skip
def test_a_write_ahead_log_is_used_only_where_it_is_sound(version: tuple[int, int, int], sound: bool) -> None:
    assert wal_is_sound(version) is sound


@pytest.mark.parametrize(("sound", "mode"), [(True, "wal"), (False, "truncate")])
def test_the_journal_is_flushed_at_each_commit_whichever_it_is(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, sound: bool, mode: str
) -> None:
    monkeypatch.setattr(store_file, "wal_is_sound", lambda version: sound)
    with Store(tmp_path / "backlog.db") as store:
        assert store.rows("PRAGMA journal_mode")[0][0] == mode
        assert store.rows("PRAGMA synchronous")[0][0] == 2
