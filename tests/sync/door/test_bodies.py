"""What is sent to the door: names that lead elsewhere, pictures that are none, too much, and too slowly."""

import contextlib
import io
import socket
import ssl
import struct
import time
import zlib
from collections.abc import Iterator
from pathlib import Path

import httpx
import pytest
from PIL import Image

from sync.door.limits import Limits
from sync.door.pictures import refuse_no_picture
from sync.door.refusals import Refused
from tests.sync.door.doors import Phone, RunningDoor, door_in, picture, raw

TRICKS = [
    "..%2f..%2fbacklog.db",
    "%2e%2e/%2e%2e/backlog.db",
    "../" * 3 + "etc/passwd",
    "A" * 64,
    f"{'0' * 63}g",
    f"{'0' * 64}.jpg",
    f"{'0' * 64}%00",
    f"..%5c{'0' * 60}",
]


@pytest.mark.parametrize("name", TRICKS)
def test_a_photo_cannot_be_named_out_of_its_folder(fresh: RunningDoor, phone: Phone, name: str) -> None:
    before = sorted(path for path in fresh.backlog.parent.rglob("*"))
    answer = phone.http.put(f"/door/photos/{name}", content=picture(), headers=phone.headers)
    assert answer.status_code in {400, 404, 405}
    assert sorted(path for path in fresh.backlog.parent.rglob("*")) == before


@pytest.mark.parametrize(
    "path", ["/../backlog.db", "/%2e%2e/backlog.db", "/js/..%2f..%2fbacklog.db", "//etc/passwd", "/door/"]
)
def test_a_path_that_is_no_file_of_the_app_leads_nowhere(door: RunningDoor, path: str) -> None:
    assert raw(door.port, f"GET {path} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n", door).startswith(
        b"HTTP/1.1 404"
    )


NO_PICTURES = {
    "a page": b"<!doctype html><script>alert(1)</script>",
    "a vector picture with a script": b'<svg xmlns="http://www.w3.org/2000/svg"><script>alert(1)</script></svg>',
    "a JPEG's first bytes and a page": b"\xff\xd8\xff\xe0\x00\x10JFIF\x00<script>alert(1)</script>",
    "nothing": b"",
    "a program": b"\x7fELF" + bytes(200),
}


@pytest.mark.parametrize("what", NO_PICTURES)
def test_what_is_no_picture_is_not_taken_under_a_pictures_name(fresh: RunningDoor, phone: Phone, what: str) -> None:
    sha = phone.keep(NO_PICTURES[what])
    answer = phone.put(sha)
    assert answer.status_code == 415
    with fresh.store() as store:
        assert store.photo(sha) is None


def test_bytes_that_are_not_the_named_photo_are_refused(phone: Phone) -> None:
    sha = phone.keep(picture(1))
    assert phone.put(sha, picture(2)).status_code == 400
    assert phone.left() == (0, 1)


