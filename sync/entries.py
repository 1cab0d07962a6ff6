"""The wire models: every entry kind, the head and end of a hand-in. Strict, frozen, read by msgspec.

An entry's hash is over its line's bytes as its writer wrote them; models are for reading only, and nothing is ever
written back from one. Fields a later version adds are ignored here and kept in those bytes.
"""

from datetime import date, datetime
from typing import Annotated, Any, Literal

import msgspec
from msgspec import UNSET, Meta, UnsetType

FORMAT = 1
LINE_MOST = 64 * 1024
NOTE_MOST = 10_000
PHOTO_MOST = 8 * 1024 * 1024
NESTING_MOST = 16
FILE_SPLIT = 20 * 1024 * 1024

UUID7 = r"^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$"
Id = Annotated[str, Meta(pattern=UUID7)]
Device = Annotated[str, Meta(pattern=r"^[a-z0-9][a-z0-9-]{0,39}$")]
Seq = Annotated[int, Meta(ge=1, le=2**53 - 1)]
Sha256 = Annotated[str, Meta(pattern=r"^[0-9a-f]{64}$")]
Name = Annotated[str, Meta(min_length=1, max_length=200)]
Line = Annotated[str, Meta(max_length=1000)]
Note = Annotated[str, Meta(max_length=NOTE_MOST)]
Number = Annotated[float, Meta(ge=-1e12, le=1e12)]
Count = Annotated[int, Meta(ge=0, le=100_000)]
Amount = Annotated[float, Meta(ge=0, le=1e9)]
Moment = Annotated[datetime, Meta(tz=True)]
Knows = dict[str, Annotated[int, Meta(ge=0, le=2**53 - 1)]]
Photos = Annotated[list[Sha256], Meta(max_length=50)]

Severity = Literal["dangerous", "major", "minor", "advisory"]
Round = Literal["before", "hot", "cold", "full"]
Result = Literal["sound", "defect", "unchecked"]
WorkState = Literal["open", "in hand", "waiting", "mended", "tested", "signed off"]


class Part(msgspec.Struct, frozen=True, omit_defaults=True):
    """A piece of an entry; unknown fields are let pass."""


class Entry(msgspec.Struct, frozen=True, kw_only=True, tag_field="kind", omit_defaults=True):
    """What every entry has. `at` is its device's own clock and decides nothing."""

    id: Id
    device: Device
    seq: Seq
    at: Moment
    by: Name
    edition: Name
    corrects: Id | None = None


class DeskEntry(Entry, frozen=True, kw_only=True):
    """What a desk writes says at once what the desk knew."""

    knows: Knows = {}


class Unchecked(Part, frozen=True):
    check: Name
    spot: Line | None = None
    why: Line | None = None


class Walk(Entry, frozen=True, kw_only=True, tag="walk"):
    """A walk-round starts or is finished; its findings inherit `knows`."""

    walk: Id
    vehicle: Name
    round: Round
    day: date
    state: Literal["started", "finished"]
    knows: Knows = {}
    covered: Count = 0
    of: Count = 0
    unchecked: list[Unchecked] = []


class Reading(Part, frozen=True):
    value: Number
    unit: Name


class Leak(Part, frozen=True):
    """`class` 1 to 3; `stream` rather than drops; `level_ok` None where it was not looked at."""

    leak_class: Literal[1, 2, 3] = msgspec.field(name="class")
    stream: bool = False
    level_ok: bool | None = None


class Finding(Entry, frozen=True, kw_only=True, tag="finding"):
    """What one person saw at one check; without `check` it is something else."""

    vehicle: Name
    result: Result
    walk: Id | None = None
    check: Name | None = None
    station: Name | None = None
    spot: Name | None = None
    why: Line | None = None
    fault: Name | None = None
    severity: Severity | None = None
    reading: Reading | None = None
    leak: Leak | None = None
    put_right: bool = False
    how: Line | None = None
    note: Note | None = None
    photos: Photos = []
    verdict: Literal["same", "worse", "gone"] | None = None
    defect: Id | None = None
    knows: Knows = {}


