"""What the service promises: taken once, written by the desk's own device, never overwritten unseen."""

import gc
import json
import threading
from datetime import date
from pathlib import Path

import msgspec
import pytest

from sync.backup import back_up
from sync.errors import DeskError, StoreError
from sync.service import Draft, Service
from sync.service_take import Receipt
from sync.store import Store
from tests.sync.phones import START, Dice, Phone, edition_of, picture, service_at

DAY = date(2026, 10, 18)


@pytest.fixture
def edition(tmp_path: Path) -> bytes:
    return edition_of(tmp_path / "fleet")


@pytest.fixture
def service(tmp_path: Path, edition: bytes) -> Service:
    return service_at(tmp_path / "backlog.db", edition)


@pytest.fixture
def two(edition: bytes) -> tuple[Phone, Phone]:
    """Two people on one round: slack and sound at the same place."""
    first, other = Phone("d-aaaa", edition, "AB"), Phone("d-bbbb", edition, "RM")
    first.walk()
    first.find(note="adjuster at its stop", photos=[first.picture()])
    other.walk()
    other.find(result="sound")
    return first, other


def taken(service: Service, *phones: Phone) -> tuple[Receipt, ...]:
    return service.take_in_all([(f"{phone.device}.txt", [phone.hand_in()]) for phone in phones])


def test_a_hand_in_given_twice_counts_once(service: Service, two: tuple[Phone, Phone]) -> None:
    first, _ = two
    receipts = taken(service, first, first)
    assert [(r.taken, r.already, r.photos) for r in receipts] == [(2, 0, 1), (0, 2, 0)]
    assert len(service.store.defects()) == 1


def test_one_bad_file_among_good_ones_is_refused_and_the_others_are_taken(
    service: Service, two: tuple[Phone, Phone]
) -> None:
    sources = [("letter.txt", [b"Dear all\n"]), ("a.txt", [two[0].hand_in()])]
    receipts = service.take_in_all(sources)
    assert receipts[0].refused.startswith("not a hand-in")
    assert receipts[1].taken == 2
    assert [batch.source for batch in service.store.batches()] == ["a.txt"]


def test_photos_stand_beside_the_backlog_under_their_hash(service: Service, two: tuple[Phone, Phone]) -> None:
    taken(service, two[0])
    (name,) = two[0].photos
    assert service.store.photo_path(name).read_bytes() == two[0].photos[name]
    assert not list(service.store.photo_folder.glob("*.part"))


def test_a_photo_that_has_not_come_is_asked_for_until_it_comes(service: Service, two: tuple[Phone, Phone]) -> None:
    photos, two[0].photos = two[0].photos, {}
    (receipt,) = taken(service, two[0])
    assert receipt.want_photos == tuple(photos)
    for name, data in photos.items():
        assert service.put_photo(name, data)
    assert service.store.wanted_photos() == ()


def test_a_photo_under_a_name_that_is_not_its_own_is_refused(service: Service) -> None:
    with pytest.raises(DeskError, match="its bytes are not those of"):
        service.put_photo("0" * 64, picture())


def test_gaps_are_told_and_end_what_may_be_said_to_be_known(service: Service, edition: bytes) -> None:
    phone = Phone("d-aaaa", edition)
    phone.walk()
    for spot in "123456":
        phone.find("left-side/wheels", "sound", spot=spot)
    receipt = service.take_in("later.txt", [phone.hand_in(5, 7)])
    assert receipt.missing == ((1, 4),)
    assert service.store.knows().get("d-aaaa") is None
    service.take_in("earlier.txt", [phone.hand_in(1, 3)])
    assert service.store.knows()["d-aaaa"] == 3
    assert service.store.missing("d-aaaa") == ((4, 4),)


def test_what_was_given_up_no_longer_keeps_the_rest_from_being_known(service: Service, edition: bytes) -> None:
    phone = Phone("d-aaaa", edition)
    phone.walk()
    phone.find()
    phone.find("left-side/wheels", "sound", spot="1")
    service.take_in("part.txt", [phone.hand_in(3, 3)])
    assert service.give_up("d-aaaa", reason="the phone fell into the sump", by="AB") == ((1, 2),)
    assert service.store.knows()["d-aaaa"] == 3


