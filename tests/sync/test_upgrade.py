"""What an earlier version kept for a later one is read when that one opens the backlog."""

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


@pytest.mark.parametrize("flag", ["waiting", "conflict", "holding", "perhaps_same"])
def test_a_backlog_of_the_first_step_answers_what_later_indexes_are_for(
    tmp_path: Path, phone: Phone, monkeypatch: pytest.MonkeyPatch, flag: str
) -> None:
    with monkeypatch.context() as before:
        before.setattr(store_file, "STEPS", STEPS[:1])
        service = service_at(tmp_path / "backlog.db", edition_of(tmp_path / "fleet"))
        service.take_in("a.txt", [phone.hand_in()])
        service.store.close()
    with Store(tmp_path / "backlog.db") as store:
        assert store.backlog(START.date()).total == 1
        assert store.backlog(START.date(), Query(**{flag: True})).rows == ()
        assert store.due("2027-01-01", 5) == store.pair_page("", None, 5).rows == ()
