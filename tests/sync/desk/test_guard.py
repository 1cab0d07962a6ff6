"""Who the desk answers: this PC by its own names, from its own pages alone."""

import pytest

from sync.service import Service
from tests.sync.desk.window import Window, Wire

HEADERS = ("content-security-policy", "x-content-type-options", "referrer-policy", "cross-origin-opener-policy",
           "cross-origin-resource-policy")  # fmt: skip


@pytest.mark.parametrize("client", ["192.168.1.20", "10.0.0.2", "fe80::1", ""])
def test_another_machine_is_turned_away(service: Service, client: str) -> None:
    answer = Wire(service, client=client).get("/")
    assert (answer.status_code, "on the workshop PC alone" in answer.text) == (403, True)


@pytest.mark.parametrize("host", ["evil.example", "evil.example:8440", "127.0.0.1.evil.example", "", "192.168.1.5"])
def test_a_foreign_name_is_turned_away(window: Window, host: str) -> None:
    answer = window.http.get("/", headers={"Host": host})
    assert (answer.status_code, "kettle" in answer.text.lower()) == (421, False)


@pytest.mark.parametrize("host", ["localhost", "localhost:8440", "127.0.0.1:8440", "[::1]:8440", "LOCALHOST"])
def test_its_own_names_are_answered(window: Window, host: str) -> None:
    assert window.http.get("/", headers={"Host": host}).status_code == 200


@pytest.mark.parametrize(
    "headers",
    [
        {"Sec-Fetch-Site": "cross-site"},
        {"Sec-Fetch-Site": "same-site"},
        {"Origin": "https://evil.example"},
        {"Origin": "null"},
        {"Origin": "http://127.0.0.1:9999"},
        {"Sec-Fetch-Site": "cross-site", "Origin": "http://127.0.0.1"},
    ],
)
def test_another_sites_form_changes_nothing(window: Window, headers: dict[str, str]) -> None:
    window.open("/defect/kettle-9tpbk")
    before = len(window.written())
    data = {"knows": window.knows, "owner": "TA"}
    answer = window.http.post("/defect/kettle-9tpbk/owner", data=data, headers=headers)
    assert (answer.status_code, len(window.written())) == (403, before)


def test_its_own_form_is_taken(window: Window) -> None:
    window.open("/defect/kettle-9tpbk")
    data = {"knows": window.knows, "owner": "TA"}
    headers = {"Origin": "http://127.0.0.1", "Sec-Fetch-Site": "same-origin"}
    assert window.http.post("/defect/kettle-9tpbk/owner", data=data, headers=headers).status_code == 200
    assert window.last().kind == "ruling"


@pytest.mark.parametrize("address", ["/", "/nothing", "/css/frame.css", "/papers/card?defect=kettle-ewcvh", "/take-in"])
def test_every_answer_says_what_it_may_do(window: Window, address: str) -> None:
    headers = window.http.get(address).headers
    assert all(name in headers for name in HEADERS)
    policy = headers["content-security-policy"]
    assert "default-src 'none'" in policy
    assert "script-src 'unsafe" not in policy


def test_where_one_is_sent_after_choosing_a_name_is_a_page_of_ours(window: Window) -> None:
    for to in ("https://evil.example/", "//evil.example/", "javascript:alert(1)", "/\\evil.example"):
        answer = window.http.ask("POST", "/who", data={"by": "TA", "to": to}, follow_redirects=False)
        assert answer.headers["location"] == "/"


def test_a_form_never_leads_off_the_desk(window: Window) -> None:
    window.open("/defect/kettle-9tpbk")
    data = {"knows": window.knows, "owner": "TA", "to": "//evil.example/"}
    answer = window.http.ask("POST", "/defect/kettle-9tpbk/owner", data=data, follow_redirects=False)
    assert answer.headers["location"].startswith("/defect/kettle-9tpbk?said=")
