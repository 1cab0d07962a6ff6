"""A small shed for the merge's tests: two vehicles, a few people, and histories written as they would be told.

rm, tw = Phone("d-rm", "RM"), Phone("d-tw", "TW")
rm.walk("cold").sound("sag")
tw.walk("cold").defect("sag", "slack", "major")
state = folded(rm, tw)
"""

import hashlib
import itertools
import json
from collections.abc import Iterable, Mapping
from datetime import date
from functools import cache
from typing import Any

import msgspec

from builder.edition import Edition, compile_edition, read_edition
from builder.fleet import (
    Check,
    DisplayDay,
    Fault,
    Fleet,
    FleetFile,
    Person,
    ReadingLimits,
    Station,
    Template,
    VehicleFile,
)
from sync.entries import read_entry
from sync.fold import Logged, fold
from sync.state import Conflict, Defect, State

DAY = "2026-10-18"
LATER = "2026-10-25"
LATEST = "2026-11-01"
VEHICLE = "badger"

PEOPLE = (
    Person(name="Rosa", initials="RM", lead=True),
    Person(name="Tom", initials="TW"),
    Person(name="Lena", initials="LB", signs_off=("tracks",)),
    Person(name="Ada", initials="AB"),
)

SAG = Check(
    id="sag",
    ask="Sag of the top run",
    rounds=("cold",),
    system="tracks",
    area=5,
    reading=ReadingLimits(quantity="length", unit="mm", low=15, high=35, tolerance=3, least=0, most=300),
    fault=(
        Fault(id="slack", name="Slack", severity="major", bars=("drive",), needs=("idler-free",)),
        Fault(id="tight", name="Tight", severity="minor"),
    ),
)
CHUNK = Fault(id="chunk", name="Chunk missing", severity="minor")
WHEELS = Check(id="tyre", ask="Road wheel rubber", spots=4, area=5, fault=(CHUNK,))
PIPE = Check(
    id="pipe",
    ask="Fuel pipe",
    leak="fuel",
    system="fuel",
    area=8,
    fault=(Fault(id="weep", name="Weeping", severity="dangerous"),),
)
LAMP = Check(id="lamp", ask="Head lamp", area=4, fault=(Fault(id="dark", name="Dark", severity="minor"),))


def template(left: tuple[Check, ...] = (SAG, WHEELS), nose: tuple[Check, ...] = (PIPE, LAMP)) -> Template:
    """The shed's template, with other checks at the left track or the nose."""
    return Template(
        name="Tracked",
        station=(
            Station(id="left-track", name="Left track", order=20, at=(0.5, 0.1), mirror="right-track", check=left),
            Station(id="nose", name="Nose", order=10, at=(0.0, 0.5), check=nose),
            Station(
                id="right-track", name="Right track", order=30, at=(0.5, 0.9), mirror="left-track", check=(SAG, WHEELS)
            ),
        ),
    )


def edition_of(of: Template, people: tuple[Person, ...] = PEOPLE, days: tuple[DisplayDay, ...] = ()) -> Edition:
    """The shed under another template, with other people or with display days."""
    fleet = Fleet(
        file=FleetFile(name="Kestrel Lane", code="kestrel-lane", people=people, display_day=days),
        templates={"tracked": of},
        vehicles=tuple(
            VehicleFile(id=name, name=name.title(), kind="carrier", location="shed", templates=("tracked",))
            for name in (VEHICLE, "stoat")
        ),
    )
    return read_edition(compile_edition(fleet))


@cache
def shed() -> Edition:
    return edition_of(template())


def entry_id(number: int) -> str:
    """Ids that sort by number."""
    return f"0199f5c2-7d10-7c3e-9a51-{number:012x}"


#: The check that is "sag" today, as the later edition calls it; there its readings agree within less, and whoever names
#: no severity means a dangerous one.
TOP = SAG.model_copy(
    update={
        "id": "top",
        "ask": "Top run, measured",
        "formerly": ("left-track/sag",),
        "reading": ReadingLimits(quantity="length", unit="mm", low=15, high=35, tolerance=1, least=0, most=300),
        "fault": (SAG.fault[0].model_copy(update={"severity": "dangerous"}),),
    }
)


@cache
def later_shed() -> Edition:
    """The shed's next edition: a check renamed, and Tom a lead."""
    people = (*(p.model_copy(update={"lead": p.initials in ("RM", "TW")}) for p in PEOPLE),)
    left = (TOP, WHEELS)
    return edition_of(template(left=left), people)


class Device:
    """Writes entries as one device does. `knows` is what its newest walk or carry gave it."""

    count = itertools.count(1)

    def __init__(self, device: str, by: str, edition: Edition | None = None) -> None:
        self.device, self.by = device, by
        self.edition = (edition or shed()).fingerprint
        self.lines: list[bytes] = []
        self.ids: list[str] = []
        self.knows: dict[str, int] = {}

    @property
    def seq(self) -> int:
        return len(self.lines)

    def learn(self, *others: "Device") -> "Device":
        """Takes in everything the others have written so far, and what they had taken in."""
        for other in others:
            for device, seq in {**other.knows, other.device: other.seq}.items():
                self.knows[device] = max(seq, self.knows.get(device, 0))
        self.knows.pop(self.device, None)
        return self

    def write(self, kind: str, **fields: Any) -> str:
        body = {
            "id": fields.pop("id", None) or entry_id(next(Device.count)),
            "device": self.device,
            "seq": fields.pop("seq", None) or self.seq + 1,
            "at": fields.pop("at", "2026-10-18T08:31:02+01:00"),
            "by": fields.pop("by", self.by),
            "edition": fields.pop("edition", self.edition),
            "kind": kind,
            **{name: value for name, value in fields.items() if value is not None},
        }
        self.lines.append(json.dumps(body).encode())
        self.ids.append(body["id"])
        return str(body["id"])


