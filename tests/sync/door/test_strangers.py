"""Strangers at the door: without a token, with a wrong one, or by way of a page or a name that is not ours."""

import time
from pathlib import Path

import httpx
import pytest

from tests.sync.door.doors import LISTED, Phone, RunningDoor, door_in

PAIRED_ONLY = [
    ("POST", "/door/have"),
    ("POST", "/door/entries"),
    ("POST", "/door/device"),
    ("PUT", f"/door/photos/{'0' * 64}"),
    ("GET", "/door/carry"),
]


@pytest.mark.parametrize(("method", "path"), PAIRED_ONLY)
def test_without_a_token_nothing_is_answered(door: RunningDoor, method: str, path: str) -> None:
    answer = door.client().request(method, path, content=b"{}")
    assert (answer.status_code, "not paired" in answer.json()["error"]) == (401, True)


@pytest.mark.parametrize(("method", "path"), PAIRED_ONLY)
@pytest.mark.parametrize("token", ["Bearer 00", f"Bearer {'f' * 64}", "Basic YTpi", "Bearer", "f" * 64])
def test_a_wrong_token_is_refused(door: RunningDoor, method: str, path: str, token: str) -> None:
    answer = door.client().request(method, path, content=b"{}", headers={"Authorization": token})
    assert answer.status_code == 401


def test_a_revoked_token_is_refused_from_then_on(fresh: RunningDoor, phone: Phone) -> None:
    phone.report()
    phone.sync()
    fresh.at_the_desk("phones/revoke", device=phone.device)
    phone.report()
    assert phone.hand_in(phone.lines).status_code == 401
    assert phone.http.get("/door/carry", headers=phone.headers).status_code == 401


def test_a_token_revoked_by_another_program_is_refused_within_seconds(tmp_path: Path) -> None:
    with door_in(tmp_path / "pc") as door:
        phone = Phone.paired(door)
        with door.store() as store:
            store.revoke(phone.device, "2026-10-18T09:00:00+00:00")
        end = time.monotonic() + 10
        while phone.post("have", {"device": phone.device}).status_code == 200:
            assert time.monotonic() < end
            time.sleep(0.5)


def test_only_the_hash_of_a_token_is_kept(fresh: RunningDoor, phone: Phone) -> None:
    assert phone.token
    kept = b"".join(path.read_bytes() for path in fresh.backlog.parent.glob("backlog.db*"))
    assert phone.token.encode() not in kept


def test_a_code_lets_one_device_in(fresh: RunningDoor) -> None:
    code = fresh.code()
    assert Phone(fresh.client(), "d-one").pair(code).status_code == 200
    assert Phone(fresh.client(), "d-two").pair(code).status_code == 403


def test_guessing_codes_is_stopped(fresh: RunningDoor) -> None:
    guesser = Phone(fresh.client(), "d-guess")
    statuses = [guesser.pair("22222222").status_code for _ in range(12)]
    assert statuses == [403] * 10 + [429] * 2


def test_a_guesser_does_not_lock_others_out(fresh: RunningDoor) -> None:
    elsewhere = httpx.HTTPTransport(local_address="127.0.0.9", verify=fresh.trust())
    guesser = Phone(fresh.client(transport=elsewhere), "d-guess")
    for _ in range(12):
        guesser.pair("22222222")
    assert Phone(fresh.client(), "d-one").pair(fresh.code()).status_code == 200


def test_a_phone_gets_nothing_that_is_for_desks(phone: Phone) -> None:
    assert phone.http.get("/door/log", headers=phone.headers).status_code == 403


def test_the_desk_does_not_answer_to_another_machine(door: RunningDoor) -> None:
    port = int(door.desk.rsplit(":", 1)[1].strip("/"))
    listening = door.door.listeners[2].sock.getsockname()
    assert listening == ("127.0.0.1", port)
    with pytest.raises(httpx.ConnectError):
        httpx.get(f"http://127.0.0.2:{port}/phones", trust_env=False)


@pytest.mark.parametrize(
    "host", ["evil.example", "trial-shed.local.evil.example", "", "evil.example:443", "[::1", "a@localhost"]
)
def test_a_foreign_host_name_is_refused(door: RunningDoor, host: str) -> None:
    answer = door.client().get("/door/hello", headers={"Host": host})
    assert answer.status_code == 421


def test_the_app_itself_is_not_given_out_under_a_foreign_name(door: RunningDoor) -> None:
    assert door.client().get("/index.html", headers={"Host": "evil.example"}).status_code == 421


def test_the_desk_refuses_a_foreign_host_name(door: RunningDoor) -> None:
    answer = httpx.get(f"{door.desk}phones", headers={"Host": "evil.example"}, trust_env=False)
    assert answer.status_code == 421


def test_the_plain_page_refuses_a_foreign_host_name(door: RunningDoor) -> None:
    answer = httpx.get(f"http://127.0.0.1:{door.plain_port}/", headers={"Host": "evil.example"}, trust_env=False)
    assert answer.status_code == 421


@pytest.mark.parametrize("path", ["/door/pair", "/door/entries", "/door/have"])
def test_a_post_from_another_sites_page_is_refused(door: RunningDoor, path: str) -> None:
    answer = door.client().post(path, content=b"{}", headers={"Origin": "https://evil.example"})
    assert answer.status_code == 403
    assert "access-control-allow-origin" not in answer.headers


@pytest.mark.parametrize(
    "origin", ["https://evil.example", "null", "http://localhost", "https://localhost", LISTED + ".x"]
)
def test_a_page_of_another_site_gets_no_leave(door: RunningDoor, origin: str) -> None:
    asked = {"Origin": origin, "Access-Control-Request-Method": "POST"}
    answer = door.client().options("/door/entries", headers=asked)
    assert "access-control-allow-origin" not in answer.headers


def test_a_listed_origin_gets_leave_with_a_token_and_without_cookies(door: RunningDoor) -> None:
    asked = {
        "Origin": LISTED,
        "Access-Control-Request-Method": "PUT",
        "Access-Control-Request-Headers": "authorization, content-type",
        "Access-Control-Request-Private-Network": "true",
    }
    answer = door.client().options("/door/photos/0", headers=asked)
    assert answer.status_code == 200
    assert answer.headers["access-control-allow-origin"] == LISTED
    assert answer.headers["access-control-allow-private-network"] == "true"
    assert "access-control-allow-credentials" not in answer.headers


def test_the_app_opened_by_another_name_of_this_pc_may_hand_in(door: RunningDoor) -> None:
    origin = f"https://trial-shed.local:{door.port}"
    answer = door.client().get("/door/hello", headers={"Origin": origin})
    assert answer.headers["access-control-allow-origin"] == origin


def test_a_change_at_the_desk_from_another_sites_page_is_refused(door: RunningDoor) -> None:
    for headers in ({"Origin": "https://evil.example"}, {"Sec-Fetch-Site": "cross-site"}):
        answer = httpx.post(f"{door.desk}phones/code", headers=headers, data={"for": "phone"}, trust_env=False)
        assert answer.status_code == 403
