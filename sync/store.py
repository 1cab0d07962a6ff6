"""The backlog file: the only SQLite code. What can be read from it stands at the top of store_rows.py,
and for the desk's own pages of store_desk.py, store_arrived.py and store_season.py.

`Store(path)` opens (or makes) a backlog and brings it forward; each thread that uses it gets its own connection.
Writing goes through service.py; placing a photo's file is here.
"""

import contextlib
import hashlib
from collections.abc import Sequence
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

    # --- what this desk has written, in a file beside the backlog: the backlog itself may be put back from a copy

    def note_written(self, device: str) -> None:
        """After a commit. Where this cannot be noted, a backlog put back is not noticed; nothing else is lost."""
        with contextlib.suppress(OSError):
            noted = {**self._noted(), device: self.highest_seq(device)}
            beside = self._written.with_suffix(".part")
            beside.write_text("".join(f"{name} {seq}\n" for name, seq in sorted(noted.items())), "utf-8")
            beside.replace(self._written)

    def is_put_back(self, device: str) -> bool:
        """Whether this desk has written more under its device, or for its paper sheets, than the backlog has now."""
        own = {name: seq for name, seq in self._noted().items() if f"{name}-".startswith(f"{device}-")}
        return any(seq > self.highest_seq(name) for name, seq in own.items())

    def _noted(self) -> dict[str, int]:
        try:
            lines = self._written.read_text("utf-8").splitlines()
            return {device: int(seq) for device, _, seq in (line.partition(" ") for line in lines)}
        except (OSError, ValueError):
            return {}

    @property
    def _written(self) -> Path:
        return self.path.with_name(f"{self.path.stem}-written.txt")

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

    def has_photo(self, sha256: str) -> bool:
        """Whether a photo is named here and its file is in its place; put back from an old copy, it may lack."""
        return self.photo(sha256) is not None and self.photo_path(sha256).exists()

    def lacking_photos(self, sha256s: Sequence[str]) -> tuple[str, ...]:
        """Of some photos, those that are not here with their files."""
        return tuple(sha for sha in sha256s if not self.has_photo(sha))

    def held_photos(self) -> list[str]:
        """All photos that are here with their files, in order."""
        return [photo.sha256 for photo in self.photos() if self.photo_path(photo.sha256).exists()]

    def photo_is_whole(self, sha256: str) -> bool:
        """Whether the file's bytes are those that its name says."""
        try:
            with self.photo_path(sha256).open("rb") as file:
                return hashlib.file_digest(file, "sha256").hexdigest() == sha256
        except FileNotFoundError:
            return False

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
