"""What the store gives back beside the fold's own states: frozen rows, and the question a list is asked.

The store's read API (`Store`, sync/store.py); every method returns frozen structs, tuples of them, or a Page:

    backlog(as_of, query=Query(), limit=None, offset=0) -> Page[BacklogRow]     ranked; filters in `query`
    standing(as_of) -> tuple[StandingRow, ...]            every vehicle, sorted by id
    standing_of(vehicle, as_of) -> Standing               one vehicle, whole
    defect(key) -> Defect                                 by any code or opening id; raises DeskError
    defects(vehicle="", *, closed=False) -> tuple[Defect, ...]     open ones (closed=True: closed ones too)
    conflicts(vehicle="") -> tuple[Conflict, ...]         open, sorted by vehicle and id ("changed" ones too: see kind)
    conflict(id) -> Conflict                              raises DeskError
    walks(vehicle="") -> tuple[WalkState, ...]            newest day first
    reports(vehicle="", *, closed=False) -> tuple[ReportState, ...]
    tags(vehicle="") -> tuple[TagState, ...]; jobs() -> tuple[JobState, ...]; parts() -> tuple[PartState, ...]
    tasks(vehicle="") -> tuple[TaskState, ...]            work on while-open, service and first-start tasks
    pairs(vehicle="") -> tuple[Pair, ...]; clones() -> tuple[Clone, ...]; rulings(vehicle) -> VehicleRulings
    runs(vehicle) -> tuple[Run, ...]; fluids(vehicle) -> tuple[Fluid, ...]      as entered, void ones left out
    history(vehicle, check="", spot="") -> tuple[Sighting, ...]    sightings at a check, open and closed episodes
    entry(id) -> tuple[EntryRow, ...]                     all contents under an id (two where a device was cloned)
    set_aside(limit=None) -> tuple[AsideRow, ...]         with reasons
    devices() -> tuple[DeviceRow, ...]; batches(limit=50) -> tuple[BatchRow, ...]   newest first
    knows() -> dict[device, highest seq]                  what this backlog's state includes
    fleet() -> str                                        the fleet's code; "" before the first edition
    edition() -> Edition                                  the one in force; editions() -> tuple[str, ...] fingerprints
    edition_bytes(fingerprint) -> bytes                   as compiled
    photo(sha256) -> PhotoRow | None; photo_path(sha256) -> Path; wanted_photos() -> tuple[str, ...]
    search(text, limit=50) -> tuple[Hit, ...]             full text over notes, symptoms, fault texts

Writing goes through sync/service.py alone.
"""

from typing import Generic, NamedTuple, TypeVar

import msgspec

Row = TypeVar("Row")


class Query(msgspec.Struct, frozen=True, kw_only=True):
    """What a list is narrowed to; "" and None leave it wide. `sort` is "rank" or one of the backlog's columns."""

    vehicle: str = ""
    severity: str = ""
    standing: str = ""
    status: str = ""
    station: str = ""  # a station's id
    waiting: bool | None = None
    holding: bool | None = None  # holds an access step, so other work
    conflict: bool | None = None
    perhaps_same: bool | None = None
    revivals: bool | None = None  # of vehicles that do not run yet
    search: str = ""
    sort: str = "rank"
    down: bool = False


class Page(msgspec.Struct, Generic[Row], frozen=True):
    """Some rows of a list, and how many the whole list has; `more`: that many were counted, and there are more."""

    rows: tuple[Row, ...]
    total: int
    more: bool = False


class EntryRow(msgspec.Struct, frozen=True, kw_only=True):
    """One entry of the log; `body` is its line. `trusted`: it came from the desk or a paired desk."""

    id: str
    hash: str
    device: str
    seq: int
    kind: str
    vehicle: str
    body: str
    trusted: bool
    batch: int


class AsideRow(msgspec.Struct, frozen=True, kw_only=True):
    hash: str
    batch: int
    line: int
    code: str
    why: str
    id: str
    device: str
    seq: int
    body: str


class DeviceRow(msgspec.Struct, frozen=True, kw_only=True):
    """`name` as its latest hand-in gave it, or as ruled; `highest` and `missing` are of seq."""

    device: str
    name: str
    desk: bool
    entries: int
    highest: int
    missing: tuple[tuple[int, int], ...]
    last_seen: str  # RFC 3339, this PC's clock
    offset_s: float | None  # its clock against this PC's, where it was measured
    revoked: str
    own: bool  # this desk's


class BatchRow(msgspec.Struct, frozen=True, kw_only=True):
    """One taking in: what came, whence, and how much of it was new."""

    batch: int
    at: str  # RFC 3339, this PC's clock
    source: str  # a file's name, "door", "desk", "exchange"
    device: str
    device_name: str
    taken: int
    already: int
    set_aside: int
    photos: int
    trouble: str


class PhotoRow(msgspec.Struct, frozen=True, kw_only=True):
    sha256: str
    type: str
    size: int


class Hit(msgspec.Struct, frozen=True, kw_only=True):
    """One entry that a search found, with the found words marked by [ and ]."""

    id: str
    kind: str
    vehicle: str
    text: str


class DefectRow(NamedTuple):
    """A defect as the table has it, but for its number and body; see rows.BacklogRow for what people read."""

    opening: str
    place: int
    code: str
    vehicle: str
    station_id: str
    check_id: str
    spot: str
    fault_id: str
    severity: str
    status: str
    open: int
    holding: int
    paired: int
    station: str
    check_name: str
    fault: str
    first_seen: str
    last_seen: str
    sightings: int
    seen_by: str
    note: str
    reading: str
    conflict: str
    waiting_for: str
    due: str
    needs: str
    held_by: str
    temporary_until: str
    owner: str
    hours: str
    also_codes: str


class Line(NamedTuple):
    """What may change in a defect's row while its own place has not: what the rest of its vehicle makes of it."""

    code: str
    also_codes: str
    holding: int
    paired: int
    conflict: str
    needs: str
    held_by: str


class OldDefect(NamedTuple):
    """A defect as it was last written. `long`: a code of it had to be longer than others."""

    opening: str
    place: int
    open: bool
    long: bool
    body: str
    line: Line


class Spell(NamedTuple):
    """A defect as the season counts it: from the day it was first seen to the day it was closed ("": it is open)."""

    opening: str
    code: str
    vehicle: str
    check: str
    fault: str
    station_name: str
    check_name: str
    fault_name: str
    severity: str  # in force: the gravest since its opening that nobody with authority lowered
    first_day: str
    closed: str
    episode: int


class RankRow(NamedTuple):
    """Where an open defect stands in the list over some days (`until_day` is past them); smaller keys come first."""

    opening: str
    from_day: str
    until_day: str
    vehicle: str
    rank_key: str
    rank_why: str
