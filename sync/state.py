"""What the fold makes of the log: frozen, plain, without a clock; the store keeps each as a row with its body.

Nothing here depends on today: what lapses is kept as a date, and standing.py reads it against one.
Days are ISO dates as text, so that they sort, compare and serialise as they stand.
"""

from typing import Literal

import msgspec

from sync.entries import Diagnosis, Leak, Permit, PlanWish, Reading, Temporary, Wait

Severity = Literal["dangerous", "major", "minor", "advisory"]
Status = Literal["open", "to confirm", "in hand", "waiting", "mended", "tested"]
Placing = Literal["check", "something else", "not placed"]


class Frozen(msgspec.Struct, frozen=True, kw_only=True, omit_defaults=True):
    pass


class Subject(msgspec.Struct, frozen=True, order=True):
    """What a statement is about. Empty `spot` where the check has none; a something else has its entry id as fault."""

    vehicle: str
    check: str
    spot: str
    fault: str


class Sighting(Frozen, frozen=True, kw_only=True):
    """One statement as a person made it; also one side of a conflict, whole.

    `kind` is finding, settle, ruling or work. `present` None says nothing of presence (a ruling's field).
    """

    entry: str
    device: str
    seq: int
    by: str
    at: str
    kind: str
    day: str = ""
    round: str = ""
    walk: str = ""
    present: bool | None = None
    severity: Severity | None = None
    reading: Reading | None = None
    leak: Leak | None = None
    verdict: str | None = None
    put_right: bool = False
    note: str = ""
    photos: tuple[str, ...] = ()
    said: str = ""  # a ruling's or work's value in words
    replaced: bool = False  # by somebody who knew it


class Conflict(Frozen, frozen=True, kw_only=True):
    """Sides that disagree, neither aware of the other. `id` is derived from subject and fault (or field).

    `kind`: "result", "severity", "reading", "closing" (an absent that did not know), "before or after mending",
    "field" (a ruling's or work's value; `field` names it), "changed" (between occasions, listed only).
    """

    id: str
    kind: str
    vehicle: str
    check: str = ""
    spot: str = ""
    fault: str = ""
    field: str = ""
    why: str = ""
    sides: tuple[Sighting, ...] = ()
    stands: str = ""  # entry id of the safer claim
    defect: str = ""  # opening id of the defect it touches, if any


class Closing(Frozen, frozen=True, kw_only=True):
    entry: str
    by: str
    day: str
    how: str  # "signed off", "closed by lead", "closed", "gone", "sound", "settled", "put right"
    reason: str = ""


class Cost(Frozen, frozen=True, kw_only=True):
    """Hours and money booked, and by which entry; sums over what the heads did not take back."""

    hours: float = 0
    cost: float = 0


class Defect(Frozen, frozen=True, kw_only=True):
    """One line of the backlog, from its opening to its closing; `severity` is the one in force."""

    opening: str
    code: str
    also: tuple[str, ...] = ()  # other opening ids that find it
    also_codes: tuple[str, ...] = ()
    vehicle: str
    station: str = ""
    check: str = ""
    spot: str = ""
    fault: str = ""
    placing: Placing = "check"
    station_name: str = ""
    check_name: str = ""
    fault_name: str = ""
    system: str = ""
    area: int | None = None
    severity: Severity
    severity_why: str = ""  # where it is not what was said last: the never-lower rule, escalated, a published rule
    status: Status = "open"
    to_confirm: str = ""  # why, in words
    episode: int = 1  # 2 and up: a recurrence
    first_day: str = ""
    last_day: str = ""
    seen_by: tuple[str, ...] = ()
    sightings: tuple[Sighting, ...] = ()  # presents alone
    doubts: tuple[Sighting, ...] = ()  # who saw it gone, sound or put right without that closing it
    reading: Reading | None = None
    note: str = ""
    photos: tuple[str, ...] = ()
    worse: bool = False  # the newest verdict says so
    conflicts: tuple[str, ...] = ()
    bars: tuple[str, ...] = ()
    needs: tuple[str, ...] = ()  # access steps
    holds: tuple[str, ...] = ()
    parts: tuple[str, ...] = ()
    uses: tuple[str, ...] = ()
    hours: tuple[float, float] | None = None
    people: int = 1
    owner: str = ""
    diagnosis: Diagnosis | None = None
    temporary: Temporary | None = None
    permit: Permit | None = None
    permit_from: str = ""  # the day it was written
    escalated: str = ""
    ask: str = ""
    know_how: str = ""
    wait: Wait | None = None
    work: tuple[Sighting, ...] = ()
    mended_by: str = ""
    spent: Cost = Cost()
    plan: PlanWish | None = None  # what somebody wants of the plan, and who
    plan_by: str = ""
    job: str = ""
    closed: Closing | None = None


