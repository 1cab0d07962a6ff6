"""What a place cannot see by itself: walks, corrections, rulings, work, jobs, settlements, clones, the edition."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field

from msgspec import UNSET

from builder.edition import Edition
from sync.entries import (
    Adopt,
    AnyEntry,
    Clock,
    DeskEntry,
    Entry,
    Finding,
    Job,
    PartEntry,
    Redact,
    Report,
    Ruling,
    Run,
    Same,
    Settle,
    Tag,
    Walk,
    Work,
)
from sync.fold import fields
from sync.fold.authority import gravity, is_lead
from sync.fold.awareness import by_id, claims
from sync.fold.log import Kind, Logged, Place, of_kind
from sync.fold.placing import decided, floor_of, known_place, todays_check
from sync.fold.redacting import redacted
from sync.fold.texts import Texts
from sync.fold.touched import Touched, Touching
from sync.fold.walks import NO_WALK, WalkView, view_of
from sync.state import Clone, Pair


@dataclass(slots=True)
class Context:
    """Grows with `take`; hold one per backlog, or build it again from every entry that `keeps` says it keeps.

    `editions` by fingerprint; `adopted` is the one in force where no `adopt` entry says (a new backlog's own).
    """

    editions: Mapping[str, Edition]
    adopted: str
    clones: list[Clone] = field(default_factory=list)
    cloned: dict[str, int] = field(default_factory=dict)
    walks: dict[str, list[Logged]] = field(default_factory=dict)
    corrections: dict[str, list[Logged]] = field(default_factory=dict)
    voids: dict[str, list[Logged]] = field(default_factory=dict)
    about: dict[str, list[Logged]] = field(default_factory=dict)
    named: dict[str, set[str]] = field(default_factory=dict)  # vehicle -> what is spoken of as "vehicle/kind/id"
    explains: dict[str, list[Logged]] = field(default_factory=dict)
    jobs: dict[str, list[Logged]] = field(default_factory=dict)
    job_of: dict[str, set[str]] = field(default_factory=dict)
    settles: list[Logged] = field(default_factory=list)
    chosen: dict[str, list[Logged]] = field(default_factory=dict)
    reports: dict[str, list[Logged]] = field(default_factory=dict)
    runs: dict[str, list[Logged]] = field(default_factory=dict)
    tags: dict[str, list[Logged]] = field(default_factory=dict)
    same: dict[str, list[Logged]] = field(default_factory=dict)
    parts: dict[str, list[Logged]] = field(default_factory=dict)
    clocks: dict[str, list[Logged]] = field(default_factory=dict)
    adopts: list[Logged] = field(default_factory=list)
    redacts: dict[str, list[Redact]] = field(default_factory=dict)
    kept: dict[str, list[Logged]] = field(default_factory=dict)
    texts: dict[str, Texts] = field(default_factory=dict)  # by vehicle: a memory of comparisons, no part of the log
    written_pairs: dict[str, dict[str, Pair]] = field(
        default_factory=dict
    )  # by vehicle: what the store has, its keeper's
    claimed: dict[str, int] = field(default_factory=dict)  # device -> highest seq known to any before the newest `take`
    _claims: dict[str, int] = field(default_factory=dict)
    _views: dict[tuple[str, str], WalkView] = field(default_factory=dict)
    _placed: dict[tuple[str, bool], fields.Said | None] = field(default_factory=dict)
    _settled: dict[Place, list[Logged]] = field(default_factory=dict)
    _ids: dict[tuple[str, str], str] = field(default_factory=dict)
    _leads: dict[tuple[str, str], bool] = field(default_factory=dict)
    _edition: Edition = field(init=False)

    def __post_init__(self) -> None:
        self._edition = self.editions[self.adopted]

    def take(self, new: Iterable[Logged], clones: Iterable[Clone] = ()) -> Touched:
        """Entries that are new to the log, each once, in any order, and clones that the store found among all.

        `take` everything new before folding any place of it.
        """
        self.claimed = dict(self._claims)
        before = self.edition.fingerprint
        walks_before = {}
        taken = []
        for logged in new:
            entry = logged.entry
            if isinstance(entry, Finding):
                self._claim(entry.knows)
                if entry.corrects is None:
                    continue
            if isinstance(entry, Walk) and entry.walk not in walks_before:
                walks_before[entry.walk] = self._view_of(entry.walk)
            taken.append(logged)
            self._index(logged)
        newly_cloned = self._take_clones(clones)
        self._settle_caches()
        touching = Touching(self, self.edition.by_vehicle, newly_cloned)
        for logged in taken:
            touching.by(logged)
        touching.walks -= {walk for walk, view in walks_before.items() if view == self._view_of(walk)}
        everything = self.edition.fingerprint != before
        if everything:  # a settlement may stand where no finding does
            touching.places.update(self.settle_place(entry) for entry in of_kind(Settle, self.settles))
        return touching.done(everything=everything)

    @property
    def edition(self) -> Edition:
        """The edition in force: adopted last; the smallest, where several were adopted unaware of each other."""
        return self._edition

    def in_force(self) -> list[str]:
        """The editions adopted by people who did not know of each other, smallest first; one, where all agree."""
        known = [logged for logged in self.adopts if logged.entry.edition in self.editions]
        heads = fields.heads([self.desk(logged) for logged in known if not self.is_void(logged)], self.cloned)
        return sorted({head.logged.entry.edition for head in heads}) or [self.adopted]

    def place(self, finding: Finding) -> Place:
        """Where a finding is folded: by id, by `formerly`, by its own edition, or where a ruling placed it."""
        if self.about and (placing := self.placing(finding)):
            value, entry = placing.value, placing.logged.entry
            vehicle = (entry.vehicle if isinstance(entry, Ruling) else None) or finding.vehicle
            return Place(vehicle, self.check_id(vehicle, value.check), value.spot or "")
        if finding.check is None:
            return Place(finding.vehicle, "", finding.defect or finding.id)
        return Place(finding.vehicle, self.check_id(finding.vehicle, finding.check), finding.spot or "")

    def check_id(self, vehicle: str, check: str) -> str:
        """Today's id of a check; see placing.todays_check."""
        found = self._ids.get((vehicle, check))
        if found is None:
            found = todays_check(vehicle, check, self.edition, self.editions)
            self._ids[vehicle, check] = found
        return found

    def settled(self, place: Place) -> list[Logged]:
        """Settlements in force of faults at a place."""
        if self.settles and not self._settled:
            for logged in self.settles:
                if isinstance(logged.entry, Settle):
                    self._settled.setdefault(self.settle_place(logged.entry), []).append(logged)
        return [logged for logged in self._settled.get(place, ()) if not self.is_void(logged)]

    def settle_place(self, entry: Settle) -> Place:
        """The place a settlement speaks of; something else's is named by its opening entry, as `fault`."""
        if entry.check is None:
            return Place(entry.vehicle, "", entry.fault or entry.choose or "")
        return Place(entry.vehicle, self.check_id(entry.vehicle, entry.check), entry.spot or "")

    def placing(self, finding: Finding) -> fields.Said | None:
        """The ruling that places a finding, or the defect it is a verdict on; None where none does, or rulings unaware
        of each other disagree. From a check that it was found at only a lead moves it, and from one with a graver floor
        than where it would go."""
        for name in (finding.defect, finding.id):
            if name is not None and name in self.about:
                key = (name, finding.check is not None)
                if key not in self._placed:
                    self._placed[key] = self._find_placing(*key)
                if self._placed[key] is not None:
                    return self._placed[key]
        return None

    def places_of(self, entry: str) -> list[Place]:
        """Where rulings in force would place an entry."""
        said = self.set_about([entry], "placed")
        rulings = [(one.value, one.logged.entry) for one in said if one.value is not None]
        found = [(r.vehicle or "", v) for v, r in rulings if isinstance(r, Ruling)]
        return [Place(vehicle, self.check_id(vehicle, v.check), v.spot or "") for vehicle, v in found]

    def set_about(self, ids: Iterable[str], name: str) -> list[fields.Said]:
        """What rulings in force say of one field of any of these ids."""
        return [
            self.desk(logged, value)
            for entry in ids
            for logged in self.about.get(entry, ())
            if isinstance(logged.entry, Ruling)
            and (value := getattr(logged.entry.set, name)) is not UNSET
            and not self.is_void(logged)
        ]

    def work_about(self, ids: Iterable[str]) -> list[Logged]:
        """Work in force on any of these ids or on a job that has one of them."""
        if not self.about:
            return []
        wanted = dict.fromkeys(ids)
        wanted.update(dict.fromkeys(job for entry in list(wanted) for job in sorted(self.job_of.get(entry, ()))))
        found = (logged for entry in wanted for logged in self.about.get(entry, ()))
        return [self._left(logged) for logged in found if isinstance(logged.entry, Work) and not self.is_void(logged)]

    def walk_view(self, walk: str | None, device: str) -> WalkView:
        """What one of this device's walks gives its findings; nothing, until the walk arrives."""
        if walk is None:
            return NO_WALK
        view = self._views.get((walk, device))
        if view is None:
            view = self._views[walk, device] = self._find_walk(walk, device)
        return view

    def is_spoken_against(self, entry: str) -> bool:
        """Whether somebody took an entry back, rightly or not: the rest cannot be void."""
        return entry in self.corrections or entry in self.voids

    def is_void(self, logged: Logged) -> bool:
        """Corrected by its own device, or ruled void by a lead.

        What a correction took back stays taken back when the correction is itself corrected: the newer one stands in
        for both. Only a correction that a lead rules void is as if never said.
        """
        corrections = [c for c in self.corrections.get(logged.entry.id, ()) if self._corrects(c, logged)]
        if _voids(logged.entry):  # neither it nor what corrects it can be ruled void: no rings of voiding
            return bool(corrections)
        return any(not self._ruled_void(c) for c in corrections) or self._ruled_void(logged)

    def replaced_by(self, entry: str) -> list[str]:
        """What stands in for a corrected entry, to the end of the chain."""
        found, ends = [entry], []
        for name in found:
            later = [c.entry.id for c in self.corrections.get(name, ()) if c.entry.id not in found]
            found += later
            if not later:
                ends.append(name)
        return sorted(set(ends) - {entry})

    def stood_in_for(self, entry: str) -> list[str]:
        """The entries that a correction took back, one after the other, newest first."""
        found: list[str] = []
        target: str | None = entry
        while target is not None:
            target = next((c.entry.corrects for c in self.kept.get(target, ()) if c.entry.corrects), None)
            if target is None or target in found:
                break
            found.append(target)
        return found

    def content(self, entry: Kind) -> Kind:
        """The entry without what was redacted."""
        by = self.redacts.get(entry.id) if self.redacts else None
        return redacted(entry, by) if by else entry

    def _left(self, logged: Logged) -> Logged:
        return Logged(self.content(logged.entry), logged.hash) if self.redacts else logged

    def lead(self, entry: Entry) -> bool:
        """Whether its writer is a lead by the entry's own edition."""
        return self.is_lead(entry.edition, entry.by)

    def is_lead(self, edition: str, by: str) -> bool:
        found = self._leads.get((edition, by))
        if found is None:
            found = self._leads[edition, by] = is_lead(self.editions, edition, by)
        return found

    def desk(self, logged: Logged, value: object = None) -> fields.Said:
        """An entry as something said, with what its writer knew."""
        logged = self._left(logged)
        entry = logged.entry
        knows: dict[str, int] = getattr(entry, "knows", {})
        about = (entry.about,) if isinstance(entry, Ruling | Work) else ()
        return fields.Said(logged, value, knows, about + by_id(knows))

    def knew(self, one: fields.Said, other: fields.Said) -> bool:
        """Whether the writer of one knew the other, and not both claim so."""
        return claims(one, other, self.cloned) and not claims(other, one, self.cloned)

    def _take_clones(self, clones: Iterable[Clone]) -> set[str]:
        new = [clone for clone in clones if clone not in self.clones]
        for clone in new:
            self.clones.append(clone)
            if clone.seq:
                self.cloned[clone.device] = min(self.cloned.get(clone.device, clone.seq), clone.seq)
        return {clone.device for clone in new}

    def _settle_caches(self) -> None:
        self._views.clear()
        self._placed.clear()
        self._settled.clear()
        self._leads.clear()
        in_force = self.in_force()[0]
        if in_force != self._edition.fingerprint:
            self._edition = self.editions[in_force]
            self._ids.clear()

    def _index(self, logged: Logged) -> None:
        entry = logged.entry
        self.kept.setdefault(entry.id, []).append(logged)
        if entry.corrects is not None:
            self.corrections.setdefault(entry.corrects, []).append(logged)
        if isinstance(entry, DeskEntry | Walk | Report | Run):
            self._claim(entry.knows)
        match entry:
            case Walk():
                self.walks.setdefault(entry.walk, []).append(logged)
            case Ruling() | Work():
                self._index_about(entry, logged)
            case Settle():
                self.settles.append(logged)
                if entry.choose is not None:
                    self.chosen.setdefault(entry.choose, []).append(logged)
            case Job():
                self.jobs.setdefault(entry.job, []).append(logged)
                for defect in entry.defects:
                    self.job_of.setdefault(defect, set()).add(entry.job)
            case Redact():
                self.redacts.setdefault(entry.entry, []).append(entry)
            case Adopt():
                self.adopts.append(logged)
            case _:
                self._index_vehicle(entry, logged)

    def _index_about(self, entry: Ruling | Work, logged: Logged) -> None:
        self.about.setdefault(entry.about, []).append(logged)
        if "/" in entry.about:
            self.named.setdefault(entry.about.partition("/")[0], set()).add(entry.about)
        if isinstance(entry, Ruling):
            if entry.set.void is not UNSET:
                self.voids.setdefault(entry.about, []).append(logged)
            if isinstance(entry.set.explains, str):
                self.explains.setdefault(entry.set.explains, []).append(logged)

    def _index_vehicle(self, entry: AnyEntry, logged: Logged) -> None:
        match entry:
            case Report():
                self.reports.setdefault(entry.vehicle, []).append(logged)
            case Run():
                self.runs.setdefault(entry.vehicle, []).append(logged)
            case Tag():
                self.tags.setdefault(entry.vehicle, []).append(logged)
            case Same():
                for opening in entry.of:
                    self.same.setdefault(opening, []).append(logged)
            case PartEntry():
                self.parts.setdefault(entry.part, []).append(logged)
            case Clock():
                self.clocks.setdefault(entry.of, []).append(logged)

    def _claim(self, knows: Mapping[str, int]) -> None:
        for device, seq in knows.items():
            if seq > self._claims.get(device, 0):
                self._claims[device] = seq

    def _view_of(self, walk: str) -> list[tuple[str, WalkView]]:
        devices = sorted({logged.entry.device for logged in self.walks.get(walk, ())})
        return [(device, self._find_walk(walk, device)) for device in devices]

    def _find_walk(self, walk: str, device: str) -> WalkView:
        entries = (logged for logged in self.walks.get(walk, ()) if logged.entry.device == device)
        return view_of(list(of_kind(Walk, (logged for logged in entries if not self.is_void(logged)))))

    def _find_placing(self, entry: str, leads_alone: bool) -> fields.Said | None:
        said = self.set_about([entry], "placed")
        if leads_alone:
            said = [one for one in said if self.lead(one.logged.entry)]
        said = fields.set_of(said)
        return decided([(one, self._floor(one), self.lead(one.logged.entry)) for one in said], self.knew)

    def _floor(self, placing: fields.Said) -> int:
        """How grave a published rule makes whatever is found where this places it."""
        value, entry = placing.value, placing.logged.entry
        if value is None or not isinstance(entry, Ruling):
            return 0
        place = Place(entry.vehicle or "", self.check_id(entry.vehicle or "", value.check), value.spot or "")
        return gravity(floor_of(known_place(place, self.edition, self.editions, (entry.edition,))))

    def _corrects(self, correction: Logged, target: Logged) -> bool:
        """The same device, later; on a desk, which several people use, the same person or a lead. An id that two
        contents share is not taken back by it: both stay to be seen."""
        by, of = correction.entry, target.entry
        if by.device != of.device or by.seq <= of.seq or self._shared_id(of.id):
            return False
        return not isinstance(of, DeskEntry) or by.by == of.by or self.lead(by)

    def _shared_id(self, entry: str) -> bool:
        return any(clone.entries.count(entry) > 1 for clone in self.clones)

    def _ruled_void(self, logged: Logged) -> bool:
        """A ruling `void` cannot itself be ruled void; it is corrected, or taken back by another that knew it."""
        said = self.voids.get(logged.entry.id)
        if not said or _voids(logged.entry):
            return False
        rulings = [
            self.desk(ruling, ruling.entry.set.void)
            for ruling in said
            if isinstance(ruling.entry, Ruling) and self.lead(ruling.entry) and not self.is_void(ruling)
        ]
        heads = fields.heads(rulings, self.cloned)
        return bool(heads) and all(head.value is not None for head in heads)


def _voids(entry: Entry) -> bool:
    return isinstance(entry, Ruling) and entry.set.void is not UNSET
