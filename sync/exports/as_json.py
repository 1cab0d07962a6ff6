"""The backlog as JSON, described by backlog.schema.json (JSON Schema 2020-12): a row a line, names as in the views."""

from collections.abc import Iterable
from importlib.resources import files
from typing import Any, BinaryIO

import msgspec

from sync.exports.snapshot import Snapshot
from sync.rows import BacklogRow

FORMAT = 1
SCHEMA_ID = "urn:driptray:export:backlog:1"


def schema() -> bytes:
    """The published schema's bytes."""
    return files("sync.exports").joinpath("backlog.schema.json").read_bytes()


def write(snapshot: Snapshot, out: BinaryIO) -> None:
    """Writes the JSON to `out`, a row at a time."""
    head = {
        "$schema": SCHEMA_ID,
        "driptray_export": FORMAT,
        "fleet": snapshot.fleet,
        "code": snapshot.code,
        "edition": snapshot.edition,
        "as_of": snapshot.as_of,
        "log_entries": snapshot.log_entries,
        "plan_note": snapshot.plan_note(),
    }
    out.write(b"{\n")
    for name, value in head.items():
        out.write(msgspec.json.encode(name) + b": " + msgspec.json.encode(value) + b",\n")
    for place, (name, rows) in enumerate(_lists(snapshot)):
        out.write((b",\n" if place else b"") + msgspec.json.encode(name) + b": ")
        _list(rows, out)
    out.write(b"\n}\n")


def _defect(snapshot: Snapshot, row: BacklogRow) -> dict[str, Any]:
    return msgspec.structs.asdict(row) | msgspec.structs.asdict(snapshot.figures(row))


def _lists(snapshot: Snapshot) -> tuple[tuple[str, Iterable[msgspec.Struct | dict[str, Any]]], ...]:
    return (
        ("fleet_standing", snapshot.standing),
        ("backlog", (_defect(snapshot, row) for row in snapshot.backlog)),
        ("conflicts", snapshot.conflicts),
        ("waits", snapshot.waits),
        ("jobs", snapshot.jobs),
        ("walks", snapshot.walks),
        ("reports", snapshot.reports),
        ("days", snapshot.days),
        ("photos", snapshot.photos),
        ("set_aside", snapshot.set_aside),
    )


def _list(rows: Iterable[msgspec.Struct | dict[str, Any]], out: BinaryIO) -> None:
    between = b"[\n  "
    for row in rows:
        out.write(between + msgspec.json.encode(row))
        between = b",\n  "
    out.write(b"[]" if between.startswith(b"[") else b"\n]")
