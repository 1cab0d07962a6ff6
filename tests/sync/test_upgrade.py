"""What an earlier version kept for a later one is read when that one opens the backlog."""

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import msgspec
import pytest

from sync import entries, intake_line, refold, service_again, store_file
from sync.entries import KINDS, Finding, Report, Walk
from sync.migrations import STEPS
from sync.service import Service
from sync.store import Store
from sync.store_rows import Query
from tests.sync.phones import START, Dice, Phone, edition_of, service_at


@pytest.fixture
def phone(tmp_path: Path) -> Phone:
    phone = Phone("d-aaaa", edition_of(tmp_path / "fleet"))
    phone.walk()
    phone.find()
    phone.write("run", vehicle="otter", day="2026-10-17", hours=1.5)
    return phone


def earlier(monkeypatch: pytest.MonkeyPatch) -> None:
    """A version that knows no runs."""
    known = msgspec.json.Decoder(Walk | Finding | Report | entries.Adopt).decode
    monkeypatch.setattr(intake_line, "read_entry", known)
    monkeypatch.setattr(intake_line, "KINDS", KINDS - {"run"})
    monkeypatch.setattr(service_again, "READS", "an earlier version")
    monkeypatch.setattr("sync.service.READS", "an earlier version")


def test_an_entry_of_a_kind_that_was_unknown_counts_after_the_upgrade(
    tmp_path: Path, phone: Phone, monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as before:
        earlier(before)
        service = service_at(tmp_path / "backlog.db", edition_of(tmp_path / "fleet"))
        receipt = service.take_in("a.txt", [phone.hand_in()])
        assert (receipt.taken, receipt.later) == (3, 1)
        assert service.store.runs("otter") == ()
        service.store.close()
    again = Service(service.store, lambda: START, Dice("again"))
    assert [run.hours for run in again.store.runs("otter")] == [1.5]


def test_a_line_set_aside_that_can_be_read_now_is_taken(
    tmp_path: Path, phone: Phone, monkeypatch: pytest.MonkeyPatch
) -> None:
    service = service_at(tmp_path / "backlog.db", edition_of(tmp_path / "fleet"))
    service.take_in("a.txt", [phone.hand_in(driptray=2)])
    assert len(service.store.set_aside()) == 3
    monkeypatch.setattr(service_again, "FORMAT", 2)
    monkeypatch.setattr("sync.service.READS", "format 2")
    again = Service(service.store, lambda: START, Dice("again"))
    assert again.store.set_aside() == ()
    assert [defect.fault for defect in again.store.defects()] == ["slack"]
    assert refold.context_of(again.store) is not None


@pytest.mark.parametrize(
    ("given", "code"), [({"driptray": 2}, "format 2"), ({"device": "d-bbbb"}, "device")], ids=["format", "device"]
)
def test_a_line_that_was_refused_stays_out_when_the_fold_alone_is_new(
    tmp_path: Path, phone: Phone, given: dict[str, Any], code: str
) -> None:
    service = service_at(tmp_path / "backlog.db", edition_of(tmp_path / "fleet"))
    service.take_in("a.txt", [phone.hand_in(**given)])
    with service.store.writing():
        service.store.set("reads", "the same format, an earlier fold")
    again = Service(service.store, lambda: START, Dice("again"))
    assert [row.code for row in again.store.set_aside()] == [code] * 3
    assert again.store.defects() == ()


def test_what_another_version_folded_is_folded_anew_when_the_backlog_is_opened(tmp_path: Path, phone: Phone) -> None:
    service = service_at(tmp_path / "backlog.db", edition_of(tmp_path / "fleet"))
    service.take_in("a.txt", [phone.hand_in()])
    state = service.store.state()
    with service.store.writing() as connection:
        connection.execute("UPDATE defects SET severity = 'minor', body = json_set(body, '$.severity', 'minor')")
        service.store.set("reads", "an earlier version")
    assert service.store.state() != state
    assert Service(service.store, lambda: START, Dice("again")).store.state() == state


def as_the_first_step_held_it(full: Path, earlier: Path) -> None:
    """The rows of a backlog in tables that the first step alone has made."""
    with closing(sqlite3.connect(earlier, isolation_level=None)) as file:
        STEPS[0](file)
        file.execute("ATTACH ? AS full", (str(full),))
        tables = [row[0] for row in file.execute("SELECT name FROM main.sqlite_schema WHERE type = 'table'")]
        file.execute("DROP TRIGGER texts_in")  # the words' own tables are copied as they are
        for table in tables:
            columns = ", ".join(row[1] for row in file.execute(f"PRAGMA main.table_info({table})"))
            if columns and not table.startswith(("sqlite_", "words")):
                file.execute(f"INSERT INTO main.{table} ({columns}) SELECT {columns} FROM full.{table}")
        file.execute("CREATE TRIGGER texts_in AFTER INSERT ON texts BEGIN"
                     " INSERT INTO words (rowid, text) VALUES (new.number, new.text); END")  # fmt: skip
        file.execute("INSERT INTO words (words) VALUES ('rebuild')")
        file.execute(f"PRAGMA application_id = {store_file.APPLICATION_ID}")
        file.execute("PRAGMA user_version = 1")


@pytest.mark.parametrize("flag", ["waiting", "conflict", "holding", "perhaps_same"])
def test_a_backlog_of_the_first_step_is_brought_forward_with_all_it_holds(
    tmp_path: Path, phone: Phone, flag: str
) -> None:
    service = service_at(tmp_path / "full.db", edition_of(tmp_path / "fleet"))
    service.take_in("a.txt", [phone.hand_in()])
    state = service.store.state()
    service.store.close()
    as_the_first_step_held_it(tmp_path / "full.db", tmp_path / "backlog.db")
    with Store(tmp_path / "backlog.db") as store:
        assert store.state() == state
        assert store.backlog(START.date()).total == 1
        assert store.backlog(START.date(), Query(**{flag: True})).rows == ()
        assert store.due("2027-01-01", 5) == store.pair_page("", None, 5).rows == ()
        assert [walk.walk for walk in store.walks("otter")] == [phone.walk_id]
    assert (tmp_path / "backlog.db.before-step-2").exists()