class Report(Entry, frozen=True, kw_only=True, tag="report"):
    """What a driver felt or a visitor saw; it asks for a look."""

    vehicle: Name
    source: Literal["driver", "visitor", "other"]
    symptom: Note
    conditions: Note | None = None
    photos: Photos = []
    knows: Knows = {}


class Run(Entry, frozen=True, kw_only=True, tag="run"):
    vehicle: Name
    day: date
    hours: Amount | None = None
    distance: Amount | None = None
    laps: Amount | None = None
    driver: Line | None = None
    fuel: Amount | None = None
    conditions: Note | None = None
    knows: Knows = {}


class Fluid(Entry, frozen=True, kw_only=True, tag="fluid"):
    vehicle: Name
    fluid: Name
    litres: Amount
    day: date | None = None
    level_before: Line | None = None
    level_after: Line | None = None
    knows: Knows = {}


class Settle(DeskEntry, frozen=True, kw_only=True, tag="settle"):
    """A person ends a conflict: `choose` names an entry of it, or the outcome is given."""

    vehicle: Name
    reason: Note
    check: Name | None = None
    spot: Name | None = None
    fault: Name | None = None
    choose: Id | None = None
    result: Literal["sound", "defect"] | None = None
    severity: Severity | None = None
    reading: Reading | None = None


class Diagnosis(Part, frozen=True):
    fault: Line | None = None
    cause: Note | None = None
    check: Line | None = None
    spot: Line | None = None


class Placed(Part, frozen=True):
    check: Name
    spot: Name | None = None
    fault: Name | None = None


class Temporary(Part, frozen=True):
    what: Note
    until: date
    undo: Note | None = None


class SeverityTo(Part, frozen=True):
    to: Severity
    reason: Note


class Reason(Part, frozen=True):
    reason: Note


class Permit(Part, frozen=True):
    limits: Note
    until: date
    reason: Note


class Ask(Part, frozen=True):
    who: Line


class PlanWish(Part, frozen=True, kw_only=True, omit_defaults=True):
    """What a person wants of the plan: `order` with the `day` it names, and `who` does it."""

    order: Literal["first", "on", "not before", "left out"] | None = None
    day: date | None = None
    who: Annotated[list[Name], Meta(max_length=20)] = []
    reason: Note | None = None


class RulingSet(Part, frozen=True, kw_only=True):
    """What a ruling sets; None takes a value back. Fields of later versions are let pass."""

    owner: Line | UnsetType | None = UNSET
    diagnosis: Diagnosis | UnsetType | None = UNSET
    explains: Id | UnsetType | None = UNSET
    placed: Placed | UnsetType | None = UNSET
    temporary: Temporary | UnsetType | None = UNSET
    severity: SeverityTo | UnsetType | None = UNSET
    escalated: Reason | UnsetType | None = UNSET
    permit: Permit | UnsetType | None = UNSET
    closed: Reason | UnsetType | None = UNSET
    ask: Ask | UnsetType | None = UNSET
    state: Line | UnsetType | None = UNSET
    belongs_to: Line | UnsetType | None = UNSET
    know_how: Note | UnsetType | None = UNSET
    name: Line | UnsetType | None = UNSET
    revoked: Reason | UnsetType | None = UNSET
    void: Reason | UnsetType | None = UNSET
    plan: PlanWish | UnsetType | None = UNSET


class Ruling(DeskEntry, frozen=True, kw_only=True, tag="ruling"):
    """`about`: an opening entry's id, a report's, something else's, a vehicle, a device, or "vehicle/kind/id"."""

    about: Name
    set: RulingSet
    vehicle: Name | None = None


class Same(DeskEntry, frozen=True, kw_only=True, tag="same"):
    of: Annotated[list[Id], Meta(min_length=2, max_length=2)]
    joined: bool
    reason: Note | None = None


