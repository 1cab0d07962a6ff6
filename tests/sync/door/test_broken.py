"""Whatever breaks, wherever: pressing the button again is all it takes, and nothing is lost or counted twice."""

import contextlib
import json
import threading
from collections import Counter
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import httpx
import pytest

from sync.service import Service
from sync.verifying import verify
from tests.sync.door.cutting import Cutting, LosingAnswers
from tests.sync.door.doors import Phone, RunningDoor, answered, door_in, hand_in, picture
from tests.workshops import Workshop, workshop


def here(door: RunningDoor, device: str) -> Counter[str]:
    """How often each of a phone's entries stands in the log."""
    with door.store() as store:
        return Counter(row.body for row in store.entries() if row.device == device)


def all_once(door: RunningDoor, phone: Phone) -> None:
    assert here(door, phone.device) == Counter(phone.lines)
    with door.store() as store:
        assert set(phone.photos) <= {photo.sha256 for photo in store.photos()}


def test_a_transfer_cut_at_any_piece_goes_on_when_the_button_is_pressed_again(door: RunningDoor) -> None:
    cuts = 0
    for most in range(200):
        phone = Phone.paired(door, f"d-cut-{most}")
        phone.walk(3, [picture(2 * most, 500), picture(2 * most + 1, 500)])
        line = Cutting(door.port, most)
        straight, phone.http = phone.http, door.client_at(line.port)
        try:
            phone.sync()
        except httpx.HTTPError:
            cuts += 1
        finally:
            line.close()
        phone.http = straight
        phone.sync()
        assert phone.left() == (0, 0)
        all_once(door, phone)
        if not line.has_cut:
            break
    else:
        raise AssertionError("no transfer came through uncut")
    assert cuts > 10


def test_a_lost_answer_only_means_sending_again(door: RunningDoor) -> None:
    for lost in range(1, 20):
        phone = Phone.paired(door, f"d-lost-{lost}")
        phone.walk(2, [picture(1000 + lost)])
        straight = phone.http
        losing = LosingAnswers(httpx.HTTPTransport(verify=door.trust()), lost)
        phone.http = door.client(transport=losing)
        try:
            phone.sync()
            break
        except httpx.ReadError:
            phone.http = straight
            phone.sync()
        assert phone.left() == (0, 0)
        all_once(door, phone)
    assert lost == 6  # five requests, and each of their answers was lost once


def test_the_same_hand_in_sent_many_times_at_once_is_taken_once(door: RunningDoor) -> None:
    phone = Phone.paired(door, "d-many")
    phone.walk(20)
    text = hand_in(phone.device, phone.name, phone.lines)
    with ThreadPoolExecutor(8) as pool:
        answers = list(
            pool.map(
                lambda _: answered(phone.http.post("/door/entries", content=text, headers=phone.headers)), range(16)
            )
        )
    assert sum(answer["taken"] for answer in answers) == 21
    assert sum(answer["already"] for answer in answers) == 15 * 21
    all_once(door, phone)


def test_one_bad_hand_in_does_not_cost_those_that_came_with_it(door: RunningDoor) -> None:
    good, bad = Phone.paired(door, "d-good"), Phone.paired(door, "d-bad")
    good.walk(5)
    texts = [hand_in("d-good", "", good.lines), b"this is no hand-in\n" * 300]
    with ThreadPoolExecutor(8) as pool:
        statuses = Counter(
            pool.map(
                lambda n: bad.http.post("/door/entries", content=texts[n % 2], headers=bad.headers).status_code,
                range(12),
            )
        )
    assert statuses == {200: 6, 422: 6}
    all_once(door, good)


def test_by_the_door_and_by_file_at_once_is_taken_once(fresh: RunningDoor, phone: Phone) -> None:
    phone.walk(60)
    text = hand_in(phone.device, phone.name, phone.lines)

    def by_file() -> None:
        with fresh.store() as store:
            for _ in range(3):
                Service(store, fresh.door.now, fresh.door.randomness).take_in("walk.txt", [text])

    other = threading.Thread(target=by_file)
    other.start()
    for _ in range(3):
        answered(phone.http.post("/door/entries", content=text, headers=phone.headers))
    other.join()
    all_once(fresh, phone)