class Phone(Device):
    def walk(self, round_: str = "cold", day: str = DAY, vehicle: str = VEHICLE) -> "Walk":
        return Walk(self, round_, day, vehicle)

    def report(self, symptom: str, conditions: str | None = None, vehicle: str = VEHICLE) -> str:
        return self.write("report", vehicle=vehicle, source="driver", symptom=symptom, conditions=conditions)


class Walk:
    """One walk-round; its findings inherit what the phone knew when it started."""

    def __init__(self, phone: Device, round_: str, day: str, vehicle: str) -> None:
        self.phone, self.vehicle = phone, vehicle
        self.id = entry_id(next(Device.count))
        self.round, self.day = round_, day
        phone.write(
            "walk", walk=self.id, vehicle=vehicle, round=round_, day=day, state="started", knows=dict(phone.knows)
        )

    def sound(self, check: str, spot: str | None = None, **more: Any) -> str:
        return self._find(check, spot, result="sound", **more)

    def defect(self, check: str, fault: str, severity: str, spot: str | None = None, **more: Any) -> str:
        return self._find(check, spot, result="defect", fault=fault, severity=severity, **more)

    def verdict(self, verdict: str, check: str, defect: str, spot: str | None = None, **more: Any) -> str:
        result = "sound" if verdict == "gone" else "defect"
        return self._find(check, spot, result=result, verdict=verdict, defect=defect, **more)

    def unchecked(self, check: str, why: str = "dark") -> str:
        return self._find(check, None, result="unchecked", why=why)

    def something_else(self, note: str, severity: str = "minor", station: str = "nose", **more: Any) -> str:
        return self._find(None, None, result="defect", severity=severity, station=station, note=note, **more)

    def _find(self, check: str | None, spot: str | None, **fields: Any) -> str:
        walk = fields.pop("walk", self.id)
        return self.phone.write("finding", walk=walk, vehicle=self.vehicle, check=full(check), spot=spot, **fields)


class Desk(Device):
    """Everything it writes says what it knew."""

    def say(self, kind: str, by: str | None = None, **fields: Any) -> str:
        return self.write(kind, by=by or self.by, knows=fields.pop("knows", dict(self.knows)), **fields)

    def redact(self, entry: str, *fields: str, photos: tuple[str, ...] = ()) -> str:
        return self.say("redact", entry=entry, fields=list(fields), photos=list(photos), reason="asked for")

    def adopt(self, edition: Edition) -> str:
        return self.say("adopt", edition=edition.fingerprint)

    def rule(self, about: str, by: str | None = None, **values: Any) -> str:
        return self.say("ruling", by=by, about=about, vehicle=VEHICLE, set=values)

    def work(self, about: str, state: str, by: str | None = None, **fields: Any) -> str:
        return self.say("work", by=by, about=about, state=state, **fields)

    def settle(self, check: str, fault: str, by: str | None = None, spot: str | None = None, **fields: Any) -> str:
        reason = fields.pop("reason", "looked at it together")
        return self.say(
            "settle", by=by, vehicle=VEHICLE, check=full(check), spot=spot, fault=fault, reason=reason, **fields
        )

    def walk(self, round_: str = "cold", day: str = DAY, vehicle: str = VEHICLE) -> Walk:
        return Walk(self, round_, day, vehicle)


def full(check: str | None) -> str | None:
    """The full id of a check of the left track, or of the nose."""
    if check is None or "/" in check:
        return check
    return f"nose/{check}" if check in ("pipe", "lamp") else f"left-track/{check}"


def logged(*devices: Device) -> list[Logged]:
    """All that these devices wrote."""
    return [Logged(read_entry(line), hashlib.sha256(line).hexdigest()) for device in devices for line in device.lines]


def folded(*devices: Device, editions: Iterable[Edition] = (), adopted: Edition | None = None) -> State:
    return fold_all(logged(*devices), editions, adopted)


def fold_all(entries: Iterable[Logged], editions: Iterable[Edition] = (), adopted: Edition | None = None) -> State:
    known = {edition.fingerprint: edition for edition in (shed(), *editions)}
    return fold(entries, known, (adopted or shed()).fingerprint)


def open_defects(state: State) -> list[Defect]:
    return [defect for defect in state.defects if defect.closed is None]


def only(defects: Iterable[Defect]) -> Defect:
    """The one there is."""
    (defect,) = defects
    return defect


def conflict(state: State) -> Conflict:
    """The one there is."""
    (found,) = state.conflicts
    return found


def sides(found: Conflict) -> set[str]:
    return {side.entry for side in found.sides}


def state_bytes(state: State) -> bytes:
    return msgspec.json.encode(state)


def on(day: str) -> date:
    return date.fromisoformat(day)


EditionMap = Mapping[str, Edition]
