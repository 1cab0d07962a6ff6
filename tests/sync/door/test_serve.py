"""`driptray serve`: opened by one command, stopped cleanly, and clear about what stands in its way."""

import contextlib
import os
import socket
import ssl
import subprocess
import sys
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import httpx
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from sync.certificates import local_certificate, names_in
from sync.cli import ended
from sync.errors import DoorError
from sync.serve import Open, Wanted
from sync.store import Store
from tests.builder.fleets import write_fleet
from tests.sync.door.doors import Phone, RunningDoor, answered, by_the_clock, door_in
from tests.workshops import Workshop, free_port, workshop


def refusal(capsys: pytest.CaptureFixture[str], folder: Path, *options: object, lan: bool = False) -> str:
    """What `driptray serve` says when it does not open; it ends with 1, in one line, and nothing else."""
    fleet = write_fleet(folder / "fleet")
    where = [] if lan else ["--no-lan"]
    ports = [str(part) for option in ("--port", "--http-port", "--desk-port") for part in (option, free_port())]
    asked = ["serve", str(fleet), "--backlog", str(folder / "backlog.db"), *where, *ports, *map(str, options)]
    with ThreadPoolExecutor(1) as apart:  # this thread may hold a browser's event loop
        code = apart.submit(ended, asked).result()
    said = capsys.readouterr()
    assert (code, said.out, said.err.count("\n")) == (1, "", 1), said
    return said.err


def test_one_command_opens_everything_and_ctrl_c_stops_it_cleanly(tmp_path: Path) -> None:
    with workshop(tmp_path) as pc:
        for beginning in ("Desk, on this PC", "Phones pair at", "Phones open", "First, once each", "Pairing code"):
            assert pc.line(beginning)
        assert httpx.get(pc.desk, trust_env=False).status_code == 200
        with pc.client() as http:
            assert http.get("/").headers["content-type"].startswith("text/html")
        assert pc.stop() == 0
        assert pc.errors.read_text() == ""


def test_ctrl_c_waits_for_what_is_being_taken_in(tmp_path: Path) -> None:
    with workshop(tmp_path) as pc:
        phone = Phone(pc.client(), "d-late")
        answered(phone.pair(pc.code))
        phone.walk(300)
        sending = threading.Thread(target=sent_or_cut, args=(phone,))
        sending.start()
        time.sleep(0.15)
        assert pc.stop() == 0
        sending.join()
        assert "Traceback" not in pc.errors.read_text()
        pc.start()
        phone.sync()
        assert phone.left() == (0, 0)
        phone.http.close()


def sent_or_cut(phone: Phone) -> None:
    with contextlib.suppress(httpx.HTTPError):
        phone.sync()


@pytest.mark.parametrize("option", ["--port", "--http-port", "--desk-port"])
def test_a_taken_port_is_named_with_the_way_out(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], option: str
) -> None:
    with socket.create_server(("127.0.0.1", 0)) as taken:
        port = taken.getsockname()[1]
        words = refusal(capsys, tmp_path, option, port)
    assert f"port {port} is taken" in words
    assert option in words


def test_without_a_network_it_says_so(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sync.addresses.system_addresses", lambda: ("127.0.0.1", "::1"))
    assert "no local network" in refusal(capsys, tmp_path, lan=True)


def own(folder: Path, made: datetime) -> tuple[object, ...]:
    """A certificate that the collection got from elsewhere, for a domain of its own."""
    key = ec.generate_private_key(ec.SECP256R1())
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, "shed.example.org")])
    certificate = (
        x509.CertificateBuilder()
        .subject_name(name)
        .issuer_name(name)
        .public_key(key.public_key())
        .serial_number(x509.random_serial_number())
        .not_valid_before(made - timedelta(days=1))
        .not_valid_after(made + timedelta(days=397))
        .add_extension(x509.SubjectAlternativeName([x509.DNSName("shed.example.org")]), critical=False)
        .sign(key, hashes.SHA256())
    )
    folder.mkdir()
    (folder / "own.pem").write_bytes(certificate.public_bytes(serialization.Encoding.PEM))
    plain = (serialization.PrivateFormat.PKCS8, serialization.NoEncryption())
    (folder / "own.key").write_bytes(key.private_bytes(serialization.Encoding.PEM, *plain))
    return "--cert", folder / "own.pem", "--key", folder / "own.key"