class Tag(DeskEntry, frozen=True, kw_only=True, tag="tag"):
    """A named person's lock-out; `tag` names it, its `by` owns it."""

    vehicle: Name
    tag: Name
    on: bool
    reason: Note | None = None


class Job(DeskEntry, frozen=True, kw_only=True, tag="job"):
    job: Name
    title: Line
    defects: list[Name] = []
    tasks: list[Name] = []
    steps: list[Name] = []
    vehicle: Name | None = None
    state: Line | None = None


class PartEntry(DeskEntry, frozen=True, kw_only=True, tag="part"):
    part: Name
    for_: Name = msgspec.field(name="for")
    state: Literal["needed", "ordered", "here"]
    where: Line | None = None
    due: date | None = None


class Wait(Part, frozen=True):
    for_: Line = msgspec.field(name="for")
    kind: Literal["part", "sent out", "person", "owner"]
    due: date | None = None
    firm: bool = False
    where: Line | None = None


class Work(DeskEntry, frozen=True, kw_only=True, tag="work"):
    """`about`: a defect's opening id, a job, or a task ("vehicle/kind/id")."""

    about: Name
    state: WorkState
    wait: Wait | None = None
    hours: Amount | None = None
    cost: Amount | None = None
    note: Note | None = None


class Adopt(DeskEntry, frozen=True, kw_only=True, tag="adopt"):
    """Its own `edition` is the one in force from here on."""


class Clock(DeskEntry, frozen=True, kw_only=True, tag="clock"):
    of: Device
    offset_s: Number


class Redact(DeskEntry, frozen=True, kw_only=True, tag="redact"):
    """Takes content away and leaves the hash: `fields` of an entry, and photos by hash."""

    entry: Id
    reason: Note
    fields: list[Name] = []
    photos: Photos = []


AnyEntry = (
    Walk
    | Finding
    | Report
    | Run
    | Fluid
    | Settle
    | Ruling
    | Same
    | Tag
    | Job
    | PartEntry
    | Work
    | Adopt
    | Clock
    | Redact
)
PHONE_KINDS = frozenset({"walk", "finding", "report", "run", "fluid"})
DESK_KINDS = frozenset({"settle", "ruling", "same", "tag", "job", "part", "work", "adopt", "clock", "redact"})
KINDS = PHONE_KINDS | DESK_KINDS


class Bare(msgspec.Struct, frozen=True, kw_only=True):
    """An entry of a kind this version does not know: what it must have to be kept."""

    id: Id
    device: Device
    seq: Seq
    at: Moment
    by: Name
    edition: Name
    kind: Name
    corrects: Id | None = None
    vehicle: str | None = None


class Head(msgspec.Struct, frozen=True, kw_only=True):
    """Line 1 of a hand-in."""

    driptray: Annotated[int, Meta(ge=1)]
    fleet: Name
    device: Device
    made: Moment
    edition: Name
    entries: Annotated[int, Meta(ge=0)]
    photos: Annotated[int, Meta(ge=0)] = 0
    device_name: Line = ""


class PhotoLine(msgspec.Struct, frozen=True, kw_only=True):
    photo: Sha256
    type: Literal["image/jpeg", "image/png", "image/webp"]
    data: str


class End(msgspec.Struct, frozen=True, kw_only=True):
    end: Literal[True]
    sha256: Sha256


read_entry = msgspec.json.Decoder(AnyEntry).decode
read_bare = msgspec.json.Decoder(Bare).decode
read_head = msgspec.json.Decoder(Head).decode
read_photo = msgspec.json.Decoder(PhotoLine).decode
read_end = msgspec.json.Decoder(End).decode


def kind_of(entry: Entry) -> str:
    """The wire name of an entry's kind."""
    return str(entry.__struct_config__.tag)


def line_of(entry: dict[str, Any]) -> bytes:
    """The bytes of a new entry as this device writes it (no line end)."""
    return msgspec.json.encode(entry)
