"""One small vehicle with a strip-down worth a card, and its open defects."""

from datetime import date
from pathlib import Path

import pytest

from builder.edition import Edition, compile_edition, read_edition
from builder.load import load_fleet
from sync.entries import Reading, Temporary, Wait
from sync.paper.cards import Bench
from sync.state import Conflict, Defect, PartState, Sighting, Standing

FLEET = """
name = "Kestrel Lane Yard"
code = "kestrel-lane"
people = [
  { name = "Rhona Maple", initials = "RM", lead = true, signs_off = ["tracks", "fuel"] },
  { name = "Tam Ash", initials = "TA", signs_off = ["tracks"] },
]
workshop = { resources = { lifting = 1 } }
"""
TEMPLATE = """
name = "Tracked"
[[station]]
id = "nose"
name = "Nose"
order = 10
at = [0.02, 0.5]
[[station.check]]
id = "lamp"
ask = "Lamps"
fault = [{ id = "dead", name = "Dead", severity = "minor", hours = 0.5, parts = ["bulb"] }]
[[station]]
id = "left-track"
name = "Left track"
order = 20
at = [0.5, 0.05]
[[station.check]]
id = "sag"
ask = "Sag of the top run"
rounds = ["cold", "full"]
condition = "cold, on level ground"
system = "tracks"
seconds = 60
caution = "Fingers out of the run of the track."
reading = { quantity = "length", unit = "mm", low = 20, high = 40, tolerance = 3, least = 0, most = 300 }
[[station.check.fault]]
id = "slack"
name = "Slack"
severity = "major"
bars = ["drive"]
hours = [2, 4]
parts = ["link pins"]
people = 2
needs = ["track-open"]
uses = ["lifting"]
[[station.check]]
id = "hub"
ask = "Hub temperature"
rounds = ["hot"]
spots = 6
reading = { quantity = "temperature", unit = "°C", high = 75, least = -20, most = 300 }
fault = [{ id = "hot", name = "Hot", severity = "major" }]
[[station.check]]
id = "weep"
ask = "Grease"
leak = "grease"
fault = [{ id = "weeping", name = "Weeping", severity = "advisory" }]
[[access]]
id = "guard-off"
name = "Track guard off"
hours_out = 0.5
hours_back = 1
caution = "The guard has sharp edges."
[[access]]
id = "track-open"
name = "Track open"
needs = ["guard-off"]
hours_out = 2
hours_back = 3
people = 3
uses = ["lifting"]
[[while_open]]
id = "wash"
name = "Wash out the sponson"
access = "track-open"
hours = 1
"""
VEHICLE = 'id = "badger"\nname = "Badger"\nkind = "carrier"\nlocation = "East shed"\ntemplates = ["tracked"]\n'


@pytest.fixture(scope="session")
def fleet_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder: Path = tmp_path_factory.mktemp("fleet")
    for name, text in (("fleet.toml", FLEET), ("templates/tracked.toml", TEMPLATE), ("vehicles/badger.toml", VEHICLE)):
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(text, "utf-8")
    return folder


@pytest.fixture(scope="session")
def edition(fleet_folder: Path) -> Edition:
    return read_edition(compile_edition(load_fleet(fleet_folder)))


@pytest.fixture
def standing() -> Standing:
    return Standing(
        vehicle="badger", name="Badger", standing="stopped", why=("Fuel on the floor",), barred=("start", "drive"),
        moves=("towed", "lifted"), tags=("TA: batteries off",), open_defects=2,
    )  # fmt: skip


@pytest.fixture
def slack() -> Defect:
    seen = Sighting(entry="e1", device="d-rm", seq=1, by="RM", at="2026-10-17T10:00:00+01:00", kind="finding")
    return Defect(
        opening="0199f5c2-1", code="badger-9m2xa", vehicle="badger", station="left-track", station_name="Left track",
        check="left-track/sag", check_name="Sag of the top run", fault="slack", fault_name="Slack", system="tracks",
        severity="major", bars=("drive",), needs=("track-open",), parts=("link pins",), hours=(2, 4), people=2,
        uses=("lifting",), first_day="2026-10-17", last_day="2026-10-18", seen_by=("RM", "TA"), sightings=(seen, seen),
        reading=Reading(61, "mm"), note="adjuster at its stop", conflicts=("c1",), photos=("aa", "bb"),
        temporary=Temporary("shortened by a link", date(2026, 11, 20), "put the link back"),
        wait=Wait("pins", "part", None, where="Brass merchant"),
    )  # fmt: skip


@pytest.fixture
def fuel() -> Defect:
    return Defect(
        opening="0199f5c2-2", code="badger-7k3qd", vehicle="badger", station="nose", station_name="Nose",
        check="nose/lamp", check_name="Lamps", fault="dead", fault_name="Fuel on the floor", system="fuel",
        severity="dangerous", bars=("start", "drive"), holds=("guard-off",), first_day="2026-10-18", hours=None,
    )  # fmt: skip


@pytest.fixture
def bench(edition: Edition, standing: Standing, slack: Defect, fuel: Defect) -> Bench:
    return Bench(
        edition=edition,
        as_of="2026-10-19",
        standing=standing,
        link=lambda code: f"https://yard.example/defect/{code}",
        photo=lambda sha: "" if sha == "aa" else "data:image/jpeg;base64,AAAA",
        open_defects=(fuel, slack),
        conflicts=(Conflict(id="c1", kind="result", vehicle="badger", why="RM says slack, TA says sound"),),
        parts=(PartState(part="link pins", for_="badger-9m2xa", state="ordered", where="Brass merchant"),),
    )