def bomb() -> bytes:
    """A PNG of a few kB that says it is 60,000 pixels square."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = chunk(b"IHDR", struct.pack(">IIBBBBB", 60_000, 60_000, 8, 0, 0, 0, 0))
    return b"\x89PNG\r\n\x1a\n" + head + chunk(b"IDAT", zlib.compress(bytes(1_000_000))) + chunk(b"IEND", b"")


def test_a_picture_that_would_unpack_to_billions_of_pixels_is_refused_unopened(phone: Phone) -> None:
    answer = phone.put(phone.keep(bomb()))
    assert answer.status_code == 415
    assert "pixels" in answer.json()["error"]


def test_a_damaged_picture_is_refused() -> None:
    made = io.BytesIO()
    Image.new("RGB", (50, 50)).save(made, "PNG")
    data = bytearray(made.getvalue())
    data[len(data) // 2] ^= 0xFF
    with pytest.raises(Refused):
        refuse_no_picture(bytes(data))


@pytest.fixture(scope="module")
def narrow(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningDoor]:
    limits = Limits(entries=20_000, have=20_000, photo=20_000, pause_s=1.0, head_s=1.0, grace_s=1.0, slowest=5000,
                    per_address=150, connections=400)  # fmt: skip
    with door_in(tmp_path_factory.mktemp("narrow"), limits=limits) as running:
        yield running


@pytest.mark.parametrize(
    ("method", "path"),
    [("POST", "/door/entries"), ("POST", "/door/have"), ("PUT", f"/door/photos/{'0' * 64}"), ("POST", "/door/pair")],
)
@pytest.mark.parametrize("declared", [True, False])
def test_an_oversized_body_is_refused(narrow: RunningDoor, method: str, path: str, declared: bool) -> None:
    phone = Phone.paired(narrow, "d-large")
    body = b"x" * 30_000
    content = body if declared else iter([body[:15_000], body[15_000:]])
    answer = phone.http.request(method, path, content=content, headers=phone.headers)
    assert (answer.status_code, "at most" in answer.text or "no more" in answer.text) == (413, True)


def test_a_body_declared_endless_is_refused_before_it_comes(narrow: RunningDoor) -> None:
    phone = Phone.paired(narrow, "d-endless")
    head = (
        f"POST /door/entries HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer {phone.token}\r\n"
        "Content-Length: 99999999999\r\n\r\n"
    )
    assert raw(narrow.port, head, narrow).startswith(b"HTTP/1.1 413")


def test_a_head_that_never_ends_is_cut_off(narrow: RunningDoor) -> None:
    assert raw(narrow.port, "GET /door/hello HTTP/1.1\r\nHost: localhost\r\nX-Slow: ", narrow) == b""


def test_a_body_that_stops_coming_is_given_up(narrow: RunningDoor) -> None:
    phone = Phone.paired(narrow, "d-stops")
    head = (
        f"POST /door/entries HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer {phone.token}\r\n"
        "Content-Length: 1000\r\n\r\n{"
    )
    assert raw(narrow.port, head, narrow).startswith(b"HTTP/1.1 408")


def test_a_body_that_trickles_is_given_up(narrow: RunningDoor) -> None:
    phone = Phone.paired(narrow, "d-trickles")

    def drops() -> Iterator[bytes]:
        for _ in range(40):
            yield b"x" * 10
            time.sleep(0.2)

    try:
        status = phone.http.post("/door/entries", content=drops(), headers=phone.headers).status_code
    except httpx.WriteError:  # the door has closed already
        status = 408
    assert status == 408


def test_two_hundred_connections_at_once_do_not_keep_a_phone_out(narrow: RunningDoor) -> None:
    phone = Phone.paired(narrow, "d-crowd")
    phone.report()
    crowd = [
        socket.create_connection(("127.0.0.1", narrow.port), source_address=(f"127.0.1.{n % 4 + 1}", 0))
        for n in range(200)
    ]
    try:
        phone.sync()
        assert phone.left() == (0, 0)
    finally:
        for one in crowd:
            one.close()


def test_one_address_cannot_take_every_place(tmp_path: Path) -> None:
    with door_in(tmp_path, limits=Limits(per_address=20, connections=60)) as door, contextlib.ExitStack() as stack:
        crowd = [stack.enter_context(connected(door, "127.0.2.1")) for _ in range(30)]
        phone = Phone.paired(door, "d-other")
        assert phone.left() == (0, 0)
        assert sum(not closed(one) for one in crowd) == 20


def connected(door: RunningDoor, address: str) -> ssl.SSLSocket:
    """A connection from one of this machine's own addresses that says nothing."""
    plain = socket.create_connection(("127.0.0.1", door.port), source_address=(address, 0))
    return door.trust().wrap_socket(plain, server_hostname="localhost")


def closed(one: socket.socket) -> bool:
    one.settimeout(0.05)
    try:
        return one.recv(1) == b""
    except TimeoutError:
        return False
    except OSError:
        return True


@pytest.mark.parametrize(
    "body",
    [b"", b"{", b"[]", b'{"device":1}', b"\xff\xfe", b"[" * 100_000, b'{"device":"d-x","items":[[1,"x","y"]]}'],
    ids=["empty", "cut", "list", "number", "bytes", "deep", "ids"],
)
def test_bodies_that_are_none_are_refused_in_words(door: RunningDoor, body: bytes) -> None:
    phone = Phone.paired(door, "d-odd")
    answer = phone.http.post("/door/have", content=body, headers=phone.headers)
    assert answer.status_code == 400
    assert answer.json()["error"]
