"""Twenty phones' hand-ins for the merge bench: seeded, about 300 bytes an entry, as days of walk-rounds make them.

Thirty vehicles of 120 checks. Each day every vehicle is walked once, by one of the phones, who knows what the workshop
knew that morning; on the last day, 5 % of the places are looked at by a second person too, who knew no more and says
otherwise. Of the files, 10 % are delivered twice.
"""

import hashlib
import itertools
import json
import random
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any, NamedTuple

from builder.edition import compile_edition
from builder.load import load_fleet
from sync.ids import uuid7

VEHICLES, STATIONS, CHECKS = 30, 12, 10
PHONES = 20
FIRST_DAY = datetime(2020, 4, 1, 8, 0, tzinfo=UTC)
WORDS = ("worn", "seized", "weeping", "loose", "cracked", "scored", "bent", "dry", "chafed", "corroded", "slack", "hot")
SEVERITIES = ("minor", "minor", "advisory", "major", "minor", "dangerous")


def write_fleet(folder: Path) -> bytes:
    """A fleet of the bench's size, compiled."""
    (folder / "templates").mkdir(parents=True, exist_ok=True)
    (folder / "vehicles").mkdir(exist_ok=True)
    folder.joinpath("fleet.toml").write_text('name = "Bench"\ncode = "bench"\n')
    lines = ['name = "All"']
    for s in range(STATIONS):
        lines += ["[[station]]", f'id = "station-{s:02}"', f'name = "Station {s}"', f"order = {s}",
                  f"at = [{s / STATIONS:.2f}, 0.5]"]  # fmt: skip
        for c in range(CHECKS):
            faults = ", ".join(
                f'{{ id = "fault-{f}", name = "Fault {f}", severity = "minor", hours = [1, 2] }}' for f in range(4)
            )
            lines += ["[[station.check]]", f'id = "check-{c:02}"', f'ask = "Check {s} {c}"', f"fault = [{faults}]"]
    folder.joinpath("templates/all.toml").write_text("\n".join(lines))
    for v in range(VEHICLES):
        text = f'id = "vehicle-{v:02}"\nname = "Vehicle {v}"\nkind = "k"\nlocation = "l"\ntemplates = ["all"]\n'
        folder.joinpath(f"vehicles/vehicle-{v:02}.toml").write_text(text)
    return compile_edition(load_fleet(folder))


class Writer:
    """One phone's entries, in order."""

    def __init__(self, number: int, edition: str, dice: random.Random) -> None:
        self.device = f"d-{number:04}"
        self.by = f"P{number}"
        self.edition = edition
        self.lines: list[bytes] = []
        self._bytes = dice.randbytes

    def write(self, at: datetime, kind: str, fields: dict[str, Any]) -> str:
        entry_id = fields.pop("id", None) or uuid7(at, self._bytes)
        said = at.isoformat(timespec="milliseconds")
        head = {"id": entry_id, "device": self.device, "seq": len(self.lines) + 1, "at": said, "by": self.by}
        head |= {"edition": self.edition, "kind": kind}
        self.lines.append(json.dumps({**head, **fields}, separators=(",", ":")).encode())
        return str(entry_id)


@cache
def places() -> list[str]:
    return [f"station-{s:02}/check-{c:02}" for s in range(STATIONS) for c in range(CHECKS)]


def phones(count: int, edition: str, seed: int = 1) -> list[Writer]:
    """Twenty phones with `count` entries among them."""
    dice = random.Random(seed)
    writers = [Writer(number, edition, dice) for number in range(PHONES)]
    second = VEHICLES * len(places()) // 20
    for number in itertools.count():
        day = FIRST_DAY + timedelta(days=number)
        morning = {w.device: len(w.lines) for w in writers if w.lines}
        for vehicle in range(VEHICLES):
            left = count - sum(len(w.lines) for w in writers) - second * 2
            if left <= 2:
                last = day - timedelta(days=1) if vehicle == 0 else day
                _second_look(writers, last, morning, dice)
                return writers
            _walk(dice.choice(writers), vehicle, places()[: left - 1], Day(day, morning, dice))
    raise AssertionError


