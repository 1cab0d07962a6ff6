"""The desk for other machines: nobody without the password, a session that ends, wrong guesses slowed down."""

import stat
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

import httpx
import pytest

from sync.desk.gate import COOKIE, Gate
from sync.desk.password import Password, read_password
from sync.errors import DeskError
from sync.service import Service
from tests.sync.desk.window import Wire, valid
from tests.sync.phones import Dice

RIGHT = "a mug of strong tea"
BEGAN = datetime(2026, 10, 18, 10, 0, tzinfo=UTC)
PAGE = {"Accept": "text/html"}


def _names() -> frozenset[str]:
    return frozenset({"shed.local"})


class Machine(Wire):
    """Another machine of the network, with a clock that tests move. It keeps cookies as a browser does."""

    def __init__(self, service: Service, password: Password, client: str = "192.168.1.20") -> None:
        self.moment = BEGAN
        self.gate = Gate(password, lambda: self.moment, Dice("gate"))
        super().__init__(service, client=client, names=_names, gate=self.gate)

    def open(self, method: str, address: str, **given: object) -> httpx.Response:
        headers = {"Host": "shed.local", **given.pop("headers", {})}  # type: ignore[dict-item]
        return self.ask(method, address, headers=headers, follow_redirects=False, **given)

    def guess(self, text: str, to: str = "/backlog") -> httpx.Response:
        return self.open("POST", f"/enter?to={to}", data={"password": text})

    def enter(self) -> None:
        answer = self.guess(RIGHT)
        self.cookies[COOKIE] = answer.cookies[COOKIE]


@pytest.fixture(scope="module")
def password() -> Password:
    return Password.made(RIGHT, Dice("salt"))


@pytest.fixture
def machine(service: Service, password: Password) -> Machine:
    return Machine(service, password)


@pytest.mark.parametrize("client", ["192.168.1.20", "127.0.0.1", ""])
@pytest.mark.parametrize(
    "address", ["/", "/backlog", "/papers/export/json", "/take-in", "/js/back.js", "/css", "/leave"]
)
def test_without_the_password_nobody_sees_anything(
    service: Service, password: Password, client: str, address: str
) -> None:
    answer = Machine(service, password, client).open("GET", address)
    assert (answer.status_code, "Kettle" in answer.text) == (401, False)


def test_a_page_leads_to_the_password_and_back(machine: Machine) -> None:
    turned = machine.open("GET", "/backlog?vehicle=kettle", headers=PAGE)
    assert (turned.status_code, turned.headers["location"]) == (303, "/enter?to=%2Fbacklog%3Fvehicle%3Dkettle")
    asked = machine.open("GET", turned.headers["location"])
    valid(asked.text)
    assert "Brackle" not in asked.text
    into = machine.open("POST", turned.headers["location"], data={"password": RIGHT})
    assert (into.status_code, into.headers["location"]) == (303, "/backlog?vehicle=kettle")


def test_what_the_password_page_is_made_of_is_served(machine: Machine) -> None:
    assert machine.open("GET", "/css/frame.css").status_code == 200
    assert machine.open("GET", "/tokens.css").status_code == 200


def test_with_the_password_the_desk_is_the_desk(machine: Machine) -> None:
    machine.enter()
    page = machine.open("GET", "/vehicle/kettle")
    assert (page.status_code, "Leave the desk" in page.text) == (200, True)


def test_the_sessions_cookie_is_for_https_and_this_host_alone(machine: Machine) -> None:
    held = machine.guess(RIGHT).headers["set-cookie"]
    assert held.startswith("__Host-desk=")
    assert {"httponly", "secure", "samesite=strict", "path=/"} <= {part.strip().lower() for part in held.split(";")}
    assert "domain" not in held.lower()


def test_a_session_ends_after_twelve_hours(machine: Machine) -> None:
    machine.enter()
    machine.moment = BEGAN + timedelta(hours=11, minutes=59)
    assert machine.open("GET", "/").status_code == 200
    machine.moment = BEGAN + timedelta(hours=12)
    assert machine.open("GET", "/").status_code == 401


def test_who_leaves_is_out_though_the_cookie_is_kept(machine: Machine) -> None:
    machine.enter()
    assert machine.open("POST", "/leave").status_code == 303
    assert machine.open("GET", "/").status_code == 401


