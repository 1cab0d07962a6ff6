"""The desk opened to other machines, for real: https by the door's own certificate, a password, a session."""

import os
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest

from sync.desk.password import Password
from sync.serve import Wanted
from tests.sync.door.doors import RunningDoor

RIGHT = "a mug of strong tea"


@pytest.fixture(scope="module")
def door(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningDoor]:
    password = Password.made(RIGHT, os.urandom)
    running = RunningDoor(tmp_path_factory.mktemp("pc"), lan=True, desk_password=password, desk_lan_port=0)
    running.door.found = lambda: ("127.0.0.1", "192.168.9.9")
    with pytest.MonkeyPatch.context() as quiet:
        quiet.setattr("sync.serve.Announced.start", lambda self: self)
        running.start()
        yield running
        running.stop()


@pytest.fixture
def elsewhere(door: RunningDoor) -> httpx.Client:
    assert door.opened is not None
    port = int(door.opened.desk_elsewhere.rstrip("/").rpartition(":")[2])
    return door.client(base_url=f"https://localhost:{port}", headers={"Accept": "text/html"})


def test_it_asks_for_the_password_and_then_is_the_desk(elsewhere: httpx.Client) -> None:
    assert elsewhere.get("/vehicles").headers["location"] == "/enter?to=%2Fvehicles"
    into = elsewhere.post("/enter?to=/vehicles", data={"password": RIGHT})
    assert (into.status_code, into.headers["location"]) == (303, "/vehicles")
    page = elsewhere.get("/vehicles")
    assert (page.status_code, "Leave the desk" in page.text) == (200, True)
    assert elsewhere.get("/phones").status_code == 200
    assert elsewhere.post("/enter", data={"password": "not the right one"}).status_code == 401


def test_it_speaks_no_plain_http(elsewhere: httpx.Client) -> None:
    plain = str(elsewhere.base_url).replace("https", "http")
    with httpx.Client(trust_env=False) as http, pytest.raises(httpx.TransportError):
        http.get(plain)


def test_on_this_pc_the_desk_needs_no_password_still(door: RunningDoor) -> None:
    with httpx.Client(trust_env=False) as http:
        assert http.get(door.desk).status_code == 200


def test_by_default_nothing_but_this_pc_gets_the_desk(tmp_path: Path) -> None:
    assert Wanted(tmp_path, tmp_path / "b.db").desk_password is None