def test_a_settlement_ends_the_conflict_by_an_entry_of_the_desks_own_device(
    service: Service, two: tuple[Phone, Phone]
) -> None:
    taken(service, *two)
    (conflict,) = service.store.conflicts()
    entry = service.settle(conflict.id, choose=conflict.stands, reason="looked together", by="AB")
    assert service.store.conflicts() == ()
    (row,) = service.store.entry(entry)
    assert (row.device, row.kind, row.trusted) == (service.device, "settle", True)


@pytest.mark.parametrize(
    ("choose", "reason", "why"),
    [("0199f5c2-7d10-7c3e-9a51-2f0c8e6b1a01", "looked", "is no side of"), ("", "looked", "is no side of")],
)
def test_a_settlement_for_what_nobody_said_is_refused(
    service: Service, two: tuple[Phone, Phone], choose: str, reason: str, why: str
) -> None:
    taken(service, *two)
    (conflict,) = service.store.conflicts()
    with pytest.raises(DeskError, match=why):
        service.settle(conflict.id, choose=choose, reason=reason, by="AB")


def test_a_settlement_without_a_reason_is_refused(service: Service, two: tuple[Phone, Phone]) -> None:
    taken(service, *two)
    (conflict,) = service.store.conflicts()
    with pytest.raises(DeskError, match="needs a reason"):
        service.settle(conflict.id, choose=conflict.stands, reason="  ", by="AB")


def test_the_desks_seqs_have_no_gaps_whatever_fails_between(service: Service, two: tuple[Phone, Phone]) -> None:
    taken(service, two[0])
    opening = service.store.defects()[0].opening
    owner = Draft("ruling", {"about": opening, "vehicle": "otter", "set": {"owner": "TW"}})
    service.write(owner, by="AB")
    with pytest.raises(DeskError, match="this work cannot be written: state"):
        service.write_all([owner, Draft("work", {"about": opening, "state": "half done"})], by="AB")
    service.write(owner, by="AB")
    own = [row.seq for row in service.store.entries() if row.device == service.device]
    assert own == [1, 2, 3]


def test_a_second_window_does_not_overwrite_what_the_first_one_said_unseen(
    service: Service, two: tuple[Phone, Phone]
) -> None:
    """Both show the same defect; the first changes its owner; the second may change its state, not its owner."""
    taken(service, two[0])
    opening = service.store.defects()[0].opening
    page = service.token()

    def owner(name: str) -> Draft:
        return Draft("ruling", {"about": opening, "vehicle": "otter", "set": {"owner": name}})

    service.write(owner("TW"), by="AB", knows=page)
    with pytest.raises(DeskError, match="AB changed this at this desk after the page was opened"):
        service.write(owner("LB"), by="RM", knows=page)
    service.write(Draft("work", {"about": opening, "state": "in hand"}), by="RM", knows=page)
    assert service.store.defect(opening).owner == "TW"
    service.write(owner("LB"), by="RM", knows=service.token())
    assert service.store.defect(opening).owner == "LB"


def test_what_came_in_after_the_page_was_opened_is_not_known_to_what_is_written_from_it(
    service: Service, two: tuple[Phone, Phone]
) -> None:
    taken(service, two[0])
    page = service.token()
    taken(service, two[1])
    (conflict,) = service.store.conflicts()
    service.settle(conflict.id, choose=conflict.stands, reason="looked", by="AB", knows=page)
    assert service.store.conflicts(), "a late statement that the page did not show keeps the conflict open"


def test_a_copy_becomes_another_desk_when_it_is_opened(tmp_path: Path, service: Service) -> None:
    service.store.copy_to(tmp_path / "copy.db")
    copy = Service(Store(tmp_path / "copy.db"), lambda: START, Dice("another"))
    assert copy.device != service.device
    assert copy.device.startswith("desk-")


def test_a_backlog_put_back_in_place_becomes_another_desk(tmp_path: Path, service: Service) -> None:
    first = service.device
    service.store.copy_to(tmp_path / "monday.db")
    service.write(Draft("tag", {"vehicle": "otter", "tag": "jack", "on": True}), by="AB")
    service.store.close()
    (tmp_path / "backlog.db").write_bytes((tmp_path / "monday.db").read_bytes())  # the same file to the system
    with Store(tmp_path / "backlog.db") as store:
        assert Service(store, lambda: START, Dice("again")).device != first