def test_a_made_up_session_is_none(machine: Machine) -> None:
    machine.cookies[COOKIE] = "0" * 64
    assert machine.open("GET", "/").status_code == 401


@pytest.mark.parametrize("text", ["", "a mug of strong te", "A mug of strong tea", "x" * 5000])
def test_a_wrong_password_opens_nothing(machine: Machine, text: str) -> None:
    answer = machine.guess(text)
    assert (answer.status_code, "set-cookie" in answer.headers) == (401, False)


def test_wrong_guesses_wait_longer_each_time_even_for_the_right_one(machine: Machine) -> None:
    for seconds in (1, 2, 4, 8):
        assert machine.guess("not this one either").status_code == 401
        held = machine.guess(RIGHT)
        assert (held.status_code, held.headers["retry-after"]) == (429, str(seconds))
        machine.moment += timedelta(seconds=seconds)
    assert machine.guess(RIGHT).status_code == 303


def test_guesses_from_many_addresses_are_slowed_together(service: Service, password: Password) -> None:
    machines = [Machine(service, password, f"192.168.1.{n}") for n in range(2)]
    machines[1].gate._slowed = machines[0].gate._slowed
    for n in range(30):
        machines[0].gate._slowed.wrong(f"10.0.0.{n}")
    assert machines[1].guess(RIGHT).status_code == 429


def test_who_is_in_is_not_slowed_by_others_guesses(machine: Machine) -> None:
    machine.enter()
    for n in range(40):
        machine.gate._slowed.wrong(f"10.0.0.{n}")
    assert machine.open("GET", "/").status_code == 200


def test_another_sites_page_neither_guesses_nor_changes_anything(machine: Machine) -> None:
    machine.enter()
    for address in ("/enter", "/leave", "/defect/kettle-9tpbk/owner"):
        answer = machine.open("POST", address, data={"password": RIGHT}, headers={"Origin": "https://evil.example"})
        assert answer.status_code == 403


def test_a_foreign_name_is_turned_away_before_the_password(machine: Machine) -> None:
    assert machine.open("GET", "/enter", headers={"Host": "127.0.0.1"}).status_code == 421


@pytest.mark.parametrize("to", ["//evil.example/", "https://evil.example/", "/\\evil.example"])
def test_the_password_page_never_leads_off_the_desk(machine: Machine, to: str) -> None:
    assert machine.guess(RIGHT, to).headers["location"] == "/"


class TestKept:
    def test_its_hash_alone_is_kept_and_no_other_user_reads_it(self, tmp_path: Path, password: Password) -> None:
        path = tmp_path / "door/desk-password.json"
        password.keep(path)
        assert RIGHT not in path.read_text("utf-8")
        assert sys.platform == "win32" or stat.S_IMODE(path.stat().st_mode) == 0o600
        kept = Password.kept(path)
        assert kept is not None
        assert (kept.fits(RIGHT), kept.fits(RIGHT + "!")) == (True, False)

    def test_none_is_kept_at_first(self, tmp_path: Path) -> None:
        assert Password.kept(tmp_path / "none") is None

    @pytest.mark.parametrize("text", ["", "no json", "{}", '{"scrypt": [1, 8, 1], "salt": "00", "digest": "00"}'])
    def test_a_file_that_holds_none_is_told(self, tmp_path: Path, text: str) -> None:
        path = tmp_path / "held.json"
        path.write_text(text, "utf-8")
        with pytest.raises(DeskError, match="delete it, and set one anew"):
            Password.kept(path)

    def test_a_short_one_is_refused(self) -> None:
        with pytest.raises(DeskError, match="at least 12"):
            Password.made("eleven chars"[:11], Dice("salt"))

    def test_it_is_a_files_first_line(self, tmp_path: Path) -> None:
        path = tmp_path / "password.txt"
        path.write_text(f"{RIGHT}\r\nand a second line\n", "utf-8")
        assert read_password(path) == RIGHT

    @pytest.mark.parametrize("text", ["", "\nsecond"])
    def test_an_empty_first_line_is_told(self, tmp_path: Path, text: str) -> None:
        path = tmp_path / "password.txt"
        path.write_text(text, "utf-8")
        with pytest.raises(DeskError, match="first line is empty"):
            read_password(path)
