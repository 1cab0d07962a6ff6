"""A season in figures: what broke most, open against closed, hours, and what a display day left behind. Pure.

They are about vehicles, systems and faults. Nothing here counts by person.
"""

from bisect import bisect_right
from collections import Counter
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, timedelta
from functools import cached_property

from builder.edition import Edition
from sync.entries import Run
from sync.errors import DeskError
from sync.fold.authority import gravity
from sync.state import Defect, Sighting, TaskState, WalkState
from sync.store_rows import Spell
from sync.trade.reckoning import NO_SOURCE

#: Fewer days of walk-rounds say little of a season.
LEAST_WALK_DAYS = 4
#: Up to this many days the time line goes by weeks, past it by months.
WEEKS_MOST = 26 * 7
YEARS_MOST = 10
#: How long after a display day what is found still counts to it.
AFTER_DAYS = 7
NO_SYSTEM = "no system named"
SEVERAL = "several systems"


@dataclass(frozen=True)
class Period:
    """From one day to another, both included. Raises DeskError where that is no season."""

    since: date
    until: date

    def __post_init__(self) -> None:
        if self.since > self.until:
            raise DeskError(f"the season would end on {self.until} before it begins on {self.since}; swap the days")
        if self.days > YEARS_MOST * 366:
            raise DeskError(f"{self.days} days are more than {YEARS_MOST} years; choose a shorter time")

    @property
    def days(self) -> int:
        return (self.until - self.since).days + 1

    @property
    def by_weeks(self) -> bool:
        return self.days <= WEEKS_MOST

    @cached_property
    def ends(self) -> tuple[str, str]:
        return self.since.isoformat(), self.until.isoformat()

    def holds(self, day: str) -> bool:
        first, last = self.ends
        return first <= day <= last

    def steps(self) -> list[tuple[date, date]]:
        """Whole weeks from the first day, or calendar months; the last may be cut short."""
        found, first = [], self.since
        while first <= self.until:
            after = (
                first + timedelta(days=7)
                if self.by_weeks
                else (first.replace(day=1) + timedelta(days=32)).replace(day=1)
            )
            found.append((first, min(self.until, after - timedelta(days=1))))
            first = after
        return found


@dataclass(frozen=True)
class Material:
    """What the figures are made from, as the store gives it.

    `joined`: pairs of opening ids that a person said are one. `booked`: hours by the id of the work entry.
    `states`: how each vehicle of the fleet is kept ("runner", "revival" ...).
    """

    edition: Edition
    spells: Sequence[Spell] = ()
    joined: Sequence[tuple[str, str]] = ()
    worked: Sequence[Defect] = ()
    tasks: Sequence[TaskState] = ()
    booked: Mapping[str, float] = field(default_factory=dict)
    runs: Sequence[Run] = ()
    walks: Sequence[WalkState] = ()
    states: Mapping[str, str] = field(default_factory=dict)

    @cached_property
    def counted(self) -> tuple[Spell, ...]:
        """The spells as they count: joined ones once."""
        return as_one(self.spells, self.joined)

    @cached_property
    def looks(self) -> tuple[WalkState, ...]:
        """Walks on which something was looked at; one that is not finished yet is taken for such."""
        return tuple(w for w in self.walks if w.covered or not w.finished)


@dataclass(frozen=True, slots=True)
class Broke:
    """How often something was found broken, by severity; `again`: how many of them had been mended before."""

    key: str
    name: str
    dangerous: int
    major: int
    minor: int
    advisory: int
    again: int
    walks: int = 0

    @property
    def total(self) -> int:
        return self.dangerous + self.major + self.minor + self.advisory


@dataclass(frozen=True, slots=True)
class Step:
    """One week or month: what was opened and closed in it, and what stood open at its end."""

    first: date
    last: date
    opened: int
    closed: int
    open: int


@dataclass(frozen=True, slots=True)
class Flow:
    before: int  # open when the season began
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class Spent:
    """Hours booked within the season, by system and by vehicle, most first. `silent`: work entries without hours."""

    total: float
    by_system: tuple[tuple[str, float], ...]
    by_vehicle: tuple[tuple[str, float], ...]
    silent: int


@dataclass(frozen=True, slots=True)
class Around:
    """A display day: the evening before it, what was found on it or within a week after, and how it stood then."""

    day: date
    name: str
    last: date  # of the days that count to it
    whole: bool  # that week is over
    walked: int
    before: tuple[int, int]  # open defects, vehicles stopped by one
    found: Broke
    vehicles: int
    after: tuple[int, int]
    mended: int


