"""What is cut short in the crash tests: a backlog made, migrated, three hand-ins with photos taken in, a settlement."""

import itertools
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from datetime import timedelta
from pathlib import Path
from typing import Any

import msgspec

from sync import store_file
from sync.service import Draft, Service
from sync.store import Store
from sync.verifying import verify
from tests.sync.phones import START, Dice, Phone, edition_of

Trace = Callable[[str], None]


class Scenario:
    """Prepared once; `run` does all of it on a folder, from wherever an earlier run was cut."""

    def __init__(self, folder: Path) -> None:
        self.edition = edition_of(folder / "fleet")
        first, second = Phone("d-aaaa", self.edition, "AB"), Phone("d-bbbb", self.edition, "RM")
        for phone, severity in ((first, "major"), (second, "dangerous")):
            phone.walk()
            phone.find(
                severity=severity, note="adjuster at its stop", photos=[phone.picture("red"), phone.picture("tan")]
            )
            phone.find("left-side/wheels", "sound" if phone is first else "defect", spot="2", fault="cracked")
            phone.find("right-side/drips", "sound")
        self.files = {"a.txt": first.hand_in(), "b.txt": second.hand_in(), "a again.txt": first.hand_in()}
        self.phones = (first, second)

    def run(self, folder: Path, say: Callable[[str], None], trace: Trace | None = None) -> None:
        """Take everything in; `say` what is acknowledged, once it is."""
        with traced(trace), two_steps(folder):
            service = Service(Store(folder / "backlog.db"), clock(), Dice("desk"))
            service.adopt(self.edition)
            say("adopted")
            for name, data in self.files.items():
                receipt = service.take_in(name, [data])
                say(f"taken {receipt.device}")
            if not any(s.kind == "settle" for d in service.store.defects() for s in d.sightings):
                conflict = service.store.conflicts()[0]
                service.settle(conflict.id, choose=conflict.stands, reason="looked again", by="AB")
            say("settled")
            if not service.store.jobs():
                service.write(Draft("job", {"job": "j-1", "title": "Track off"}), by="AB")
            say("written")
            service.store.close()

    def acknowledged_is_there(self, folder: Path, said: list[str]) -> None:
        """Right after the cut: what was said is in the file, and every photo it names is on the disk, whole."""
        if not said:
            return
        with two_steps(folder):
            store = Store(folder / "backlog.db")
            for phone in self.phones:
                if f"taken {phone.device}" in said:
                    here = {row.id for row in store.entries() if row.device == phone.device}
                    assert len(here) == len(phone.lines), said
            if "settled" in said:
                assert any(row.kind == "settle" for row in store.entries()), said
            assert not verify(store).pictures, said
            store.close()

    def end_state(self, folder: Path) -> dict[str, Any]:
        """Everything that has to be the same after any cut: all but the desk's own ids and moments."""
        with two_steps(folder):
            return self._end_state(folder)

    def _end_state(self, folder: Path) -> dict[str, Any]:
        store = Store(folder / "backlog.db")
        verdict = verify(store)
        state = msgspec.to_builtins(store.state())
        end = {
            "whole": verdict.whole,
            "entries": sorted(row.id for row in store.entries() if not row.device.startswith("desk-")),
            "desk": sorted({row.kind for row in store.entries() if row.device.startswith("desk-")}),
            "photos": [row.sha256 for row in store.photos()],
            "files": sorted(path.name for path in store.photo_folder.iterdir() if path.suffix != ".part"),
            "open": sorted(defect["code"] for defect in state["defects"] if "closed" not in defect),
            "conflicts": sorted(conflict["id"] for conflict in state["conflicts"]),
            "jobs": [job["title"] for job in state["jobs"]],
            "version": store.rows("PRAGMA user_version")[0][0],
            "remarks": store.rows("SELECT said FROM remarks"),
        }
        store.close()
        return end


def clock() -> Callable[[], Any]:
    moments = (START + timedelta(hours=3, seconds=n) for n in itertools.count())
    return lambda: next(moments)


def _remarks(connection: sqlite3.Connection) -> None:
    """A later step, as one will come: a table more, filled from what is there."""
    connection.execute("CREATE TABLE remarks (said TEXT)")
    connection.execute("INSERT INTO remarks SELECT 'brought forward'")


@contextmanager
def two_steps(folder: Path) -> Iterator[None]:
    """A backlog first made by today's steps, then brought forward by one more, its copy kept."""
    steps = store_file.STEPS
    if _version(folder / "backlog.db") < len(steps):
        Store(folder / "backlog.db").close()
    store_file.STEPS = (*steps, _remarks)
    try:
        yield
    finally:
        store_file.STEPS = steps


def _version(path: Path) -> int:
    with closing(sqlite3.connect(path)) as connection:
        return int(connection.execute("PRAGMA user_version").fetchone()[0])


@contextmanager
def traced(trace: Trace | None) -> Iterator[None]:
    """Every statement of every connection told to `trace`."""
    connect = sqlite3.connect

    def traced_connect(*args: Any, **named: Any) -> sqlite3.Connection:
        connection: sqlite3.Connection = connect(*args, **named)
        connection.set_trace_callback(trace)
        return connection

    sqlite3.connect = traced_connect  # type: ignore[assignment]
    try:
        yield
    finally:
        sqlite3.connect = connect
