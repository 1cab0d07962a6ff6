"""One log, one day, the same bytes: whatever the clock, and however often."""

import time
from collections.abc import Callable

import pytest

from sync.exports import as_csv, as_html, as_ics, as_json, as_md, as_xlsx
from sync.exports.snapshot import Snapshot

WRITERS = [as_csv, as_xlsx, as_json, as_ics, as_html, as_md]


@pytest.mark.parametrize("module", WRITERS, ids=lambda module: module.__name__.rsplit("_", 1)[-1])
def test_the_same_snapshot_is_the_same_bytes_on_another_day(
    module: object, snapshot: Snapshot, export: Callable[..., bytes], monkeypatch: pytest.MonkeyPatch
) -> None:
    first = export(module.write, snapshot)  # type: ignore[attr-defined]
    ahead = time.time() + 400 * 86_400
    monkeypatch.setattr(time, "time", lambda: ahead)
    assert export(module.write, snapshot) == first  # type: ignore[attr-defined]
