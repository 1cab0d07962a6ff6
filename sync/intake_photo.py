"""One photo of a hand-in: its bytes checked against its name, and looked at for what they are."""

import base64
import binascii
import hashlib
import io
import warnings

import msgspec
from PIL import Image

from sync.entries import PHOTO_MOST, PhotoLine

TYPES = {"JPEG": "image/jpeg", "PNG": "image/png", "WEBP": "image/webp"}
SUFFIXES = {"image/jpeg": ".jpg", "image/png": ".png", "image/webp": ".webp"}
#: More than any phone's camera takes; a picture that unpacks to more is refused unopened.
PIXELS_MOST = 120_000_000


class Picture(msgspec.Struct, frozen=True):
    """`type` is what the bytes are, whatever the line called them."""

    sha256: str
    type: str
    data: bytes


def picture_of(line: PhotoLine) -> Picture:
    """A photo line's picture. Raises ValueError with the reason in words."""
    try:
        data = base64.b64decode(line.data, validate=True)
    except binascii.Error as error:
        raise ValueError("its data is not base64") from error
    return checked(line.photo, data)


def checked(sha256: str, data: bytes) -> Picture:
    """Bytes that should be the photo of that name (SHA-256, hex). Raises ValueError with the reason in words."""
    if len(data) > PHOTO_MOST:
        raise ValueError(f"{len(data)} bytes; a photo has at most {PHOTO_MOST // 1024**2} MiB")
    found = hashlib.sha256(data).hexdigest()
    if found != sha256:
        raise ValueError(f"its bytes are not those of {sha256[:12]}…: their SHA-256 is {found[:12]}…")
    kind = image_type(data)
    if kind is None:
        raise ValueError("it is no picture that is taken here (JPEG, PNG or WebP)")
    return Picture(sha256, kind, data)


def image_type(data: bytes) -> str | None:
    """What a picture's own head says it is, or None; nothing is unpacked, so a pixel bomb costs nothing."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            with Image.open(io.BytesIO(data), formats=tuple(TYPES)) as picture:
                width, height = picture.size
                return TYPES[picture.format or ""] if 0 < width * height <= PIXELS_MOST else None
    except Exception:  # whatever a decoder trips over in hostile bytes, they are no picture
        return None