class Day(NamedTuple):
    """`morning` is what the workshop knew when it began."""

    start: datetime
    morning: dict[str, int]
    dice: random.Random


def _walk(writer: Writer, vehicle: int, checks: list[str], day: Day) -> None:
    moments = (day.start + timedelta(minutes=vehicle * 10, seconds=3 * n) for n in itertools.count())
    walk = uuid7(next(moments), day.dice.randbytes)
    name = f"vehicle-{vehicle:02}"
    said = {"id": walk, "walk": walk, "vehicle": name, "round": "full", "day": day.start.date().isoformat()}
    said |= {"state": "started", "knows": day.morning, "covered": 0, "of": 120}
    writer.write(next(moments), "walk", said)
    for check in checks:
        defect = day.dice.random() < 0.06
        writer.write(next(moments), "finding", _finding(walk, name, check, day.dice, defect=defect))


def _finding(walk: str, vehicle: str, check: str, dice: random.Random, *, defect: bool) -> dict[str, Any]:
    body: dict[str, Any] = {"walk": walk, "vehicle": vehicle, "check": check, "result": "defect" if defect else "sound"}
    if defect:
        body |= {"fault": f"fault-{dice.randrange(4)}", "severity": dice.choice(SEVERITIES),
                 "note": " ".join(dice.choices(WORDS, k=5))}  # fmt: skip
    return {**body, "photos": []}


def _second_look(writers: list[Writer], day: datetime, knows: dict[str, int], dice: random.Random) -> None:
    """Two people at the same place on one round, who knew nothing of each other and disagree: 5 % of the places."""
    checks = places()
    for number in range(VEHICLES * len(checks) // 20):
        vehicle, check = f"vehicle-{number % VEHICLES:02}", checks[number * 7 % len(checks)]
        at = day + timedelta(hours=8, seconds=number)
        first, other = dice.sample(writers, 2)
        for writer, defect in ((first, True), (other, False)):
            body = _finding("", vehicle, check, dice, defect=defect)
            writer.write(at, "finding", {**body, "walk": None, "knows": knows})


def hand_in(writer: Writer, fleet: str, lines: list[bytes]) -> bytes:
    head = {"driptray": 1, "fleet": fleet, "device": writer.device, "device_name": writer.by,
            "made": FIRST_DAY.isoformat(), "edition": writer.edition, "entries": len(lines), "photos": 0}  # fmt: skip
    body = b"\n".join((json.dumps(head).encode(), *lines)) + b"\n"
    return body + json.dumps({"end": True, "sha256": hashlib.sha256(body).hexdigest()}).encode() + b"\n"


def write_files(folder: Path, writers: list[Writer], fleet: str = "bench") -> list[Path]:
    """The phones' files, 10 % of them twice: in the order in which they come back, which is none."""
    paths = []
    for writer in writers:
        path = folder / f"{writer.device}.txt"
        path.write_bytes(hand_in(writer, fleet, writer.lines))
        paths.append(path)
    random.Random(2).shuffle(paths)
    return paths + paths[: PHONES // 10]


def more(writers: list[Writer], number: int, count: int) -> tuple[Writer, str, list[bytes]]:
    """One phone's next entries, which know all that came before: walks of several vehicles on a later day."""
    writer = writers[number]
    known = {w.device: len(w.lines) for w in writers}
    dice = random.Random(f"more {number}")
    start = len(writer.lines)
    day = Day(FIRST_DAY + timedelta(days=4000 + number), known, dice)
    for vehicle in itertools.count():
        left = count - (len(writer.lines) - start)
        if left < 2:
            return writer, "bench", writer.lines[start : start + count]
        _walk(writer, vehicle % VEHICLES, places()[: left - 1], day)
    raise AssertionError
