"""What if: the same problem with one thing otherwise, and what that does to every vehicle's day."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from sync.errors import PlanError
from sync.plan.plan import Plan
from sync.plan.problem import Attendance, Item, Problem
from sync.plan.readiness import Ready, readiness
from sync.plan.words import day_words, listed


def later(problem: Problem, what: str, days: int) -> Problem:
    """What is awaited under a name comes so many days later (earlier where negative).

    Raises PlanError where nothing of that name is awaited with a date.
    """
    items = tuple(_shifted(item, what, timedelta(days=days)) for item in problem.items)
    if items == problem.items:
        known = sorted({name for item in problem.work for name in _awaited(item)})
        raise PlanError(f'nothing called "{what}" is awaited with a date; awaited are: {listed(known) or "nothing"}')
    return problem.but(items=items)


def _awaited(item: Item) -> Iterator[str]:
    yield from (wait.what for wait in item.waits if wait.due)
    yield from (part.name for part in item.parts if part.due and part.state != "here")


def _shifted(item: Item, what: str, by: timedelta) -> Item:
    waits = tuple(wait.but(due=wait.due + by) if wait.due and _same(wait.what, what) else wait for wait in item.waits)
    parts = tuple(part.but(due=part.due + by) if part.due and _same(part.name, what) else part for part in item.parts)
    return item.but(waits=waits, parts=parts)


def _same(one: str, other: str) -> bool:
    return one.casefold() == other.casefold()


def more_helpers(problem: Problem, helpers: int) -> Problem:
    """So many more people, each with the hours that the others have. Raises PlanError where nobody is left."""
    workshop = problem.workshop
    people = workshop.people_at_once + helpers
    if people < 1:
        raise PlanError(f"{helpers} helpers leaves nobody of {workshop.people_at_once}: name fewer")
    hours = workshop.hours_per_week * people / workshop.people_at_once
    changed = workshop.but(people_at_once=people, hours_per_week=hours)
    return problem.but(workshop=changed)


def without(problem: Problem, item: str) -> Problem:
    """As if one item were done. Raises PlanError where there is none of that id."""
    if item not in problem.by_item:
        raise PlanError(f'no open work is called "{item}"')
    items = tuple(one for one in problem.items if one.id != item)
    jobs = tuple(job.but(items=tuple(name for name in job.items if name != item)) for job in problem.jobs)
    return problem.but(items=items, jobs=jobs)


def coming(problem: Problem, day: date, people: int) -> Problem:
    """So many people on one open day."""
    others = tuple(one for one in problem.workshop.attendance if one.day != day)
    changed = problem.workshop.but(attendance=(*others, Attendance(day=day, people=people)))
    return problem.but(workshop=changed)


@dataclass(frozen=True)
class Shift:
    """What a change does to one vehicle: its day before and after, and whether it is ready in each case."""

    vehicle: str
    name: str
    was: date | None
    now: date | None
    was_ready: bool
    now_ready: bool

    @property
    def days(self) -> int | None:
        return (self.now - self.was).days if self.now and self.was else None

    @property
    def words(self) -> str:
        """In words: from which day to which, and what becomes of the day to be ready for."""
        said = f"{self.name}: {_day(self.was)} -> {_day(self.now)}"
        if self.was_ready != self.now_ready:
            said += ", now ready" if self.now_ready else ", no longer ready"
        return said


def _day(day: date | None) -> str:
    return day_words(day) if day else "no day"


def compared(was: Plan, now: Plan, before: date) -> tuple[Shift, ...]:
    """The vehicles for which something changes."""
    after = {row.vehicle: row for row in readiness(now, before)}
    shifts = [_shift(row, after[row.vehicle]) for row in readiness(was, before) if row.vehicle in after]
    return tuple(shift for shift in shifts if (shift.was, shift.was_ready) != (shift.now, shift.now_ready))


def _shift(was: Ready, now: Ready) -> Shift:
    return Shift(was.vehicle, was.name, was.day, now.day, was.ready, now.ready)


def told(shifts: Sequence[Shift]) -> list[str]:
    """One line a vehicle; one line where nothing changes."""
    return [shift.words for shift in shifts] or ["it changes no vehicle's day"]
