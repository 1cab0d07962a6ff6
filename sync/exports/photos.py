"""A photo for a page that must carry it: turned upright, scaled down, as a data address; same photo, same bytes."""

from base64 import b64encode
from io import BytesIO
from pathlib import Path

from PIL import Image, ImageOps, UnidentifiedImageError

WIDE = 720
QUALITY = 72


def embedded(path: Path | None, wide: int = WIDE) -> str:
    """The photo at `path` as a data: address at most `wide` pixels a side; empty where it cannot be read."""
    if path is None:
        return ""
    try:
        with Image.open(path) as photo:
            upright = ImageOps.exif_transpose(photo).convert("RGB")
    except (OSError, UnidentifiedImageError, Image.DecompressionBombError, ValueError):
        return ""
    upright.thumbnail((wide, wide))
    out = BytesIO()
    upright.save(out, "JPEG", quality=QUALITY, optimize=True)
    return "data:image/jpeg;base64," + b64encode(out.getvalue()).decode("ascii")
