"""What was known is shown to the next walker: small pictures go out with the carry."""

import base64
import hashlib
import io
import json
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Any

import pytest
from PIL import Image

from sync.carry import carry
from sync.service import Service
from tests.sync.phones import Phone, edition_of, service_at


@pytest.fixture
def edition(tmp_path: Path) -> bytes:
    return edition_of(tmp_path / "fleet")


@pytest.fixture
def service(tmp_path: Path, edition: bytes) -> Service:
    return service_at(tmp_path / "backlog.db", edition)


def drawn(width: int, height: int) -> bytes:
    out = io.BytesIO()
    Image.effect_noise((width, height), 60).convert("RGB").save(out, "JPEG")
    return out.getvalue()


def carried(service: Service) -> dict[str, Any]:
    made = datetime(2026, 10, 18, 12, tzinfo=UTC)
    return dict(json.loads(carry(service.store, date(2026, 10, 18), made)))


def seen_with(edition: bytes, service: Service, data: bytes) -> str:
    """A defect with this photo, taken in; the photo's name."""
    phone = Phone("d-1", edition)
    name = hashlib.sha256(data).hexdigest()
    phone.photos[name] = data
    phone.walk()
    phone.find(photos=[name])
    service.take_in("file", [phone.hand_in()])
    return name


def test_a_known_defects_photo_goes_out_small(edition: bytes, service: Service) -> None:
    name = seen_with(edition, service, drawn(1600, 1200))
    image = Image.open(io.BytesIO(base64.b64decode(carried(service)["pictures"][name])))
    assert (image.format, max(image.size)) == ("JPEG", 320)


def test_a_photo_that_has_not_come_yet_is_left_out(edition: bytes, service: Service) -> None:
    phone = Phone("d-1", edition)
    phone.walk()
    phone.find(photos=["0" * 64])
    service.take_in("file", [phone.hand_in()])
    found = carried(service)
    assert (len(found["defects"]), found["pictures"]) == (1, {})


def test_a_photo_that_is_gone_from_the_disk_is_left_out(edition: bytes, service: Service) -> None:
    name = seen_with(edition, service, drawn(640, 480))
    assert list(carried(service)["pictures"]) == [name]
    service.store.remove_photo_file(name)
    assert carried(service)["pictures"] == {}
