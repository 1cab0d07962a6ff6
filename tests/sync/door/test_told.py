"""What the door tells: strict headers, no secrets in the log, nobody's script run, no inside shown."""

import logging
import socket
import ssl
import warnings

import httpx
import pytest

from tests.sync.door.doors import Phone, RunningDoor

SCRIPT = "<script>alert(1)</script>"


def test_a_script_in_a_phones_name_is_shown_as_text_at_the_desk(fresh: RunningDoor) -> None:
    phone = Phone.paired(fresh, "d-script", SCRIPT)
    phone.report(SCRIPT)
    phone.sync()
    page = httpx.get(f"{fresh.desk}phones", trust_env=False).text
    assert SCRIPT not in page
    assert "&lt;script&gt;" in page


def test_neither_codes_nor_tokens_get_into_the_log(
    fresh: RunningDoor, phone: Phone, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    for name in ("uvicorn.error", "uvicorn.access", "driptray.door", "asyncio"):
        logging.getLogger(name).setLevel(logging.DEBUG)
        logging.getLogger(name).propagate = True
    code = fresh.code()
    other = Phone(fresh.client(), "d-logged")
    other.pair(code)
    other.report()
    other.sync()
    other.pair("WRNGCDE2")
    other.post("device", {"old": "d-logged", "new": "d-renamed"})
    other.http.post("/door/have", content=b"{", headers=other.headers)
    assert "d-logged" in caplog.text
    for secret in (code, other.token, phone.token, "WRNGCDE2"):
        assert secret not in caplog.text


def test_a_failure_is_told_without_its_inside(
    fresh: RunningDoor, phone: Phone, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    def broken(*_: object) -> None:
        raise KeyError("an inside nobody should see")

    monkeypatch.setattr("sync.door.app.lacking", broken)
    answer = phone.post("have", {"device": phone.device})
    assert (answer.status_code, answer.json()) == (500, {"error": "something went wrong here"})
    assert "Traceback" not in caplog.text


STRICT = ("default-src", "frame-ancestors 'none'")


@pytest.mark.parametrize(
    "path", ["/", "/js/main.js", "/worker.js", "/edition.json", "/door/hello", "/door/carry", "/nothing"]
)
def test_every_answer_says_what_it_may_do(door: RunningDoor, path: str) -> None:
    headers = door.client().get(path).headers
    assert all(part in headers["content-security-policy"] for part in STRICT)
    assert "unsafe" not in headers["content-security-policy"]
    assert headers["x-content-type-options"] == "nosniff"
    assert headers["referrer-policy"] == "no-referrer"


def test_the_address_is_not_bound_to_https_for_whoever_has_it_next(door: RunningDoor) -> None:
    assert "strict-transport-security" not in door.client().get("/").headers


def test_no_answer_sets_a_cookie(door: RunningDoor) -> None:
    with door.client() as http:
        for path in ("/", "/door/hello", "/door/carry"):
            assert "set-cookie" not in http.get(path).headers


@pytest.mark.parametrize("path", ["phones", "phones/live"])
def test_the_desks_page_of_phones_allows_nothing_inline(door: RunningDoor, path: str) -> None:
    policy = httpx.get(f"{door.desk}{path}", trust_env=False).headers["content-security-policy"]
    assert "unsafe" not in policy
    assert "script-src 'self'" in policy


def test_the_plain_page_gives_out_the_certificate_and_no_key(door: RunningDoor) -> None:
    with httpx.Client(base_url=f"http://127.0.0.1:{door.plain_port}", trust_env=False) as http:
        assert http.get("/workshop.crt").headers["content-type"] == "application/x-x509-ca-cert"
        assert "PRIVATE" not in http.get("/").text
        for path in ("/authority.key", "/door.key", "/backlog.db", "/door/hello", "/door/carry"):
            assert http.get(path).status_code == 404


def test_the_plain_page_shows_the_authoritys_fingerprint(door: RunningDoor) -> None:
    assert door.opened is not None
    page = httpx.get(f"http://127.0.0.1:{door.plain_port}/", trust_env=False).text
    assert all(part in page for part in door.opened.fingerprint.split(" "))


def test_old_ways_of_encrypting_are_refused(door: RunningDoor) -> None:
    context = door.trust()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", DeprecationWarning)
        context.minimum_version = ssl.TLSVersion.MINIMUM_SUPPORTED
        context.maximum_version = ssl.TLSVersion.TLSv1_1
    with (
        socket.create_connection(("localhost", door.port)) as plain,
        pytest.raises(OSError, match=r"(?i)protocol|version|cipher"),
    ):
        context.wrap_socket(plain, server_hostname="localhost")
