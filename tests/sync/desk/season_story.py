"""A season of an invented yard as entries: three vehicles, three display days, walks, runs, and work at the desk.

What it should come to is reckoned by hand beside the tests.
"""

from datetime import UTC, datetime
from pathlib import Path

from builder.edition import compile_edition
from builder.load import load_fleet
from sync.service import Draft, Service
from sync.store import Store
from tests.sync.phones import Dice, Phone

FLEET = """
name = "Reed Yard"
code = "reed-yard"
people = [{ name = "Ada Birch", initials = "AB", lead = true }, { name = "Rolf Mill", initials = "RM" }]
[[display_day]]
name = "Spring Fair"
date = 2026-05-16
[[display_day]]
name = "Hay Day"
date = 2026-07-18
[[display_day]]
name = "Apple Day"
date = 2026-09-12
"""
TEMPLATE = """
name = "All of it"
[[station]]
id = "side"
name = "Left side"
order = 10
at = [0.5, 0.0]
[[station.check]]
id = "sag"
ask = "Sag of the top run"
system = "tracks"
fault = [{ id = "slack", name = "Slack", severity = "major" }]
[[station.check]]
id = "hose"
ask = "Brake hoses"
system = "brakes"
leak = "hydraulic brake fluid"
fault = [{ id = "weeps", name = "Weeping", severity = "dangerous" }]
[[station.check]]
id = "lamp"
ask = "Head lamp"
system = "electrical"
fault = [{ id = "dark", name = "Dark", severity = "minor" }]
"""
VEHICLE = """
id = "{id}"
name = "{name}"
kind = "carrier"
location = "bay"
templates = ["all"]
state = "{state}"
"""


def write_fleet(folder: Path) -> Path:
    files = {"fleet.toml": FLEET, "templates/all.toml": TEMPLATE}
    for name, state in (("otter", "runner"), ("stoat", "runner"), ("heron", "revival")):
        files[f"vehicles/{name}.toml"] = VEHICLE.format(id=name, name=name.title(), state=state)
    for path, text in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text, "utf-8")
    return folder


class Yard:
    """The yard's backlog, a phone, and a desk whose clock is set by the story."""

    def __init__(self, folder: Path) -> None:
        edition = compile_edition(load_fleet(write_fleet(folder / "fleet")))
        self.now = datetime(2026, 1, 2, 9, 0, tzinfo=UTC)
        self.service = Service(Store(folder / "backlog.db"), lambda: self.now, Dice("desk"))
        self.service.adopt(edition, by="AB")
        self.phone = Phone("d-aaaa", edition, "RM")

    @property
    def store(self) -> Store:
        return self.service.store

    def walk(self, vehicle: str, day: str, *found: tuple[str, str, str]) -> list[str]:
        """A walk that knows all; the ids of what was found: (check, fault, severity)."""
        self.phone.walk(vehicle, "full", day, knows=self.store.knows())
        ids = [
            self.phone.find(f"side/{check}", vehicle=vehicle, fault=fault, severity=severity)
            for check, fault, severity in found
        ]
        if not found:
            self.phone.find("side/lamp", "sound", vehicle)
        self.take()
        return ids

    def run(self, vehicle: str, day: str, hours: float | None) -> None:
        self.phone.write("run", vehicle=vehicle, day=day, **({} if hours is None else {"hours": hours}))
        self.take()

    def take(self) -> None:
        self.service.take_in("phone.txt", [self.phone.hand_in()])

    def work(self, about: str, day: str, state: str, hours: float | None = None) -> None:
        self.now = datetime.fromisoformat(f"{day}T18:00:00+00:00")
        fields = {"about": about, "state": state, **({} if hours is None else {"hours": hours})}
        self.service.write(Draft("work", fields), by="AB")


def season(folder: Path) -> Yard:
    """From March to September."""
    yard = Yard(folder)
    yard.walk("otter", "2026-03-01")
    yard.run("otter", "2026-05-16", 1.5)
    (hose,) = yard.walk("otter", "2026-05-17", ("hose", "weeps", "dangerous"))
    yard.work(hose, "2026-05-24", "waiting")
    yard.work(hose, "2026-06-07", "in hand", 3)
    yard.work(hose, "2026-06-09", "mended", 2)
    yard.work(hose, "2026-06-10", "signed off")
    yard.run("otter", "2026-07-18", 2)
    yard.run("stoat", "2026-07-18", None)
    (slack,) = yard.walk("otter", "2026-07-19", ("sag", "slack", "major"))
    yard.walk("stoat", "2026-07-19", ("lamp", "dark", "minor"))
    yard.work(slack, "2026-07-25", "signed off", 1.5)
    yard.run("otter", "2026-09-12", 1)
    yard.walk("otter", "2026-09-13", ("sag", "slack", "major"))
    return yard
