"""A small fleet on disk, right in everything, that a test makes wrong in one thing."""

from pathlib import Path

import pytest

from builder.errors import FleetError
from builder.load import load_fleet

FLEET = """
name = "Trial Shed"
code = "trial-shed"
people = [{ name = "Ada Birch", initials = "AB", lead = true }]
[workshop]
resources = { pit = 1 }
[[display_day]]
name = "Open day"
date = 2026-10-17
"""
TEMPLATE = """
name = "Running gear"
[[station]]
id = "left-side"
name = "Left side"
order = 10
at = [0.5, 0.0]
mirror = "right-side"
[[station.check]]
id = "sag"
ask = "Sag of the top run"
rounds = ["cold", "full"]
reading = { quantity = "length", unit = "mm", low = 15, high = 35, tolerance = 3, least = 0, most = 300 }
fault = [{ id = "slack", name = "Slack", severity = "major", hours = [2, 4], needs = ["track-off"] }]
[[station.check]]
id = "wheels"
ask = "Road wheels"
spots = "road_wheels"
fault = [{ id = "cracked", name = "Cracked", severity = "dangerous", holds = ["deck-off"], uses = ["pit"] }]
[[station]]
id = "right-side"
name = "Right side"
order = 20
at = [0.5, 1.0]
[[station.check]]
id = "drips"
ask = "Drips under the axle"
leak = "axle oil"
[[access]]
id = "track-off"
name = "Track off"
hours_out = 2
hours_back = 3
needs = ["deck-off"]
[[access]]
id = "deck-off"
name = "Deck off"
hours_out = 1
hours_back = 1
[[while_open]]
id = "grease"
name = "Grease the hubs"
access = "track-off"
hours = 1
"""
VEHICLE = """
id = "otter"
name = "Otter"
kind = "Tracked carrier"
location = "Bay 2"
templates = ["gear"]
[facts]
road_wheels = 6
"""
FILES = {"fleet.toml": FLEET, "templates/gear.toml": TEMPLATE, "vehicles/otter.toml": VEHICLE}


def write_fleet(folder: Path, **changes: tuple[str, str] | None) -> Path:
    """The fleet in `folder`; each change is (old text, new text) in fleet, template or vehicle, once."""
    named = {"fleet": "fleet.toml", "template": "templates/gear.toml", "vehicle": "vehicles/otter.toml"}
    files = dict(FILES)
    for name, change in changes.items():
        if change is not None:
            old, new = change
            assert files[named[name]].count(old) >= 1, f"{old!r} is not in {name}"
            files[named[name]] = files[named[name]].replace(old, new, 1)
    for path, text in files.items():
        (folder / path).parent.mkdir(parents=True, exist_ok=True)
        (folder / path).write_text(text, "utf-8")
    return folder


def mistakes_of(folder: Path) -> tuple[str, ...]:
    """What loading says; a fleet without mistakes fails the test."""
    with pytest.raises(FleetError) as caught:
        load_fleet(folder)
    return caught.value.mistakes
