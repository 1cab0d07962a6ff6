"""A file that only this PC's user reads: keys, tokens, the password's hash."""

import os
from pathlib import Path


def keep_secret(path: Path, data: bytes) -> None:
    """Written beside and swapped in, on the disk before it counts; its owner's alone from the first byte."""
    path.parent.mkdir(parents=True, exist_ok=True)
    beside = path.with_name(f"{path.name}.new")
    beside.unlink(missing_ok=True)  # one left over might be anybody's to read
    with os.fdopen(os.open(beside, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())
    beside.replace(path)
