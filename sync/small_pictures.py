"""Small pictures of known defects, to go out to the phones with the carry."""

import base64
import io
import warnings
from collections.abc import Iterable
from functools import lru_cache
from pathlib import Path

from PIL import Image, ImageOps

from sync.errors import StoreError
from sync.state import Defect
from sync.store import Store

LONGEST = 320
#: Defects that get a picture, gravest first, and the bytes that all together may have.
MOST = 300
BYTES_MOST = 2_000_000
_GRAVEST_FIRST = ("dangerous", "major", "minor", "advisory")


def small_pictures(store: Store, defects: Iterable[Defect]) -> dict[str, str]:
    """SHA-256 of a photo -> base64 of a small JPEG: the first photo of each open defect, while there is room.

    A photo that has not come yet, or that cannot be read, is left out.
    """
    pictures: dict[str, str] = {}
    room = BYTES_MOST
    shown = (d for d in defects if d.closed is None and d.photos)
    for defect in sorted(shown, key=lambda d: _GRAVEST_FIRST.index(d.severity))[:MOST]:
        sha256 = defect.photos[0]
        small = _small_of(store, sha256) if sha256 not in pictures else ""
        if small and len(small) <= room:
            pictures[sha256] = small
            room -= len(small)
    return pictures


def _small_of(store: Store, sha256: str) -> str:
    try:
        path = store.photo_path(sha256)
    except StoreError:
        return ""
    return _made(path) if path.is_file() else ""


@lru_cache(maxsize=2 * MOST)
def _made(path: Path) -> str:
    """Named by its content's hash, so what was made of it once holds."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("error", Image.DecompressionBombWarning)
            with Image.open(path) as photo:
                photo.draft("RGB", (LONGEST, LONGEST))
                small = ImageOps.exif_transpose(photo).convert("RGB")
        small.thumbnail((LONGEST, LONGEST))
    except (OSError, ValueError, SyntaxError, Image.DecompressionBombError, Image.DecompressionBombWarning):
        return ""
    out = io.BytesIO()
    small.save(out, "JPEG", quality=55)
    return base64.b64encode(out.getvalue()).decode()