@dataclass(frozen=True, slots=True)
class Counts:
    """All of it. `thin` says in words why it proves little; empty where it does not."""

    period: Period
    thin: str
    found: int
    walks: int
    walk_days: int
    systems: tuple[Broke, ...]
    vehicles: tuple[Broke, ...]
    faults: tuple[Broke, ...]
    flow: Flow
    spent: Spent
    days: tuple[Around, ...]


def counts(period: Period, given: Material) -> Counts:
    """The season's counts."""
    spells = given.counted
    new = [s for s in spells if period.holds(s.first_day)]
    walks = [w for w in given.looks if period.holds(w.day)]
    by_vehicle = Counter(w.vehicle for w in walks)
    names = {v.id: v.name for v in given.edition.vehicles}
    systems = _systems(given.edition)
    days = {w.day for w in walks}
    return Counts(
        period=period,
        thin=_thin(len(new), len(days), len(walks)),
        found=len(new),
        walks=len(walks),
        walk_days=len(days),
        systems=_broke(new, lambda s: (system := systems(s.vehicle, s.check), system)),
        vehicles=_vehicles(new, names, by_vehicle),
        faults=_broke(new, lambda s: (f"{s.check} {s.fault}", _fault_words(s))),
        flow=flow(period, spells),
        spent=_spent(period, given, systems, names),
        days=tuple(_around(period, spells, walks, given)),
    )


def as_one(spells: Iterable[Spell], joined: Iterable[tuple[str, str]]) -> tuple[Spell, ...]:
    """Defects that a person said are one count once: the gravest, from the first seen to the last closed."""
    heads: dict[str, str] = {}
    joined = list(joined)
    if not joined:
        return tuple(sorted(spells, key=_in_order))

    def head(name: str) -> str:
        while heads.get(name, name) != name:
            name = heads[name]
        return name

    for one, other in joined:
        first, second = sorted((head(one), head(other)))
        heads[second] = first
    groups: dict[str, list[Spell]] = {}
    for spell in spells:
        groups.setdefault(head(spell.opening), []).append(spell)
    return tuple(sorted(map(_merged, groups.values()), key=_in_order))


def _in_order(spell: Spell) -> tuple[str, str]:
    return spell.first_day, spell.opening


def _merged(group: Sequence[Spell]) -> Spell:
    if len(group) == 1:
        return group[0]
    gravest = max(group, key=lambda s: (gravity(s.severity), s.opening))  # type: ignore[arg-type]
    first = min(s.first_day for s in group)
    closed = "" if any(not s.closed for s in group) else max(s.closed for s in group)
    episode = max(s.episode for s in group)
    return gravest._replace(first_day=first, closed=closed and max(closed, first), episode=episode)


def open_on(spells: Iterable[Spell], day: date) -> list[Spell]:
    """What stood open at the end of a day."""
    at = day.isoformat()
    return [s for s in spells if s.first_day <= at and (not s.closed or s.closed > at)]


def flow(period: Period, spells: Sequence[Spell]) -> Flow:
    """Opened and closed by week or month; open at the end of each is what was open before it, and what changed."""
    before = still = len(open_on(spells, period.since - timedelta(days=1)))
    firsts = [first.isoformat() for first, _ in period.steps()]
    opened = Counter(bisect_right(firsts, s.first_day) for s in spells if period.holds(s.first_day))
    closed = Counter(bisect_right(firsts, s.closed) for s in spells if s.closed and period.holds(s.closed))
    steps = []
    for number, (first, last) in enumerate(period.steps(), 1):
        still += opened[number] - closed[number]
        steps.append(Step(first, last, opened[number], closed[number], still))
    return Flow(before, tuple(steps))


def _thin(found: int, days: int, walks: int) -> str:
    if not walks:
        return "Nobody walked round anything in these days, so there is nothing to tell."
    if days >= LEAST_WALK_DAYS:
        return ""
    return (
        f"Thin evidence: {found} defects from walk-rounds on {days} {'day' if days == 1 else 'days'}. What stands "
        f"first here may stand last after the next one; from {LEAST_WALK_DAYS} days on it says more ({NO_SOURCE})."
    )


def _systems(edition: Edition) -> Callable[[str, str], str]:
    """(vehicle, check) -> the system it belongs to."""

    def system(vehicle: str, check: str) -> str:
        view = edition.by_vehicle.get(vehicle)
        found = view.checks.get(check) if view else None
        return (found.system if found else None) or NO_SYSTEM

    return system


def _fault_words(spell: Spell) -> str:
    return f"{spell.fault_name or 'something else'}: {spell.check_name or spell.station_name or 'no check'}"