class WalkState(Frozen, frozen=True, kw_only=True):
    walk: str
    vehicle: str
    round: str
    day: str
    by: str
    device: str
    started: str = ""
    finished: str = ""
    covered: int = 0
    of: int = 0
    unchecked: tuple[tuple[str, str, str], ...] = ()  # check, spot, why


class ReportState(Frozen, frozen=True, kw_only=True):
    """`explained` is the opening id of the defect that explains it, or "driven again" where that closed it."""

    entry: str
    vehicle: str
    source: str
    by: str
    at: str
    symptom: str
    conditions: str = ""
    photos: tuple[str, ...] = ()
    explained: str = ""
    ask: str = ""


class TagState(Frozen, frozen=True, kw_only=True):
    vehicle: str
    tag: str
    owner: str
    on: bool
    reason: str = ""
    entry: str = ""


class JobState(Frozen, frozen=True, kw_only=True):
    job: str
    title: str
    vehicle: str = ""
    defects: tuple[str, ...] = ()
    tasks: tuple[str, ...] = ()
    steps: tuple[str, ...] = ()
    state: str = "open"
    wait: Wait | None = None


class TaskState(Frozen, frozen=True, kw_only=True):
    """Work on a while-open task, a service or a first-start step; `about` is "vehicle/kind/id".

    `signed`: the days on which somebody who may signed it off; what falls due again is done again.
    """

    about: str
    vehicle: str
    state: str = "open"
    by: str = ""
    day: str = ""
    wait: Wait | None = None
    signed: tuple[str, ...] = ()
    spent: Cost = Cost()
    work: tuple[Sighting, ...] = ()


class PartState(Frozen, frozen=True, kw_only=True):
    part: str
    for_: str
    state: str
    where: str = ""
    due: str = ""


class VehicleRulings(Frozen, frozen=True, kw_only=True):
    """What was ruled about a vehicle: its state, whose it is, know-how and wishes of the plan with who said it."""

    vehicle: str
    state: str = ""
    belongs_to: str = ""
    know_how: tuple[tuple[str, str, str], ...] = ()  # about (the vehicle, or "vehicle/kind/id"), by, text
    permit: Permit | None = None
    permit_from: str = ""
    plans: tuple[tuple[str, str, PlanWish], ...] = ()  # about (the vehicle, or "vehicle/kind/id"), by, wish


class Pair(Frozen, frozen=True, kw_only=True):
    """Two open defects that may be one; `joined` None while nobody has said."""

    first: str
    second: str
    why: str
    joined: bool | None = None


class Clone(Frozen, frozen=True, kw_only=True):
    """Two contents under one (device, seq) or one id."""

    device: str
    seq: int
    entries: tuple[str, ...]
    hashes: tuple[str, ...]


class Clock(Frozen, frozen=True, kw_only=True):
    """How far a device's clock was off when last measured at the door; `flagged` past 5 minutes. It decides nothing."""

    device: str
    offset_s: float
    flagged: bool = False


class State(Frozen, frozen=True, kw_only=True):
    """All of it: the same bytes for the same set of entries. Every tuple is sorted by its items' ids."""

    edition: str
    adopted: tuple[str, ...] = ()
    walks: tuple[WalkState, ...] = ()
    defects: tuple[Defect, ...] = ()  # open and closed
    conflicts: tuple[Conflict, ...] = ()
    reports: tuple[ReportState, ...] = ()
    tags: tuple[TagState, ...] = ()
    vehicles: tuple[VehicleRulings, ...] = ()
    pairs: tuple[Pair, ...] = ()
    tasks: tuple[TaskState, ...] = ()
    jobs: tuple[JobState, ...] = ()
    parts: tuple[PartState, ...] = ()
    clones: tuple[Clone, ...] = ()
    clocks: tuple[Clock, ...] = ()


class Standing(Frozen, frozen=True, kw_only=True):
    """One vehicle's standing on one day: worst-of, why, what is barred, and how it may be moved."""

    vehicle: str
    name: str
    standing: Literal["fit", "limited", "stopped"]
    why: tuple[str, ...] = ()
    barred: tuple[str, ...] = ()
    moves: tuple[str, ...] = ()
    permits: tuple[str, ...] = ()
    tags: tuple[str, ...] = ()
    open_defects: int = 0
    last_round: str = ""
    last_day: str = ""
    not_walked: bool = True
