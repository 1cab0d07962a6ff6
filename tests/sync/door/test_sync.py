"""A phone and the door: what is lacking goes over, once, and what was said to be taken is in the file."""

import gzip
import hashlib
import json
import shutil
from pathlib import Path

from sync.backup import back_up
from tests.sync.door.doors import Phone, RunningDoor, answered, door_in, hand_in, picture


def test_hello_says_which_fleet_this_is(door: RunningDoor) -> None:
    with door.client() as http:
        said = answered(http.get("/door/hello"))
    assert (said["fleet"], said["code"]) == ("Trial Shed", "trial-shed")


def test_everything_a_phone_has_arrives_and_nothing_is_left(fresh: RunningDoor, phone: Phone) -> None:
    phone.walk(5, [picture(1), picture(2)])
    phone.report()
    phone.sync()
    assert phone.left() == (0, 0)
    with fresh.store() as store:
        assert len([row for row in store.entries() if row.device == phone.device]) == 7
        assert {row.sha256 for row in store.photos()} == set(phone.photos)


def test_sending_twice_takes_nothing_twice(phone: Phone) -> None:
    phone.walk(3)
    phone.sync()
    again = answered(phone.hand_in(phone.lines))
    assert (again["taken"], again["already"]) == (0, 4)


def test_a_replayed_request_changes_nothing(fresh: RunningDoor, phone: Phone) -> None:
    phone.walk(2, [picture()])
    recorded = hand_in(phone.device, phone.name, phone.lines)
    for _ in range(3):
        answered(phone.http.post("/door/entries", content=recorded, headers=phone.headers))
    with fresh.store() as store:
        assert len([row for row in store.entries() if row.device == phone.device]) == 3


def test_only_what_is_lacking_is_asked_for(phone: Phone) -> None:
    phone.walk(3)
    answered(phone.hand_in(phone.lines[:2]))
    assert phone.have()["want"] == [json.loads(line)["id"] for line in phone.lines[2:]]


def test_photos_are_wanted_until_they_have_come(phone: Phone) -> None:
    phone.walk(1, [picture()])
    said = answered(phone.hand_in(phone.lines))
    assert said["want_photos"] == list(phone.photos)
    phone.sync()
    assert phone.left() == (0, 0)


def test_what_the_workshop_holds_is_said_in_ranges_of_seq(phone: Phone) -> None:
    for _ in range(5):
        phone.report()
    answered(phone.hand_in([phone.lines[0], phone.lines[1], phone.lines[4]]))
    assert phone.have()["held"] == [[1, 2], [5, 5]]


def test_a_wiped_phone_is_told_what_the_workshop_has_of_it(phone: Phone) -> None:
    phone.walk(3)
    phone.sync()
    assert answered(phone.post("have", {"device": phone.device}))["held"] == [[1, 4]]


def test_what_is_missing_between_is_said(phone: Phone) -> None:
    for _ in range(4):
        phone.report()
    assert answered(phone.hand_in([phone.lines[0], phone.lines[3]]))["missing_seq"] == [[2, 3]]


def test_a_gzipped_hand_in_is_taken(phone: Phone) -> None:
    phone.report()
    packed = gzip.compress(hand_in(phone.device, phone.name, phone.lines))
    assert answered(phone.http.post("/door/entries", content=packed, headers=phone.headers))["taken"] == 1


def test_a_desk_kind_from_a_phone_is_set_aside_and_told(phone: Phone) -> None:
    phone.write("adopt", knows={})
    (aside,) = answered(phone.hand_in(phone.lines))["set_aside"]
    assert "counts only from the desk" in aside["why"]
    assert phone.left() == (0, 0)


def test_another_fleets_hand_in_is_refused_in_words(phone: Phone) -> None:
    phone.report()
    foreign = hand_in(phone.device, phone.name, phone.lines, fleet="elsewhere")
    answer = phone.http.post("/door/entries", content=foreign, headers=phone.headers)
    assert answer.status_code == 422
    assert "elsewhere" in answer.json()["error"]


def test_the_phones_clock_is_measured_and_written_when_it_changed(fresh: RunningDoor, phone: Phone) -> None:
    phone.report()
    for at in ("2026-01-01T00:00:00+00:00", "2026-01-01T00:00:02+00:00"):
        phone.have(at=at)
    with fresh.store() as store:
        entries = [json.loads(row.body) for row in store.entries(kinds=["clock"])]
    (clock,) = entries
    assert clock["of"] == phone.device
    assert abs(clock["offset_s"]) > 3600


def test_the_carry_comes_once_and_then_only_when_it_changed(phone: Phone) -> None:
    phone.walk(1)
    phone.sync()
    headers = {**phone.headers, "If-None-Match": phone.etag}
    assert phone.http.get("/door/carry", headers=headers).status_code == 304
    phone.write("finding", vehicle="otter", check="left-side/wheels", spot="1", result="defect", fault="cracked",
                severity="dangerous", photos=[])  # fmt: skip
    answered(phone.hand_in(phone.lines))
    carry = phone.http.get("/door/carry", headers=headers)
    assert {defect["severity"] for defect in carry.json()["defects"]} == {"major", "dangerous"}


def test_a_workshop_put_back_from_a_copy_is_filled_again(tmp_path: Path) -> None:
    with door_in(tmp_path / "pc") as before:
        phone = Phone.paired(before)
        phone.walk(2, [picture(1)])
        phone.sync()
    shutil.copytree(tmp_path / "pc", tmp_path / "copy")
    with door_in(tmp_path / "pc") as before:
        phone.http = before.client()
        phone.walk(3, [picture(2)])
        phone.sync()
        assert phone.left() == (0, 0)
    with door_in(tmp_path / "copy") as restored:
        phone.http = restored.client()
        assert phone.left() == (4, 1)
        phone.sync()
        assert phone.left() == (0, 0)
        with restored.store() as store:
            assert len([row for row in store.entries() if row.device == phone.device]) == 7


def test_a_photo_that_was_taken_out_is_not_asked_for_again(fresh: RunningDoor, phone: Phone) -> None:
    phone.walk(1, [picture()])
    phone.sync()
    finding = json.loads(phone.lines[-1])
    desk = Phone.paired(fresh, "desk-other", desk=True)
    desk.write("redact", entry=finding["id"], fields=["note"], photos=finding["photos"], reason="a face", knows={})
    answered(desk.hand_in(desk.lines))
    assert phone.left() == (0, 0)
    assert answered(phone.put(finding["photos"][0]))["new"] is False
    with fresh.store() as store:
        assert "finding 0" not in store.entry(finding["id"])[0].body
        assert store.photo(finding["photos"][0]) is None


def test_photos_are_confirmed_only_once_a_backup_holds_them(fresh: RunningDoor, phone: Phone, tmp_path: Path) -> None:
    phone.walk(1, [picture()])
    phone.sync()
    assert phone.have()["backed_up"] == []
    with fresh.store() as store:
        back_up(store, tmp_path / "copy.db", fresh.door.now())
    assert phone.have()["backed_up"] == list(phone.photos)
    kept = tmp_path / "copy-photos" / f"{next(iter(phone.photos))}.jpg"
    assert hashlib.sha256(kept.read_bytes()).hexdigest() == next(iter(phone.photos))