def _broke(spells: Iterable[Spell], key: Callable[[Spell], tuple[str, str]]) -> tuple[Broke, ...]:
    """Counted by key, the most first; the names of equal keys are the first one's."""
    groups: dict[str, tuple[str, list[Spell]]] = {}
    for spell in spells:
        name, words = key(spell)
        groups.setdefault(name, (words, []))[1].append(spell)
    found = [_counted(name, words, some) for name, (words, some) in groups.items()]
    return tuple(sorted(found, key=lambda b: (-b.total, -b.dangerous, -b.major, b.name)))


def _counted(key: str, name: str, spells: Sequence[Spell], walks: int = 0) -> Broke:
    by = Counter(s.severity for s in spells)
    again = sum(s.episode > 1 for s in spells)
    return Broke(key, name, by["dangerous"], by["major"], by["minor"], by["advisory"], again, walks)


def _vehicles(new: Sequence[Spell], names: Mapping[str, str], walks: Mapping[str, int]) -> tuple[Broke, ...]:
    """Every vehicle of the fleet, and others that something was found at; those that were not walked last."""
    groups: dict[str, list[Spell]] = {vehicle: [] for vehicle in names}
    for spell in new:
        groups.setdefault(spell.vehicle, []).append(spell)
    found = [_counted(v, names.get(v, v), some, walks.get(v, 0)) for v, some in groups.items()]
    return tuple(sorted(found, key=lambda b: (-b.total, -b.dangerous, not b.walks, b.name)))


def _spent(period: Period, given: Material, systems: Callable[[str, str], str], names: Mapping[str, str]) -> Spent:
    """Each work entry once, also where its job has several defects. Its day is that of the desk's own clock."""
    days: dict[str, str] = {}
    places: dict[str, set[tuple[str, str]]] = {}
    for vehicle, system, work in _all_work(given, systems):
        days[work.entry] = work.at[:10]
        places.setdefault(work.entry, set()).add((vehicle, system))
    by_system: dict[str, float] = {}
    by_vehicle: dict[str, float] = {}
    mine = [entry for entry, day in days.items() if period.holds(day)]
    for entry in mine:
        hours = given.booked.get(entry, 0.0)
        kinds = {system for _, system in places[entry]}
        kind = kinds.pop() if len(kinds) == 1 else SEVERAL
        vehicle = min(vehicle for vehicle, _ in places[entry])
        by_system[kind] = by_system.get(kind, 0.0) + hours
        by_vehicle[vehicle] = by_vehicle.get(vehicle, 0.0) + hours
    return Spent(
        total=sum(given.booked.get(entry, 0.0) for entry in mine),
        by_system=_most(by_system),
        by_vehicle=tuple((names.get(v, v), hours) for v, hours in _most(by_vehicle)),
        silent=sum(entry not in given.booked for entry in mine),
    )


def _all_work(given: Material, systems: Callable[[str, str], str]) -> Iterable[tuple[str, str, Sighting]]:
    """(vehicle, system, work) of defects and of tasks, whose system is their kind ("service", "while open")."""
    for defect in given.worked:
        system = defect.system or systems(defect.vehicle, defect.check)
        yield from ((defect.vehicle, system, work) for work in defect.work)
    for task in given.tasks:
        kind = task.about.split("/")[1].replace("-", " ")
        yield from ((task.vehicle, kind, work) for work in task.work)


def _most(hours: Mapping[str, float]) -> tuple[tuple[str, float], ...]:
    return tuple(sorted(((k, h) for k, h in hours.items() if h > 0), key=lambda item: (-item[1], item[0])))


def _around(period: Period, spells: Sequence[Spell], walks: Sequence[WalkState], given: Material) -> Iterable[Around]:
    """Every display day within the season that has come."""
    all_days = sorted(given.edition.display_days, key=lambda d: d.date)
    for number, shown in enumerate(all_days):
        if not period.since <= shown.date <= period.until:
            continue
        nexts = [d.date for d in all_days[number + 1 :] if d.date > shown.date]
        whole = min([shown.date + timedelta(days=AFTER_DAYS), *(d - timedelta(days=1) for d in nexts[:1])])
        last = min(whole, period.until)
        within = Period(shown.date, last)
        found = [s for s in spells if within.holds(s.first_day)]
        yield Around(
            day=shown.date,
            name=shown.name,
            last=last,
            whole=last == whole,
            walked=len({w.vehicle for w in walks if within.holds(w.day)}),
            before=_standing(open_on(spells, shown.date - timedelta(days=1))),
            found=_counted(shown.name, shown.name, found),
            vehicles=len({s.vehicle for s in found}),
            after=_standing(open_on(spells, last)),
            mended=sum(bool(s.closed) and within.holds(s.closed) for s in spells),
        )


def _standing(still: Sequence[Spell]) -> tuple[int, int]:
    return len(still), len({s.vehicle for s in still if s.severity == "dangerous"})
