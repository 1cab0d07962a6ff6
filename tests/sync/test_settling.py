"""Settling at the desk: what ends a conflict says no more than that."""

from pathlib import Path

import pytest

from sync.service import Draft, Service
from tests.sync.phones import Phone, edition_of, hand_in_of, service_at


def test_a_conflict_whose_side_stands_after_a_missing_entry_can_be_settled(tmp_path: Path) -> None:
    edition = edition_of(tmp_path / "fleet")
    service = service_at(tmp_path / "backlog.db", edition)
    first, other = Phone("d-aaaa", edition, "AB"), Phone("d-bbbb", edition, "RM")
    first.walk()
    first.find()
    other.walk()
    other.find(check="nose/lamp", result="unchecked", why="dark")
    other.find(result="sound")
    cut = hand_in_of([other.lines[0], other.lines[2]], other)
    service.take_in_all([("a.txt", [first.hand_in()]), ("b.txt", [cut])])
    (conflict,) = service.store.conflicts()
    assert service.store.knows()["d-bbbb"] == 1
    service.settle(conflict.id, choose=conflict.stands, reason="looked at it together", by="AB")
    assert service.store.conflicts() == ()


@pytest.fixture
def desks(tmp_path: Path) -> tuple[Service, Phone]:
    """This desk, and another whose entries come without knowing of it."""
    edition = edition_of(tmp_path / "fleet")
    return service_at(tmp_path / "backlog.db", edition), Phone("desk-zzzzzzzz", edition, "RM")


def test_settling_a_dispute_over_work_books_no_hours_twice(tmp_path: Path, desks: tuple[Service, Phone]) -> None:
    service, other = desks
    phone = Phone("d-aaaa", edition_of(tmp_path / "again"), "AB")
    phone.walk()
    phone.find()
    service.take_in("a.txt", [phone.hand_in()])
    opening, page = service.store.defects()[0].opening, service.token()
    mended = other.write("work", about=opening, state="mended", hours=5, cost=100, knows={"d-aaaa": 2})
    service.take_in("other.txt", [other.hand_in()], desk=True)
    service.write(Draft("work", {"about": opening, "state": "in hand", "hours": 1}), by="AB", knows=page)
    (conflict,) = service.store.conflicts()
    service.settle(conflict.id, choose=mended, reason="it is mended", by="AB")
    settled = service.store.defect(opening)
    assert (settled.status, settled.spent.hours, settled.spent.cost) == ("mended", 6, 100)


def test_settling_a_jobs_title_leaves_its_other_fields_as_they_stand(desks: tuple[Service, Phone]) -> None:
    service, other = desks
    page = service.token()
    other.write("job", job="j-1", title="Pack out", vehicle="otter", defects=["b1", "b2"], knows={})
    service.take_in("other.txt", [other.hand_in()], desk=True)
    fields = {"job": "j-1", "title": "Saturday", "vehicle": "otter", "defects": ["a1"]}
    chosen = service.write(Draft("job", fields), by="AB", knows=page)
    conflict = next(one for one in service.store.conflicts() if one.field == "title")
    service.settle(conflict.id, choose=chosen, reason="the better name", by="AB")
    (job,) = service.store.jobs()
    assert (job.title, set(job.defects)) == ("Saturday", {"a1", "b1", "b2"})
    assert service.store.conflicts() == ()
