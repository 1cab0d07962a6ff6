"""Exports of long backlogs: rows go out as they come, so ten times the rows need no more memory."""

import io
import tracemalloc
from collections.abc import Callable
from dataclasses import replace
from functools import partial

import msgspec
import pytest

from sync.exports import as_csv, as_html, as_ics, as_json, as_md, as_xlsx
from sync.exports.snapshot import Rows, Snapshot

WRITERS = [as_csv, as_xlsx, as_json, as_ics, as_html, as_md]


class Counted(io.RawIOBase):
    """Takes bytes and keeps none of them; a workbook's parts may be sought back in to correct their headers."""

    def __init__(self) -> None:
        self.at = self.end = 0

    def writable(self) -> bool:
        return True

    def seekable(self) -> bool:
        return True

    def tell(self) -> int:
        return self.at

    def seek(self, offset: int, whence: int = 0) -> int:
        self.at = offset + (0, self.at, self.end)[whence]
        return self.at

    def write(self, data: bytes) -> int:  # type: ignore[override]
        self.at += len(data)
        self.end = max(self.end, self.at)
        return len(data)


def peak(write: Callable[..., None], snapshot: Snapshot, count: int) -> int:
    first = next(iter(snapshot.backlog))
    wait = next(iter(snapshot.waits))

    def many(row: msgspec.Struct, name: str):
        for place in range(count):
            yield msgspec.structs.replace(row, **{name: f"badger-{place:06d}"})

    rows = {"backlog": Rows(partial(many, first, "defect")), "waits": Rows(partial(many, wait, "about"))}
    out = Counted()
    tracemalloc.start()
    try:
        write(replace(snapshot, **rows), out)
        return tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()


@pytest.mark.parametrize("module", WRITERS, ids=lambda module: module.__name__.rsplit("_", 1)[-1])
def test_ten_times_the_rows_need_no_more_memory(module: object, snapshot: Snapshot) -> None:
    peak(module.write, snapshot, 10)  # type: ignore[attr-defined]  # what is loaded once is loaded now
    few, many = (peak(module.write, snapshot, count) for count in (200, 2000))  # type: ignore[attr-defined]
    assert many < few + 400_000
