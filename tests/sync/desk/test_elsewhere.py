"""The desk opened to other machines, for real: https by the door's own certificate, a password, a session."""

import os
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from click.testing import CliRunner

from sync.commands_serve import serve
from sync.desk.password import Password
from sync.errors import DeskError
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


def asked(folder: Path, *options: str) -> str:
    """What the command says before it opens anything."""
    done = CliRunner().invoke(serve, [str(folder / "fleet"), "--backlog", str(folder / "b.db"), *options])
    return str(done.exception) if isinstance(done.exception, DeskError) else done.output


def test_the_command_asks_for_a_password_that_is_kept_nowhere_yet(tmp_path: Path) -> None:
    assert "no password for the desk is kept yet" in asked(tmp_path, "--desk-lan")


def test_the_command_keeps_the_hash_of_a_files_password(tmp_path: Path) -> None:
    (tmp_path / "password.txt").write_text(f"{RIGHT}\n", "utf-8")
    asked(tmp_path, "--desk-lan", "--desk-password-file", str(tmp_path / "password.txt"))
    kept = Password.kept(tmp_path / "b-door/desk-password.json")
    assert kept is not None
    assert kept.fits(RIGHT)


def test_the_command_refuses_a_password_without_its_use_and_a_short_one(tmp_path: Path) -> None:
    (tmp_path / "short.txt").write_text("short\n", "utf-8")
    file = ("--desk-password-file", str(tmp_path / "short.txt"))
    assert "--desk-password-file is for --desk-lan" in asked(tmp_path, *file)
    assert "at least 12 are needed" in asked(tmp_path, "--desk-lan", *file)