def test_a_workshop_killed_between_commit_and_answer_has_taken_what_it_took(tmp_path: Path) -> None:
    pc = Workshop(tmp_path, command=("tests/sync/door/dying.py",))
    pc.start()
    phone = phone_of(pc, "d-dies")
    phone.walk(5)
    with pytest.raises(httpx.HTTPError):
        phone.hand_in(phone.lines)
    assert pc.process is not None
    assert pc.process.wait(10) == 9
    pc.kill()
    pc.command = ("-m", "sync")
    pc.start()
    try:
        assert phone.left() == (0, 0)
        assert answered(phone.hand_in(phone.lines))["already"] == 6
    finally:
        phone.http.close()
        pc.kill()


def test_a_workshop_killed_anywhere_is_whole_and_fills_again(tmp_path: Path) -> None:
    with workshop(tmp_path) as pc:
        phone = phone_of(pc, "d-kills")
        for wait in (0.02, 0.06, 0.12, 0.2):
            phone.walk(30, [picture(n + 1, 200) for n in range(3)])
            killing = threading.Timer(wait, pc.process.kill)  # type: ignore[union-attr]
            killing.start()
            with contextlib.suppress(httpx.HTTPError):
                phone.sync()
            killing.join()
            pc.kill()
            with pc.store() as store:
                assert verify(store).whole
            pc.start()
        phone.sync()
        assert phone.left() == (0, 0)
        with pc.store() as store:
            assert Counter(row.body for row in store.entries() if row.device == phone.device) == Counter(phone.lines)
            assert verify(store).whole
        phone.http.close()


def phone_of(pc: Workshop, device: str) -> Phone:
    phone = Phone(pc.client(), device)
    answered(phone.pair(pc.code))
    return phone


def test_a_cloned_phone_is_told_so_and_goes_on_under_a_new_id(fresh: RunningDoor, phone: Phone) -> None:
    phone.walk(2)
    phone.sync()
    twin = Phone(fresh.client(), phone.device, "the twin", phone.token, list(phone.lines), {}, phone.seq)
    phone.report("mine")
    twin.report("the twin's")
    phone.sync()
    assert twin.have()["clone"] is True
    twin.token = answered(twin.post("device", {"old": "d-one", "new": "d-two"}))["token"]
    twin.sync()
    assert phone.have()["clone"] is True
    twin.device, twin.seq = "d-two", 0
    twin.report("after")
    assert answered(twin.hand_in(twin.lines[-1:]))["taken"] == 1
    with fresh.store() as store:
        said = [json.loads(row.body)["symptom"] for row in store.entries(kinds=["report"])]
    assert sorted(said) == ["after", "mine", "the twin's"]


def test_a_phone_put_back_from_a_copy_is_told_before_it_numbers_twice(phone: Phone) -> None:
    for _ in range(4):
        phone.report()
    phone.sync()
    phone.lines, phone.seq = phone.lines[:2], 2
    assert phone.have()["clone"] is True


def test_a_phone_that_was_never_copied_is_left_alone(phone: Phone) -> None:
    phone.walk(3)
    answered(phone.hand_in(phone.lines[:3]))
    assert phone.have()["clone"] is False
    phone.sync()
    assert phone.have()["clone"] is False


def test_a_revoked_clone_does_not_cost_the_other_its_leave(fresh: RunningDoor, phone: Phone) -> None:
    phone.report()
    phone.sync()
    twin = Phone(fresh.client(), phone.device, "the twin", phone.token)
    twin.token = answered(twin.post("device", {"old": "d-one", "new": "d-two"}))["token"]
    twin.device = "d-two"
    fresh.at_the_desk("phones/revoke", device="d-two")
    assert twin.post("have", {"device": "d-two"}).status_code == 401
    assert phone.post("have", {"device": "d-one"}).status_code == 200


def test_phones_at_once_are_all_taken_in(tmp_path: Path) -> None:
    with door_in(tmp_path / "pc") as door:
        phones = [Phone.paired(door, f"d-{n}") for n in range(12)]
        for n, phone in enumerate(phones):
            phone.walk(40, [picture(n + 1)])
        with ThreadPoolExecutor(12) as pool:
            list(pool.map(Phone.sync, phones))
        for phone in phones:
            all_once(door, phone)
        with door.store() as store:
            assert verify(store).whole