def test_entries_written_together_are_named_in_the_order_they_were_given(service: Service) -> None:
    drafts = [Draft("tag", {"vehicle": "otter", "tag": str(number), "on": True}) for number in range(40)]
    written = service.write_all(drafts, by="AB")
    assert [json.loads(service.store.entry(one)[0].body)["tag"] for one in written] == [str(n) for n in range(40)]


def test_a_photo_whose_file_is_gone_is_wanted_again(service: Service, two: tuple[Phone, Phone]) -> None:
    taken(service, two[0])
    ((sha, data),) = two[0].photos.items()
    service.store.photo_path(sha).unlink()
    assert service.store.lacking_photos([sha]) == (sha,)
    service.put_photo(sha, data)
    assert service.store.lacking_photos([sha]) == ()


def test_a_copy_holds_only_photos_that_are_whole(tmp_path: Path, service: Service, two: tuple[Phone, Phone]) -> None:
    good, bad = two[0].picture("white"), two[0].picture("black")
    two[0].find(check="nose/lamp", fault="dead", photos=[good, bad])
    taken(service, two[0])
    service.store.photo_path(bad).write_bytes(b"rotten")
    copied = back_up(service.store, tmp_path / "copy.db", START)
    assert copied.left_out == (bad,)
    assert bad not in service.store.backed_up()
    assert good in service.store.backed_up()


def test_threads_that_have_ended_leave_no_connection_open(service: Service) -> None:
    def reading() -> None:
        service.store.setting("device")

    for _ in range(20):
        thread = threading.Thread(target=reading)
        thread.start()
        thread.join()
    gc.collect()
    assert len(service.store._all) == 1


def test_another_fleets_edition_is_refused(tmp_path: Path, service: Service) -> None:
    foreign = edition_of(tmp_path / "other", fleet=('code = "trial-shed"', 'code = "kestrel-lane"'))
    with pytest.raises(StoreError, match="is of the fleet 'trial-shed', not of 'kestrel-lane'"):
        service.adopt(foreign)


def test_a_newer_edition_is_in_force_and_what_is_known_is_told_by_it(
    tmp_path: Path, service: Service, two: tuple[Phone, Phone]
) -> None:
    taken(service, two[0])
    newer = edition_of(tmp_path / "newer", template=('name = "Slack"', 'name = "Slack run"'))
    fingerprint = service.adopt(newer)
    assert service.store.edition().fingerprint == fingerprint
    assert [row.fault for row in service.store.backlog(DAY).rows] == ["Slack run"]
    before = service.store.count("entries")
    service.adopt(newer)
    assert service.store.count("entries") == before


def test_a_redaction_takes_content_away_for_good_and_leaves_the_hash(
    service: Service, two: tuple[Phone, Phone]
) -> None:
    taken(service, two[0])
    (name,) = two[0].photos
    entry = msgspec.json.decode(two[0].lines[1])["id"]
    fields = {"entry": entry, "fields": ["note"], "photos": [name], "reason": "a face in it"}
    service.write(Draft("redact", fields), by="AB")
    taken(service, two[0])
    (row,) = service.store.entry(entry)
    assert "adjuster" not in row.body
    assert row.hash
    assert service.store.search("adjuster") == ()
    assert service.store.photo(name) is None
    assert not list(service.store.photo_folder.iterdir())
    assert not service.put_photo(name, two[0].photos[name])


def test_content_redacted_before_it_came_is_never_kept(
    tmp_path: Path, edition: bytes, two: tuple[Phone, Phone]
) -> None:
    service = service_at(tmp_path / "other.db", edition)
    entry = msgspec.json.decode(two[0].lines[1])["id"]
    service.write(
        Draft("redact", {"entry": entry, "fields": ["note"], "photos": list(two[0].photos), "reason": "r"}), by="AB"
    )
    taken(service, two[0])
    assert all("adjuster" not in row.body for row in service.store.entries())
    assert service.store.photos() == ()
    assert service.store.wanted_photos() == ()


def test_two_services_on_one_file_see_each_others_writing(
    tmp_path: Path, service: Service, two: tuple[Phone, Phone]
) -> None:
    other = Service(Store(service.store.path), lambda: START, Dice("other process"))
    taken(service, two[0])
    taken(other, two[1])
    assert len(service.store.conflicts()) == 1
    (conflict,) = service.store.conflicts()
    service.settle(conflict.id, choose=conflict.stands, reason="looked", by="AB")
    assert other.store.conflicts() == ()
