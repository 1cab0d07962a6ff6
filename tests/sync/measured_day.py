"""An invented tractor with something to measure at each corner, and walks that measure it."""

import hashlib
import json
import os
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, NamedTuple

from builder.edition import compile_edition, read_edition
from builder.load import load_fleet
from sync.service import Service
from sync.store import Store

#: A check of a track and one of its adjuster, for any station of the left side.
SAG_AND_ADJUSTER = """[[station.check]]
id = "sag"
ask = "Left sag"
reckon = "track sag"
reading = { quantity = "length", unit = "mm", low = 15, high = 35, tolerance = 3, least = 0, most = 300 }
fault = [{ id = "slack", name = "Slack", severity = "minor" }]
[[station.check]]
id = "adjuster"
ask = "Left adjuster"
reckon = "adjuster travel"
reading = { quantity = "length", unit = "mm", low = 10 }
"""
FILES = {
    "fleet": 'name = "Trial Shed"\ncode = "trial-shed"\npeople = [{ name = "Rhona", initials = "RM", lead = true }]\n',
    "templates/tracks": """
name = "Tracks"
[[station]]
id = "left"
name = "Left"
order = 10
at = [0.5, 0.0]
"""
    + SAG_AND_ADJUSTER
    + """[[station.check]]
id = "hubs"
ask = "Hub"
spots = 4
reckon = "odd one out"
reading = { quantity = "temperature", unit = "°C", high = 95 }
fault = [{ id = "hot", name = "Hot", severity = "major" }]
[[station.check]]
id = "oil"
ask = "Dipstick"
reckon = "oil level"
reading = { quantity = "length", unit = "mm", low = 10, high = 60 }
fault = [{ id = "high", name = "Over the mark", severity = "major" }]
[[station]]
id = "battery"
name = "Battery"
order = 20
at = [0.2, 0.5]
[[station.check]]
id = "cells"
ask = "Gravity"
spots = 6
reckon = "cell gravity"
reading = { quantity = "specific gravity", unit = "SG", low = 1.225, tolerance = 0.005 }
fault = [{ id = "low", name = "Low", severity = "minor" }]
[[station.check]]
id = "electrolyte"
ask = "Electrolyte"
reckon = "electrolyte temperature"
reading = { quantity = "temperature", unit = "°C" }
""",
    "vehicles/otter": """
id = "otter"
name = "Otter"
kind = "tractor"
location = "bay 1"
templates = ["tracks"]
fluids = { "engine oil" = "SAE 30" }
[facts]
track_pitch_mm = 102
idler_wrap_deg = 172
adjuster_travel_mm = 90
span_1_mm = 1520
sump_litres = 20
dipstick_litres_per_mm = 0.1
""",
}


def compiled(folder: Path) -> bytes:
    """The fleet, written below a folder and compiled."""
    for name, text in FILES.items():
        path = folder / f"{name}.toml"
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, "utf-8")
    return compile_edition(load_fleet(folder))


class Measured(NamedTuple):
    """One finding: sound, or the fault named; `value` None where nothing was measured."""

    check: str
    value: float | None
    unit: str = "mm"
    spot: str = ""
    fault: str = ""

    def fields(self) -> dict[str, Any]:
        unit = "°C" if self.check == "left/hubs" else self.unit
        reading = {} if self.value is None else {"reading": {"value": self.value, "unit": unit}}
        spot = {"spot": self.spot} if self.spot else {}
        told = {"result": "defect", "fault": self.fault, "severity": "major"} if self.fault else {"result": "sound"}
        return {"check": self.check, "photos": [], **told, **reading, **spot}


def take_in(
    store: Store, edition: bytes, day: str, *measured: Measured, device: str = "d-rm", added: float = 0
) -> None:
    """One walk of the otter on one day by one phone, taken in."""
    service = Service(store, lambda: datetime(2026, 11, 1, tzinfo=UTC), os.urandom)
    service.adopt(edition)
    fingerprint = read_edition(edition).fingerprint
    seq = store.knows().get(device, 0)
    walk = _id(device, day, "walk")
    head = {"walk": walk, "vehicle": "otter"}
    lines = [{"id": walk, "kind": "walk", **head, "round": "full", "day": day, "state": "started", "knows": {}}]
    for n, one in enumerate(measured):
        lines.append({"id": _id(device, day, str(n)), "kind": "finding", **head, **one.fields()})
    if added:
        fluid = {"vehicle": "otter", "day": day, "fluid": "engine oil", "litres": added}
        lines.append({"id": _id(device, day, "oil"), "kind": "fluid", **fluid})
    common = {"device": device, "at": f"{day}T08:00:00+00:00", "by": "RM", "edition": fingerprint}
    made = {"driptray": 1, "fleet": "trial-shed", "device": device, "device_name": device, "made": common["at"],
            "edition": fingerprint, "entries": len(lines), "photos": 0}  # fmt: skip
    entries = [{**line, **common, "seq": seq + n} for n, line in enumerate(lines, 1)]
    body = "".join(json.dumps(line) + "\n" for line in (made, *entries)).encode()
    end = json.dumps({"end": True, "sha256": hashlib.sha256(body).hexdigest()}).encode()
    service.take_in_all([(f"{device}-{day}.txt", [body + end + b"\n"])])


def _id(*told: str) -> str:
    tail = hashlib.sha256(" ".join(told).encode()).hexdigest()
    return f"0199f5c2-7d10-7c3e-9a51-{tail[:12]}"
