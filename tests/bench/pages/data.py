"""A backlog for the bench of pages: a hundred thousand open defects among a million entries, seeded.

Two hundred and fifty vehicles of 120 checks at four spots each, every fiftieth a revival. Years of walks find every
place sound; on the last days 400 places of each vehicle are found defective by people who knew all of that; one in
fifty of these is looked at by a second person who did not know, and says otherwise. At the desk 5,000 of them are
given to somebody or worked on.
"""

import itertools
import json
import random
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

from builder.edition import compile_edition
from builder.load import load_fleet
from sync.ids import uuid7

VEHICLES, STATIONS, CHECKS, SPOTS = 250, 12, 10, 4
PHONES = 20
DEFECTS_A_VEHICLE = 400
DESK_WORK = 5_000
FIRST = datetime(2024, 4, 6, 8, 0, tzinfo=UTC)
LAST = datetime(2026, 10, 18, 8, 0, tzinfo=UTC)
SEVERITIES = ("minor", "minor", "advisory", "major", "minor", "dangerous")
WORDS = ("worn", "seized", "weeping", "loose", "cracked", "scored", "bent", "dry", "chafed", "corroded", "slack",
         "split", "missing", "stiff", "noisy", "hot")  # fmt: skip


def write_fleet(folder: Path) -> bytes:
    """The fleet, compiled: every third check is measured."""
    (folder / "templates").mkdir(parents=True, exist_ok=True)
    (folder / "vehicles").mkdir(exist_ok=True)
    people = ", ".join(f'{{ name = "P{n}", initials = "P{n}", lead = {str(n == 0).lower()} }}' for n in range(9))
    days = "\n".join(
        f'[[display_day]]\nname = "Day {n}"\ndate = {d}' for n, d in enumerate(("2026-10-17", "2026-12-12"))
    )
    folder.joinpath("fleet.toml").write_text(f'name = "Bench"\ncode = "bench"\npeople = [{people}]\n{days}\n')
    lines = ['name = "All"', '[[access]]\nid = "off"\nname = "Off"\nhours_out = 1\nhours_back = 1']
    for s in range(STATIONS):
        lines += [
            f'[[station]]\nid = "station-{s:02}"\nname = "Station {s}"\norder = {s}\nat = [{s / STATIONS:.2f}, 0.5]'
        ]
        for c in range(CHECKS):
            faults = ", ".join(
                f'{{ id = "fault-{f}", name = "Fault {f}", severity = "minor", hours = [1, 2], needs = ["off"] }}'
                for f in range(4)
            )
            lines += [
                f'[[station.check]]\nid = "check-{c:02}"\nask = "Check {s} {c}"\nspots = {SPOTS}\nfault = [{faults}]'
            ]
            if c % 3 == 0:
                lines.append('reading = { quantity = "length", unit = "mm", low = 20, high = 40, tolerance = 3 }')
    folder.joinpath("templates/all.toml").write_text("\n".join(lines))
    for v in range(VEHICLES):
        text = f'id = "vehicle-{v:03}"\nname = "Vehicle {v}"\nkind = "k"\nlocation = "l"\ntemplates = ["all"]\n'
        text += 'state = "revival"\n' if v % 50 == 49 else ""
        folder.joinpath(f"vehicles/vehicle-{v:03}.toml").write_text(text)
    return compile_edition(load_fleet(folder))


class Writer:
    """One device's entries, handed in bit by bit."""

    def __init__(self, device: str, by: str, edition: str, dice: random.Random) -> None:
        self.device, self.by, self.edition, self.seq = device, by, edition, 0
        self.lines: list[bytes] = []
        self._bytes = dice.randbytes

    def write(self, at: datetime, kind: str, fields: dict[str, Any]) -> str:
        self.seq += 1
        entry = fields.pop("id", None) or uuid7(at, self._bytes)
        head = {"id": entry, "device": self.device, "seq": self.seq, "at": at.isoformat(), "by": self.by,
                "edition": self.edition, "kind": kind}  # fmt: skip
        self.lines.append(json.dumps({**head, **fields}, separators=(",", ":")).encode())
        return str(entry)

    def hand_in(self) -> bytes:
        """What was written since the last one, as a file without its end line."""
        head = {"driptray": 1, "fleet": "bench", "device": self.device, "device_name": self.by,
                "made": LAST.isoformat(), "edition": self.edition, "entries": len(self.lines), "photos": 0}  # fmt: skip
        body = b"\n".join((json.dumps(head).encode(), *self.lines)) + b"\n"
        self.lines = []
        return body


