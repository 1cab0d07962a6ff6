"""Photos: small, upright, without place or time, read back; what cannot be read is refused in words."""

import base64
import hashlib
import io
from typing import Any

import pytest
from PIL import Image, ImageDraw

from tests.app.conftest import Bench

TAKE = """
const { openStorage } = await load("storage");
const { Photos } = await load("photo");
const photos = new Photos(await openStorage("trial"));
const file = new Blob([Uint8Array.from(atob(given.data), (c) => c.charCodeAt(0))], { type: given.type });
"""
KEEP = (
    TAKE + "const sha = await photos.take(file); const kept = await photos.get(sha);"
    "const { toBase64 } = await load('bytes');"
    "return { sha, buffer: kept.bytes instanceof ArrayBuffer, type: kept.type, data: toBase64(kept.bytes) };"
)
REFUSE = TAKE + "return photos.take(file).then(() => 'taken', (error) => error.code);"


def drawn(width: int, height: int, orientation: int = 1) -> bytes:
    """A picture with a red upper left quarter, as a camera held that way stores it, with a place in its EXIF."""
    image = Image.new("RGB", (width, height), "white")
    ImageDraw.Draw(image).rectangle((0, 0, width // 2, height // 2), fill="red")
    exif = Image.Exif()
    exif[0x0112] = orientation
    exif[0x010F] = "A maker"
    exif.get_ifd(0x8825)[1] = "N"
    exif.get_ifd(0x8825)[2] = (51.0, 30.0, 0.0)
    out = io.BytesIO()
    image.save(out, "JPEG", quality=90, exif=exif)
    return out.getvalue()


def given(data: bytes, type_: str = "image/jpeg") -> dict[str, str]:
    return {"data": base64.b64encode(data).decode(), "type": type_}


def kept(bench: Bench, data: bytes) -> tuple[dict[str, Any], Image.Image]:
    got = bench.run(KEEP, given(data))
    return got, Image.open(io.BytesIO(base64.b64decode(got["data"])))


def test_a_photo_is_brought_down_to_1600_pixels(bench: Bench) -> None:
    _, image = kept(bench, drawn(4000, 3000))
    assert (image.format, image.size) == ("JPEG", (1600, 1200))


def test_a_small_photo_is_not_blown_up(bench: Bench) -> None:
    assert kept(bench, drawn(640, 480))[1].size == (640, 480)


def test_a_photo_leaves_its_place_its_time_and_its_maker_behind(bench: Bench) -> None:
    assert Image.open(io.BytesIO(drawn(64, 48))).getexif().get_ifd(0x8825)
    _, image = kept(bench, drawn(64, 48))
    assert not dict(image.getexif())


def test_a_photo_taken_sideways_is_kept_upright(bench: Bench) -> None:
    # Orientation 6: the camera was turned, its upper left is the picture's upper right.
    _, image = kept(bench, drawn(800, 600, orientation=6))
    assert image.size == (600, 800)
    red, blue = image.convert("RGB").getpixel((550, 50)), image.convert("RGB").getpixel((50, 750))
    assert red[0] > 200
    assert red[1] < 100
    assert min(blue) > 200


def test_a_photo_is_kept_as_an_array_buffer_under_the_hash_of_its_bytes(bench: Bench) -> None:
    got, _ = kept(bench, drawn(64, 48))
    assert got["buffer"]
    assert got["type"] == "image/jpeg"
    assert hashlib.sha256(base64.b64decode(got["data"])).hexdigest() == got["sha"]


def test_bytes_that_come_back_otherwise_than_they_went_are_told(bench: Bench) -> None:
    code = bench.run(
        "const plain = IDBObjectStore.prototype.put; IDBObjectStore.prototype.put = function (value, key) {"
        " if (value.bytes) new Uint8Array(value.bytes)[9] ^= 1; return plain.call(this, value, key); };" + REFUSE,
        given(drawn(64, 48)),
    )
    assert code == "photo-corrupt"


HEIC = b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00mif1heic" + bytes(200)


@pytest.mark.parametrize(
    ("data", "type_"), [(HEIC, "image/heic"), (b"", "image/jpeg"), (b"no picture at all", "image/jpeg")]
)
def test_what_this_browser_cannot_read_is_refused_in_words(bench: Bench, data: bytes, type_: str) -> None:
    assert bench.run(REFUSE, given(data, type_)) == "photo-unreadable"


def test_a_photo_once_let_go_is_still_known_by_its_name(bench: Bench) -> None:
    left = bench.run(
        TAKE + "const sha = await photos.take(file); await photos.letGo(sha);"
        "return [(await photos.get(sha)).bytes, await photos.url(sha)];",
        given(drawn(64, 48)),
    )
    assert left == [None, None]
