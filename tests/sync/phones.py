"""Phones and hand-ins for tests: entries written as a phone writes them, of the small fleet that tests use."""

import base64
import hashlib
import io
import itertools
import json
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from PIL import Image

from builder.edition import compile_edition, read_edition
from builder.load import load_fleet
from sync.ids import uuid7
from sync.service import Service
from sync.store import Store
from tests.builder.fleets import write_fleet

START = datetime(2026, 10, 17, 15, 0, tzinfo=UTC)


def edition_of(folder: Path, **changes: tuple[str, str] | None) -> bytes:
    """The small fleet, compiled."""
    return compile_edition(load_fleet(write_fleet(folder, **changes)))


class Dice:
    """Randomness that is the same in every run."""

    def __init__(self, seed: str) -> None:
        self._seed = seed
        self._count = itertools.count()

    def __call__(self, length: int) -> bytes:
        return hashlib.shake_128(f"{self._seed}/{next(self._count)}".encode()).digest(length)


class Phone:
    """One phone: `walk`, `find` and `report` write entries, `hand_in` gives them as a file's bytes."""

    def __init__(self, device: str, edition: bytes, by: str = "AB", start: datetime = START) -> None:
        read = read_edition(edition)
        self.device, self.by, self.edition, self.fleet = device, by, read.fingerprint, read.code
        self.lines: list[bytes] = []
        self.photos: dict[str, bytes] = {}
        self._clock = (start + timedelta(seconds=n) for n in itertools.count())
        self._dice = Dice(device)
        self.walk_id = ""

    def write(self, kind: str, **fields: Any) -> str:
        """One entry; its id."""
        now = next(self._clock)
        entry_id = fields.pop("id", None) or uuid7(now, self._dice)
        head = {"id": entry_id, "device": self.device, "seq": len(self.lines) + 1, "at": now.isoformat(), "by": self.by,
                "edition": self.edition, "kind": kind}  # fmt: skip
        self.lines.append(json.dumps({**head, **fields}, separators=(",", ":"), ensure_ascii=False).encode())
        return entry_id

    def walk(self, vehicle: str = "otter", round: str = "cold", day: str = "2026-10-17", **fields: Any) -> str:
        self.walk_id = uuid7(next(self._clock), self._dice)
        body = {"walk": self.walk_id, "vehicle": vehicle, "round": round, "day": day, "state": "started", **fields}
        return self.write("walk", id=self.walk_id, **body)

    def find(self, check: str = "left-side/sag", result: str = "defect", vehicle: str = "otter", **fields: Any) -> str:
        if result == "defect":
            fields = {"fault": "slack", "severity": "major", **fields}
        body = {"walk": self.walk_id, "vehicle": vehicle, "check": check, "result": result, "photos": [], **fields}
        return self.write("finding", **{k: v for k, v in body.items() if v is not None})

    def picture(self, colour: str = "grey") -> str:
        """A new photo's name."""
        data = picture(colour)
        name = hashlib.sha256(data).hexdigest()
        self.photos[name] = data
        return name

    def hand_in(self, first: int = 1, last: int | None = None, **head: Any) -> bytes:
        """The entries from `first` to `last` and all photos, as a file."""
        return hand_in_of(self.lines[first - 1 : last], self, **head)


def hand_in_of(lines: list[bytes], phone: Phone, **head: Any) -> bytes:
    """These very lines, between a head and an end that are right."""
    first = {"driptray": 1, "fleet": phone.fleet, "device": phone.device, "device_name": f"{phone.by} phone",
             "made": START.isoformat(), "edition": phone.edition, "entries": len(lines),
             "photos": len(phone.photos), **head}  # fmt: skip
    photos = [
        json.dumps({"photo": name, "type": "image/jpeg", "data": base64.b64encode(data).decode()}).encode()
        for name, data in phone.photos.items()
    ]
    body = b"".join(line + b"\n" for line in (json.dumps(first).encode(), *lines, *photos))
    return body + json.dumps({"end": True, "sha256": hashlib.sha256(body).hexdigest()}).encode() + b"\n"


def picture(colour: str = "grey") -> bytes:
    """A small JPEG."""
    out = io.BytesIO()
    Image.new("RGB", (8, 6), colour).save(out, "JPEG")
    return out.getvalue()


def clock() -> Callable[[], datetime]:
    """The desk's clock: three hours on, a second each time it is asked."""
    moments = (START + timedelta(hours=3, seconds=n) for n in itertools.count())
    return lambda: next(moments)


def service_at(path: Path, edition: bytes, seed: str = "desk") -> Service:
    """A backlog's service with a clock and randomness that are the same in every run."""
    service = Service(Store(path), clock(), Dice(seed))
    service.adopt(edition)
    return service
