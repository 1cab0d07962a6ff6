"""An open door on this machine's own loopback, and phones written in Python that do what the app does."""

import hashlib
import io
import json
import os
import socket
import ssl
import threading
import uuid
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import httpx
from PIL import Image

from sync.door.limits import Limits
from sync.serve import Open, Opened, Wanted
from sync.store import Store
from tests.builder.fleets import write_fleet

LISTED = "https://walks.example.org"
AT_ONCE = 200


def by_the_clock() -> datetime:
    return datetime.now().astimezone()


class RunningDoor:
    """The real thing in a thread: https, plain page and desk, each on a free port."""

    def __init__(
        self,
        folder: Path,
        *,
        fleet: Path | None = None,
        limits: Limits | None = None,
        now: Callable[[], datetime] = by_the_clock,
        **wanted: Any,
    ) -> None:
        old, new = 'code = "trial-shed"', 'code = "trial-shed"\ndoor = { origins = ["' + LISTED + '"] }'
        folder.mkdir(parents=True, exist_ok=True)
        self.fleet = fleet or write_fleet(folder / "fleet", fleet=(old, new))
        self.backlog = folder / "backlog.db"
        asked: dict[str, Any] = {"port": 0, "http_port": 0, "desk_port": 0, "lan": False, **wanted}
        self.door = Open(Wanted(self.fleet, self.backlog, limits=limits or Limits(), **asked), now, os.urandom)
        self.opened: Opened | None = None
        self._clients: list[httpx.Client] = []
        self._ready = threading.Event()
        self._failed: BaseException | None = None
        self._thread = threading.Thread(target=self._run, daemon=True)

    def start(self) -> "RunningDoor":
        self._thread.start()
        assert self._ready.wait(30), "it did not open"
        if self._failed:
            raise self._failed
        return self

    def stop(self) -> None:
        for client in self._clients:
            client.close()
        self.door.stop()
        self._thread.join(20)
        assert not self._thread.is_alive()

    def _run(self) -> None:
        try:
            self.door.run(self._tell)
        except BaseException as error:
            self._failed = error
            self._ready.set()

    def _tell(self, opened: Opened) -> None:
        self.opened = opened
        self._ready.set()

    @property
    def port(self) -> int:
        return self.door.listeners[0].port

    @property
    def plain_port(self) -> int:
        return self.door.listeners[1].port

    def at_the_desk(self, path: str, **form: str) -> httpx.Response:
        """A form filled in at the desk by a person who has said who they are."""
        with httpx.Client(cookies={"desk-by": "AB"}, trust_env=False, follow_redirects=True) as http:
            return http.post(f"{self.desk}{path}", data=form)

    @property
    def desk(self) -> str:
        assert self.opened is not None
        return self.opened.desk

    def trust(self) -> ssl.SSLContext:
        """Trusts this door's authority and nothing else."""
        return ssl.create_default_context(cafile=str(self.door.folder / "authority.pem"))

    def client(self, **options: Any) -> httpx.Client:
        base = f"https://localhost:{self.port}"
        made = httpx.Client(**{"base_url": base, "verify": self.trust(), "timeout": 30, "trust_env": False, **options})
        self._clients.append(made)
        return made

    def client_at(self, port: int) -> httpx.Client:
        """By way of something that listens at another port."""
        return self.client(base_url=f"https://localhost:{port}")

    def store(self) -> Store:
        return Store(self.backlog, create=False)

    def code(self, *, desk: bool = False) -> str:
        return self.door.pairing.new_code(desk=desk).text


@contextmanager
def door_in(folder: Path, **given: Any) -> Iterator[RunningDoor]:
    running = RunningDoor(folder, **given).start()
    try:
        yield running
    finally:
        running.stop()


