"""Settling at the desk where a device's numbers do not tell what is here."""

from pathlib import Path

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
