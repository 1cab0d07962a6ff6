"""The backlog file: the only SQLite code. What can be read from it stands at the top of store_rows.py,
and for the desk's own pages of store_desk.py, store_arrived.py and store_season.py.

`Store(path)` opens (or makes) a backlog and brings it forward; each thread that uses it gets its own connection.
Writing goes through service.py; placing a photo's file is here.
"""

from pathlib import Path

from sync.errors import StoreError
from sync.store_arrived import StoreArrived
from sync.store_file import flush
from sync.store_relay import StoreRelay
from sync.store_season import StoreSeason

SUFFIXES = {"image/jpeg": ".jpg", "image/png": ".png", "image/webp": ".webp"}


class Store(StoreArrived, StoreSeason, StoreRelay):
    """One backlog. `create=False` refuses a path where there is none."""

    def __enter__(self) -> "Store":
        return self

    # --- photos: files beside the backlog, named by their SHA-256

    @property
    def photo_folder(self) -> Path:
        return self.path.with_name(f"{self.path.stem}-photos")

    def photo_path(self, sha256: str) -> Path:
        """Where a photo's file is. Raises StoreError for a photo that is not here."""
        row = self.photo(sha256)
        if row is None:
            raise StoreError(f"the photo {sha256[:12]}… has not come yet")
        return self.photo_folder / f"{sha256}{SUFFIXES[row.type]}"

    def place_photo(self, sha256: str, kind: str, data: bytes) -> None:
        """The photo's bytes in their place, flushed to the disk, before anything names them."""
        target = self.photo_folder / f"{sha256}{SUFFIXES[kind]}"
        with self._told():
            self.photo_folder.mkdir(exist_ok=True)
            part = target.with_suffix(".part")
            part.write_bytes(data)
            flush(part)
            part.replace(target)

    def flush_photos(self) -> None:
        """Make the names of newly placed photos last, once for many of them."""
        with self._told():
            flush(self.photo_folder)
            flush(self.photo_folder.parent)

    def remove_photo_file(self, sha256: str) -> None:
        with self._told():
            for suffix in SUFFIXES.values():
                (self.photo_folder / f"{sha256}{suffix}").unlink(missing_ok=True)