@dataclass
class Phone:
    """A phone: its log, its photos, its token. `sync` is the app's "Send to workshop"."""

    http: httpx.Client
    device: str
    name: str = "a phone"
    token: str = ""
    lines: list[str] = field(default_factory=list)
    photos: dict[str, bytes] = field(default_factory=dict)
    seq: int = 0
    etag: str = ""

    @classmethod
    def paired(cls, door: RunningDoor, device: str = "d-one", name: str = "a phone", *, desk: bool = False) -> "Phone":
        phone = cls(door.client(), device, name)
        phone.pair(door.code(desk=desk))
        return phone

    def pair(self, code: str) -> httpx.Response:
        answer = self.post("pair", {"code": code, "device": self.device, "device_name": self.name})
        if answer.status_code == 200:
            self.token = answer.json()["token"]
        return answer

    @property
    def headers(self) -> dict[str, str]:
        return {"Authorization": f"Bearer {self.token}"} if self.token else {}

    def post(self, path: str, body: Any, **more: str) -> httpx.Response:
        return self.http.post(f"/door/{path}", json=body, headers={**self.headers, **more})

    def write(self, kind: str, **fields: Any) -> dict[str, Any]:
        """One more entry of this phone's log."""
        self.seq += 1
        head = {"id": new_id(), "device": self.device, "seq": self.seq, "at": moment(), "by": "AB"}
        entry = {**head, "edition": "00000000", "kind": kind, **fields}
        self.lines.append(json.dumps(entry, separators=(",", ":")))
        return entry

    def report(self, symptom: str = "pulls to the left", **fields: Any) -> dict[str, Any]:
        return self.write("report", vehicle="otter", source="driver", symptom=symptom, photos=[], **fields)

    def walk(self, findings: int = 1, photos: Sequence[bytes] = ()) -> None:
        """A walk with some findings; the photos go with the first ones."""
        walk = new_id()
        common = {"walk": walk, "vehicle": "otter"}
        day = moment()[:10]
        entry = self.write("walk", **common, round="cold", day=day, state="started", knows={}, covered=0, of=findings)
        for number in range(findings):
            shas = [self.keep(photos[number])] if number < len(photos) else []
            self.write("finding", **common, check="left-side/sag", result="defect", fault="slack", severity="major",
                       note=f"finding {number}", photos=shas)  # fmt: skip
        assert entry["seq"]

    def keep(self, photo: bytes) -> str:
        sha = hashlib.sha256(photo).hexdigest()
        self.photos[sha] = photo
        return sha

    def items(self) -> list[tuple[int, str, str]]:
        return [
            (entry["seq"], entry["id"], hashlib.sha256(line.encode()).hexdigest())
            for line in self.lines
            for entry in [json.loads(line)]
        ]

    def have(self, **more: Any) -> dict[str, Any]:
        body = {"device": self.device, "items": self.items(), "photos": list(self.photos), "at": moment(), **more}
        return answered(self.post("have", body))

    def hand_in(self, lines: Sequence[str]) -> httpx.Response:
        text = hand_in(self.device, self.name, lines)
        headers = {**self.headers, "Content-Type": "text/plain; charset=utf-8"}
        return self.http.post("/door/entries", content=text, headers=headers)

    def put(self, sha: str, data: bytes | None = None) -> httpx.Response:
        content = self.photos[sha] if data is None else data
        headers = {**self.headers, "Content-Type": "image/jpeg"}
        return self.http.put(f"/door/photos/{sha}", content=content, headers=headers)

    def sync(self) -> dict[str, Any]:
        """Presses the button; what the door says afterwards of what it lacks."""
        lacking = self.have()
        want = set(lacking["want"])
        lines = [line for line in self.lines if json.loads(line)["id"] in want]
        for start in range(0, len(lines), AT_ONCE):
            answered(self.hand_in(lines[start : start + AT_ONCE]))
        for sha in lacking["want_photos"]:
            answered(self.put(sha))
        carry = self.http.get(
            "/door/carry", headers={**self.headers, **({"If-None-Match": self.etag} if self.etag else {})}
        )
        self.etag = carry.headers["ETag"]
        return self.have()

    def left(self) -> tuple[int, int]:
        """Entries and photos not yet at the workshop, as it says itself."""
        lacking = self.have()
        return len(lacking["want"]), len(lacking["want_photos"])


def answered(answer: httpx.Response) -> dict[str, Any]:
    assert answer.status_code == 200, f"{answer.status_code} {answer.text}"
    value = answer.json()
    assert isinstance(value, dict)
    return value


def hand_in(device: str, name: str, lines: Sequence[str], fleet: str = "trial-shed") -> bytes:
    head = {"driptray": 1, "fleet": fleet, "device": device, "device_name": name, "made": moment(),
            "edition": "00000000", "entries": len(lines), "photos": 0}  # fmt: skip
    before = "".join(f"{line}\n" for line in (json.dumps(head, separators=(",", ":")), *lines)).encode()
    end = json.dumps({"end": True, "sha256": hashlib.sha256(before).hexdigest()}, separators=(",", ":"))
    return before + end.encode() + b"\n"


def moment() -> str:
    return datetime.now(UTC).isoformat(timespec="milliseconds")


def new_id() -> str:
    milliseconds = int(datetime.now(UTC).timestamp() * 1000)
    bits = milliseconds << 80 | int.from_bytes(os.urandom(10), "big")
    bits = bits & ~(0xF << 76) | 0x7 << 76
    return str(uuid.UUID(int=bits & ~(0x3 << 62) | 0x2 << 62))


def picture(number: int = 0, size: int = 64) -> bytes:
    """A JPEG of our own, another for each number."""
    made = io.BytesIO()
    Image.new("RGB", (size, size), (number * 37 % 256, number * 101 % 256, number * 7 % 256)).save(made, "JPEG")
    return made.getvalue() + number.to_bytes(4, "big")


def raw(port: int, text: str, door: RunningDoor) -> bytes:
    """What a client gets that sends these bytes and then only listens."""
    with (
        socket.create_connection(("localhost", port), timeout=10) as plain,
        door.trust().wrap_socket(plain, server_hostname="localhost") as secure,
    ):
        secure.sendall(text.encode("latin-1"))
        said = b""
        try:
            while piece := secure.recv(65_536):
                said += piece
        except TimeoutError as error:
            raise AssertionError(f"the connection is still open, after {said!r}") from error
        except OSError:
            return said
        return said
