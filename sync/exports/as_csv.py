"""The backlog as CSV (RFC 4180): the view's rows and columns, `as_of`, what the figures say; a line for every vehicle.

UTF-8 with a byte order mark: without it the commonest spreadsheet takes the file for its own country's old code
page and spoils every accent and degree sign; other spreadsheets, csv's "utf-8-sig" and pandas take it off again.
Comma and CRLF as the RFC has them. What a person wrote is never run as a formula (guard.py).
"""

import csv
from codecs import BOM_UTF8
from collections.abc import Iterator
from io import TextIOWrapper
from typing import BinaryIO

from sync.exports.columns import FIGURES, VIEW, Value, values
from sync.exports.guard import as_text, printable
from sync.exports.snapshot import Snapshot
from sync.rows import StandingRow

HEADER = (*(column.name for column in VIEW), "as_of", *(column.name for column in FIGURES))
NO_FIGURES = ("",) * len(FIGURES)


def write(snapshot: Snapshot, out: BinaryIO) -> None:
    """Writes the CSV to `out`, a row at a time."""
    out.write(BOM_UTF8)
    text = TextIOWrapper(out, encoding="utf-8", newline="", write_through=True)
    lines = csv.writer(text, lineterminator="\r\n")
    lines.writerow(HEADER)
    for line in _lines(snapshot):
        lines.writerow([as_text(printable(value)) if isinstance(value, str) else value for value in line])
    text.detach()


def _lines(snapshot: Snapshot) -> Iterator[tuple[Value, ...]]:
    as_of = snapshot.as_of.isoformat()
    for row in snapshot.backlog:
        yield (*values(row), as_of, *values(snapshot.figures(row)))
    for vehicle in snapshot.standing:
        known = _vehicle(vehicle)
        yield (*(known.get(column.name, "") for column in VIEW), as_of, *NO_FIGURES)


def _vehicle(row: StandingRow) -> dict[str, Value]:
    """A line with neither rank nor defect tells how its vehicle stands, so that no vehicle goes unseen."""
    open_now = f"{row.open_defects} open" if row.open_defects else "nothing open"
    return {
        "vehicle": row.vehicle,
        "vehicle_name": row.name,
        "check_name": "(the whole vehicle)",
        "fault": open_now,
        "status": row.not_walked or "walked",
        "standing": row.standing,
        "barred": row.barred,
        "last_seen": row.last_round[:10],
        "note": row.why,
    }
