"""What a user would take instead for merging phones' files, each as short as such a script is; and ours, whole.

Each makes ready what is not to be measured, and gives what is: merging the files that folder/order lists into a new
database.
"""

import json
import os
import sqlite3
from collections.abc import Callable, Iterator
from datetime import datetime
from pathlib import Path
from typing import Any

import orjson
import pandas
import pycrdt
import sqlite_utils

from sync.service import Service
from sync.service_take import Receipt
from sync.store import Store

_TABLE = "CREATE TABLE IF NOT EXISTS entries (id TEXT PRIMARY KEY, device, seq, kind, vehicle, body)"
INSERT = "INSERT OR IGNORE INTO entries VALUES (?, ?, ?, ?, ?, ?)"
_PIECE = 1024 * 1024
NAMES = ["id", "device", "seq", "kind", "vehicle", "body"]
Merge = Callable[[], None]


def files(folder: Path) -> list[Path]:
    return [Path(line) for line in (folder / "order").read_text().splitlines()]


def fresh(folder: Path, name: str) -> Path:
    path = folder / f"{name}.db"
    for old in folder.glob(f"{name}.db*"):
        old.unlink()
    return path


def row(entry: dict[str, Any], line: bytes) -> tuple[Any, ...]:
    return (entry["id"], entry["device"], entry["seq"], entry["kind"], entry.get("vehicle"), line)


def rows(paths: list[Path], loads: Callable[[bytes], Any]) -> Iterator[tuple[Any, ...]]:
    for path in paths:
        for line in path.read_bytes().splitlines():
            entry = loads(line)
            if "kind" in entry:
                yield row(entry, line)


def floor(folder: Path, name: str, loads: Callable[[bytes], Any]) -> Merge:
    path, paths = fresh(folder, name), files(folder)

    def merge() -> None:
        with sqlite3.connect(path) as connection:
            connection.execute(_TABLE)
            connection.executemany(INSERT, rows(paths, loads))

    return merge


def with_sqlite_utils(folder: Path) -> Merge:
    path, paths = fresh(folder, "sqlite-utils"), files(folder)

    def merge() -> None:
        database = sqlite_utils.Database(path)
        found = (dict(zip(NAMES, one, strict=True)) for one in rows(paths, json.loads))
        database["entries"].insert_all(found, pk="id", ignore=True)  # type: ignore[union-attr]

    return merge


def with_pandas(folder: Path) -> Merge:
    path, paths = fresh(folder, "pandas"), files(folder)

    def merge() -> None:
        frames = [pandas.DataFrame(list(rows([one], json.loads)), columns=NAMES) for one in paths]
        merged = pandas.concat(frames).drop_duplicates("id")
        with sqlite3.connect(path) as connection:
            merged.to_sql("entries", connection, index=False)

    return merge


def with_pycrdt(folder: Path) -> Merge:
    """The phones' own documents are made before: each would hold its own already."""
    target = folder / "pycrdt.bin"
    updates = [_document(path) for path in files(folder)]

    def merge() -> None:
        merged: pycrdt.Doc[Any] = pycrdt.Doc()
        for update in updates:
            merged.apply_update(update)
        target.write_bytes(merged.get_update())

    return merge


def _document(path: Path) -> bytes:
    document: pycrdt.Doc[Any] = pycrdt.Doc(client_id=int.from_bytes(path.name.encode()) % 2**32)
    entries = document.get("entries", type=pycrdt.Map)
    with document.transaction():
        for entry_id, *_, line in rows([path], orjson.loads):
            entries[entry_id] = line.decode()
    return bytes(document.get_update())


def ours(folder: Path) -> Merge:
    path, paths = fresh(folder, "ours"), files(folder)
    edition = (folder / "edition").read_bytes()

    def merge() -> None:
        with Store(path) as store:
            service = Service(store, lambda: datetime.now().astimezone(), os.urandom)
            service.adopt(edition)
            receipts = take_in(service, paths)
        assert not any(receipt.refused or receipt.aside or receipt.trouble for receipt in receipts)

    return merge


def take_in(service: Service, paths: list[Path]) -> tuple[Receipt, ...]:
    return service.take_in_all((path.name, pieces(path)) for path in paths)


def pieces(path: Path) -> Iterator[bytes]:
    with path.open("rb") as file:
        while piece := file.read(_PIECE):
            yield piece


PEERS: dict[str, Callable[[Path], Merge]] = {
    "floor A: json.loads, executemany": lambda folder: floor(folder, "floor-a", json.loads),
    "floor B: orjson.loads, executemany": lambda folder: floor(folder, "floor-b", orjson.loads),
    "sqlite-utils insert_all": with_sqlite_utils,
    "pandas concat, drop_duplicates, to_sql": with_pandas,
    "pycrdt apply_update": with_pycrdt,
    "driptray take-in, whole": ours,
}
OURS = "driptray take-in, whole"
FLOOR = "floor A: json.loads, executemany"
