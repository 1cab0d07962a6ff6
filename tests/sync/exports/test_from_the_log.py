"""From hand-ins to files, through the real service and store: the same log gives the same bytes, in any order."""

import hashlib
import json
import os
from base64 import b64encode
from collections.abc import Callable
from datetime import UTC, date, datetime
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from builder.edition import compile_edition
from builder.load import load_fleet
from sync.exports.command import WRITERS, write_export
from sync.service import Service
from sync.store import Store

FLEET = (
    'name = "Kestrel Lane Yard"\ncode = "kestrel-lane"\npeople = [{ name = "Rhona", initials = "RM", lead = true }]\n'
)
TEMPLATE = """
name = "Tracked"
[[station]]
id = "left-track"
name = "Left track"
order = 20
at = [0.5, 0.05]
[[station.check]]
id = "sag"
ask = "Sag of the top run"
rounds = ["cold", "full"]
reading = { quantity = "length", unit = "mm", low = 20, high = 40, tolerance = 3, least = 0, most = 300 }
fault = [{ id = "slack", name = "Slack", severity = "major", hours = [2, 4] }]
"""
AS_OF = date(2026, 10, 19)


def picture() -> bytes:
    out = BytesIO()
    Image.new("RGB", (320, 240), "#6d7a80").save(out, "JPEG")
    return out.getvalue()


PHOTO = picture()


def photo_line(photo: bytes) -> dict[str, Any]:
    return {"photo": hashlib.sha256(photo).hexdigest(), "type": "image/jpeg", "data": b64encode(photo).decode()}


def hand_in(device: str, by: str, edition: str, finding: dict[str, Any], photos: tuple[bytes, ...] = ()) -> bytes:
    """A walk of the badger with one finding, as a phone's file."""
    tail = hashlib.sha256(device.encode()).hexdigest()[:12]
    walk = f"0199f5c2-7d10-7c3e-9a51-{tail}"
    head = {"driptray": 1, "fleet": "kestrel-lane", "device": device, "device_name": f"{by} phone", "entries": 2,
            "made": "2026-10-18T09:12:40+01:00", "edition": edition, "photos": len(photos)}  # fmt: skip
    every = {"device": device, "at": "2026-10-18T08:31:02.120+01:00", "by": by, "edition": edition, "vehicle": "badger"}
    lines = [
        head,
        {**every, "id": walk, "seq": 1, "kind": "walk", "walk": walk, "round": "cold", "day": "2026-10-18",
         "state": "started", "knows": {}, "covered": 0, "of": 1},
        {**every, "id": walk.replace("7d10", "7d11"), "seq": 2, "kind": "finding", "walk": walk, **finding},
        *map(photo_line, photos),
    ]  # fmt: skip
    body = "".join(json.dumps(line) + "\n" for line in lines).encode()
    end = {"end": True, "sha256": hashlib.sha256(body).hexdigest()}
    return body + json.dumps(end).encode() + b"\n"


@pytest.fixture(scope="module")
def edition(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    folder = tmp_path_factory.mktemp("fleet")
    vehicles = {
        f"vehicles/{name}.toml": f'id = "{name}"\nname = "{name.capitalize()}"\nkind = "carrier"\n'
        'location = "East shed"\ntemplates = ["tracked"]\n'
        for name in ("badger", "stoat")
    }
    for name, text in {"fleet.toml": FLEET, "templates/tracked.toml": TEMPLATE, **vehicles}.items():
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text, "utf-8")
    return compile_edition(load_fleet(folder))


@pytest.fixture
def hand_ins(edition: bytes) -> dict[str, bytes]:
    fingerprint = json.loads(edition)["edition"]
    sha = hashlib.sha256(PHOTO).hexdigest()
    slack = {"check": "left-track/sag", "result": "defect", "fault": "slack", "severity": "major",
             "reading": {"value": 61, "unit": "mm"}, "note": "=cmd|' /C calc'!A0", "photos": [sha]}  # fmt: skip
    sound = {"check": "left-track/sag", "result": "sound", "photos": []}
    return {
        "one": hand_in("d-4k7m", "RM", fingerprint, slack, (PHOTO,)),
        "two": hand_in("d-9x2p", "TA", fingerprint, sound),
    }


@pytest.fixture
def written(edition: bytes, hand_ins: dict[str, bytes], tmp_path: Path) -> Callable[..., dict[str, bytes]]:
    """`written("one", "two")` -> every format's bytes of a backlog that took those in, in that order."""

    def run(*order: str) -> dict[str, bytes]:
        home = tmp_path / "-".join(order)
        (home / "exports").mkdir(parents=True)
        with Store(home / "backlog.db") as store:
            service = Service(store, lambda: datetime(2026, 10, 18, 12, tzinfo=UTC), os.urandom)
            service.adopt(edition)
            for name in order:
                service.take_in(f"{name}.txt", [hand_ins[name]])
            for form in WRITERS:
                write_export(store, form, home / "exports" / f"backlog.{form}", AS_OF)
        return {form: (home / "exports" / f"backlog.{form}").read_bytes() for form in WRITERS}

    return run


def test_the_same_log_is_the_same_bytes_in_any_order_and_however_often(
    written: Callable[..., dict[str, bytes]],
) -> None:
    first = written("one", "two")
    assert [form for form, data in written("two", "one", "two").items() if data != first[form]] == []


@pytest.mark.parametrize("form", ["csv", "json", "html", "md"])
def test_what_was_handed_in_is_in_the_file(form: str, written: Callable[..., dict[str, bytes]]) -> None:
    told = written("one", "two")[form].decode()
    for word in ("Slack", "61 mm", "major", "Badger", "RM"):
        assert word in told


def test_a_vehicle_nobody_walked_is_in_the_file_and_says_so(written: Callable[..., dict[str, bytes]]) -> None:
    told = json.loads(written("one", "two")["json"])
    assert {row["vehicle"]: row["not_walked"] for row in told["fleet_standing"]} == {
        "badger": "",
        "stoat": "not walked",
    }


def test_two_who_disagree_are_both_in_the_file(written: Callable[..., dict[str, bytes]]) -> None:
    (conflict,) = json.loads(written("one", "two")["json"])["conflicts"]
    assert {(side["by"], side["says"], side["stands"]) for side in conflict["sides"]} == {
        ("RM", "defect, major, 61 mm", "stands meanwhile"),
        ("TA", "sound", ""),
    }


def test_the_photo_is_linked_where_it_lies(written: Callable[..., dict[str, bytes]]) -> None:
    (photo,) = json.loads(written("one", "two")["json"])["photos"]
    assert photo["file"] == f"../backlog-photos/{hashlib.sha256(PHOTO).hexdigest()}.jpg"