def test_an_ended_certificate_is_refused_with_its_date(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    words = refusal(capsys, tmp_path, *own(tmp_path / "own", datetime(2024, 1, 1, tzinfo=UTC)))
    assert "ended on 2025-02-01" in words


def test_a_certificate_without_its_key_is_a_usage_mistake(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    certificate = own(tmp_path / "own", by_the_clock())[1]
    fleet = write_fleet(tmp_path / "fleet")
    assert ended(["serve", str(fleet), "--backlog", str(tmp_path / "b.db"), "--cert", str(certificate)]) == 2
    assert "go together" in capsys.readouterr().err


def test_a_public_name_without_its_own_certificate_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert "private names alone" in refusal(capsys, tmp_path, "--name", "shed.example.org")


def test_a_damaged_key_is_named(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    options = own(tmp_path / "own", by_the_clock())
    Path(str(options[3])).write_text("no key")
    assert "no key can be read from it" in refusal(capsys, tmp_path, *options)


def test_a_clock_before_the_authority_was_made_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    local_certificate(tmp_path / "backlog-door", ["trial-shed.local"], [], by_the_clock() + timedelta(days=400))
    assert "set the clock right" in refusal(capsys, tmp_path)


def test_a_clock_before_the_last_hand_in_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    with Store(tmp_path / "backlog.db") as store, store.writing():
        store.open_batch((by_the_clock() + timedelta(days=40)).isoformat(), "walk.txt")
    assert "last took something in on" in refusal(capsys, tmp_path)


def test_mistakes_in_the_fleet_files_are_told_before_anything_opens(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    fleet = write_fleet(tmp_path / "fleet", vehicle=('templates = ["gear"]', 'templates = ["none"]'))
    assert ended(["serve", str(fleet), "--backlog", str(tmp_path / "b.db"), "--no-lan"]) == 1
    said = capsys.readouterr()
    assert (said.out, "vehicles/otter.toml" in said.err) == ("", True)
    assert not (tmp_path / "b.db").exists()


def test_a_collections_own_certificate_needs_no_trusting(tmp_path: Path) -> None:
    _, certificate, _, key = own(tmp_path / "own", by_the_clock())
    with door_in(tmp_path / "pc", certificate=certificate, key=key) as door:
        assert door.opened is not None
        assert (door.opened.trust, door.opened.app) == ("", f"https://shed.example.org:{door.port}/")
        assert len(door.door.listeners) == 2
        trust = ssl.create_default_context(cafile=str(certificate))
        extensions = {"sni_hostname": "shed.example.org"}
        with httpx.Client(verify=trust, trust_env=False) as http:
            host = {"Host": f"shed.example.org:{door.port}"}
            url = f"https://127.0.0.1:{door.port}/door/hello"
            assert http.get(url, headers=host, extensions=extensions).status_code == 200
            assert http.get(url, headers={"Host": "localhost"}, extensions=extensions).status_code == 421


def test_a_new_address_gets_into_the_certificate_without_a_restart(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sync.serve.WATCH_S", 0.2)
    addresses = [("192.168.7.20",)]
    running = RunningDoor(tmp_path / "pc", lan=True)
    running.door.found = lambda: addresses[0]
    monkeypatch.setattr("sync.serve.Announced.start", lambda self: self)
    running.start()
    try:
        before = running.client().get("/door/hello", headers={"Host": "192.168.9.99"})
        addresses[0] = ("192.168.9.99",)
        end = time.monotonic() + 10
        while running.client().get("/door/hello", headers={"Host": "192.168.9.99"}).status_code != 200:
            assert time.monotonic() < end
            time.sleep(0.1)
        assert before.status_code == 421
        assert "192.168.9.99" in names_in(running.door.folder / "door.pem")
        assert "192.168.9.99" in served_names(running)
    finally:
        running.stop()


def served_names(door: RunningDoor) -> list[str]:
    """What the certificate says that a client is shown now."""
    with (
        socket.create_connection(("127.0.0.1", door.port)) as plain,
        door.trust().wrap_socket(plain, server_hostname="localhost") as secure,
    ):
        shown: Any = secure.getpeercert()
        return [value for _, value in shown["subjectAltName"]]


def test_keys_are_kept_beside_the_backlog_for_their_owner_alone(door: RunningDoor) -> None:
    modes = {path.name: path.stat().st_mode & 0o777 for path in door.door.folder.glob("*.key")}
    assert modes == {"authority.key": 0o600, "door.key": 0o600}


def test_the_app_shown_without_a_certificate_is_for_this_pc_alone(tmp_path: Path) -> None:
    fleet = write_fleet(tmp_path / "fleet")
    wanted = Wanted(fleet, tmp_path / "b.db", 0, 0, 0, lan=True, plain=True)
    with ThreadPoolExecutor(1) as apart, pytest.raises(DoorError, match="this PC alone"):
        apart.submit(Open(wanted, by_the_clock, os.urandom).run, lambda _: None).result()


def test_help_names_every_option(capsys: pytest.CaptureFixture[str]) -> None:
    assert ended(["serve", "--help"]) == 0
    said = capsys.readouterr().out
    for option in ("--backlog", "--port", "--http-port", "--desk-port", "--cert", "--key", "--name", "--no-lan"):
        assert option in said


def test_the_same_folder_is_opened_again_under_the_same_authority(tmp_path: Path) -> None:
    prints = set()
    for _ in range(2):
        with door_in(tmp_path / "pc") as door:
            assert door.opened is not None
            prints.add(door.opened.fingerprint)
    assert len(prints) == 1


def test_the_desk_lists_renames_and_strikes_off(fresh: RunningDoor, phone: Phone) -> None:
    phone.report()
    phone.sync()
    assert (
        "is now called the green one" in fresh.at_the_desk("phones/rename", device="d-one", name="the green one").text
    )
    page = httpx.get(f"{fresh.desk}phones", trust_env=False).text
    assert "the green one" in page
    assert "off the list" in fresh.at_the_desk("phones/revoke", device="d-one").text
    with fresh.store() as store:
        said = [row.body for row in store.entries(kinds=["ruling"])]
    assert ["the green one" in said[0], "revoked" in said[1]] == [True, True]


def test_nobody_without_initials_strikes_a_phone_off(fresh: RunningDoor, phone: Phone) -> None:
    httpx.post(f"{fresh.desk}phones/revoke", data={"device": "d-one"}, trust_env=False)
    assert phone.post("have", {"device": "d-one"}).status_code == 200


def test_it_starts_as_a_module_too(tmp_path: Path) -> None:
    command = [sys.executable, "-m", "sync", "serve", str(tmp_path / "none"), "--backlog", str(tmp_path / "b.db")]
    told = subprocess.run(command, check=False, capture_output=True, text=True)
    assert (told.returncode, told.stdout) == (1, "")
    assert "Traceback" not in told.stderr


def test_a_workshop_is_started_again_on_its_own_ports(tmp_path: Path) -> None:
    pc = Workshop(tmp_path).start()
    try:
        first = pc.app
        pc.kill()
        assert pc.start().app == first
    finally:
        pc.kill()