class Story:
    """Everything that comes in, in order; `entries` is how many in all, and sounds fill what the rest leaves."""

    def __init__(self, edition: str, entries: int, seed: int = 1) -> None:
        self.dice = random.Random(seed)
        self.phones = [Writer(f"d-{n:04}", f"P{n % 9}", edition, self.dice) for n in range(PHONES)]
        self.desk = Writer("desk-bench", "P0", edition, self.dice)
        self.openings: list[str] = []
        self.sounds = entries - VEHICLES * (DEFECTS_A_VEHICLE * 51 // 50 + 2) - DESK_WORK
        grid = itertools.product(range(STATIONS), range(CHECKS), range(1, SPOTS + 1))
        self.places = [(f"station-{s:02}/check-{c:02}", str(p), c % 3 == 0) for s, c, p in grid]

    def hand_ins(self) -> Iterator[tuple[bytes, bool]]:
        """(file, whether it is a desk's)"""
        left = self.sounds
        for walk in itertools.count():
            if left <= 0:
                break
            vehicle, day = walk % VEHICLES, FIRST + timedelta(days=7 * (walk // VEHICLES))
            phone = self.phones[walk % PHONES]
            left -= self._walk(phone, vehicle, day, self.places[:left], defects=False)
            if walk % VEHICLES == VEHICLES - 1 or left <= 0:
                yield from ((one.hand_in(), False) for one in self.phones if one.lines)
        for vehicle in range(VEHICLES):
            some = self.dice.sample(self.places, DEFECTS_A_VEHICLE)
            self._walk(self.phones[vehicle % PHONES], vehicle, LAST, some, defects=True)
        yield from ((one.hand_in(), False) for one in self.phones if one.lines)
        self._desk()
        yield self.desk.hand_in(), True

    def _walk(
        self, phone: Writer, vehicle: int, day: datetime, places: list[tuple[str, str, bool]], *, defects: bool
    ) -> int:
        name, walk = f"vehicle-{vehicle:03}", uuid7(day, self.dice.randbytes)
        knows = {one.device: one.seq for one in self.phones if one is not phone and one.seq} if defects else {}
        head = {"walk": walk, "vehicle": name, "round": "full", "day": day.date().isoformat(), "of": len(self.places)}
        phone.write(day, "walk", {**head, "id": walk, "state": "started", "knows": knows, "covered": 0})
        for n, (check, spot, measured) in enumerate(places):
            at = day + timedelta(seconds=5 * n)
            body = {"walk": walk, "vehicle": name, "check": check, "spot": spot, "photos": []}
            if measured:
                body["reading"] = {"value": self.dice.randrange(22, 60 if defects else 39), "unit": "mm"}
            if not defects:
                phone.write(at, "finding", {**body, "result": "sound"})
                continue
            fault = {"fault": f"fault-{(int(spot) + n) % 4}", "severity": self.dice.choice(SEVERITIES)}
            note = " ".join(self.dice.choices(WORDS, k=5))
            self.openings.append(phone.write(at, "finding", {**body, "result": "defect", **fault, "note": note}))
            if n % 50 == 0:
                other = self.phones[(vehicle + 1) % PHONES]
                second = {**body, "walk": None, "result": "sound", "knows": {}}
                other.write(at, "finding", {k: v for k, v in second.items() if v is not None})
        phone.write(day, "walk", {**head, "state": "finished", "knows": knows, "covered": len(places)})
        return len(places) + 2

    def _desk(self) -> None:
        knows = {one.device: one.seq for one in self.phones}
        for n, opening in enumerate(self.dice.sample(self.openings, DESK_WORK)):
            at = LAST + timedelta(hours=3, seconds=n)
            if n % 2:
                wait = {"wait": {"for": "seal", "kind": "part", "due": "2026-11-01"}} if n % 10 == 1 else {}
                state = "waiting" if wait else "in hand"
                self.desk.write(at, "work", {"about": opening, "state": state, "hours": 1, "knows": knows, **wait})
            else:
                self.desk.write(at, "ruling", {"about": opening, "set": {"owner": f"P{n % 9}"}, "knows": knows})
