"""What changed since the last plan, and why: the work whose day moved, came or went, with the nearest reason."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import date

from sync.plan.plan import Plan
from sync.plan.problem import Frozen, Item, Job
from sync.plan.words import day_words, hours_words


class Line(Frozen):
    """One item as a plan had it: enough to tell later what became of it."""

    title: str
    vehicle: str
    first_day: date | None
    last_day: date | None
    hours: tuple[float, float] | None
    ready_from: date | None
    severity: str
    in_hand: bool
    blocked: str = ""
    wish: str = ""
    first: bool = False
    job: str = ""


class Kept(Frozen):
    """What is kept of a plan for the next one to be compared with."""

    as_of: date
    people: int
    hours_per_week: float
    lines: dict[str, Line]


@dataclass(frozen=True)
class Change:
    """One item's change: its day before and after, and why; `own`: for a reason of its own, not for other work's."""

    item: str
    title: str
    was: date | None
    now: date | None
    why: str
    own: bool = True

    @property
    def words(self) -> str:
        """In words, in one line."""
        return f"{self.title}: {_said(self.was)} -> {_said(self.now)}: {self.why}"


def _said(day: date | None) -> str:
    return day_words(day) if day else "not planned"


def kept(plan: Plan) -> Kept:
    """What to keep of a plan."""
    workshop = plan.problem.workshop
    return Kept(
        as_of=plan.problem.as_of,
        people=workshop.people_at_once,
        hours_per_week=workshop.hours_per_week,
        lines={item.id: _line(plan, item) for item in plan.problem.work},
    )


def _line(plan: Plan, item: Item) -> Line:
    name = f"work/{item.id}" if f"work/{item.id}" in plan.net.by_id else f"find/{item.id}"
    planned = name in plan.net.by_id
    blocked = plan.access.blocked.get(item.id)
    return Line(
        title=item.title,
        vehicle=item.vehicle,
        first_day=plan.first_day(name) if planned else None,
        last_day=plan.last_day(name) if planned else None,
        hours=item.hours,
        ready_from=item.ready_from,
        severity=item.severity,
        in_hand=item.status == "in hand",
        blocked=blocked.why if blocked else "",
        wish=item.wish.words if item.wish else "",
        first=item.first,
        job=next((_job(job) for job in plan.problem.jobs if item.id in job.items), ""),
    )


def _job(job: Job) -> str:
    if job.apart:
        return f"to be done apart ({job.title})"
    return f"part of the job {job.title}" + (", which may stand open" if job.leave_open else "")


def changes(was: Kept, now: Kept) -> tuple[Change, ...]:
    """Every item whose last day changed, that is new or that is gone: for its own reasons first, then the soonest."""
    found = [change for one in sorted({*was.lines, *now.lines}) if (change := _change(one, was, now))]
    first = next((change for change in found if change.own), None)
    if first is not None:
        found = [
            replace(one, why=f"moved to make room for {first.title}, or into its") if not one.why else one
            for one in found
        ]
    found = [one if one.why else replace(one, why="the rest of the plan moved") for one in found]
    return tuple(sorted(found, key=lambda one: (not one.own, min(one.was or date.max, one.now or date.max), one.item)))


def _change(item: str, was: Kept, now: Kept) -> Change | None:
    old, new = was.lines.get(item), now.lines.get(item)
    if new is None and old is not None:
        return Change(item, old.title, old.last_day, None, "done, or no longer open")
    if old is None and new is not None:
        return Change(item, new.title, None, new.last_day, "new")
    if old is None or new is None or (old.last_day, old.wish, old.job) == (new.last_day, new.wish, new.job):
        return None
    own = next(_own_reasons(old, new), None)
    why = own or _others(old, new, was, now)
    return Change(item, new.title, old.last_day, new.last_day, why, own is not None)


def _own_reasons(old: Line, new: Line) -> Iterator[str]:
    if new.wish != old.wish:
        yield new.wish or f"taken back: {old.wish}"
    if new.job != old.job:
        yield f"somebody said: {new.job}" if new.job else f"the plan decides again; it was {old.job}"
    if new.blocked != old.blocked:
        yield new.blocked or f"it can be planned now (before: {old.blocked})"
    if new.in_hand and not old.in_hand:
        yield "somebody has started it, so it goes on"
    if new.ready_from != old.ready_from:
        yield f"what it waits for is now due {_said(new.ready_from) if new.ready_from else 'no more: it is here'}"
    if new.hours != old.hours:
        yield f"it is now reckoned at {_hours(new.hours)}, not {_hours(old.hours)}"
    if new.severity != old.severity:
        yield f"it is {new.severity} now, not {old.severity}"


def _hours(hours: tuple[float, float] | None) -> str:
    if hours is None:
        return "unknown hours"
    least, most = hours
    return hours_words(least) if least == most else f"{least:g} to {hours_words(most)}"


def _others(old: Line, new: Line, was: Kept, now: Kept) -> str:
    """Nothing about it changed: so what did around it; empty where nothing in particular."""
    if (was.people, was.hours_per_week) != (now.people, now.hours_per_week):
        return f"the workshop has {now.people} people and {now.hours_per_week:g} hours a week now"
    if old.last_day is not None and new.last_day is not None and new.last_day < old.last_day:
        gone = [line.title for one, line in was.lines.items() if one not in now.lines]
        return f"room was made by {gone[0]}" if gone else ""
    ahead = [_title(line) for one, line in now.lines.items() if _is_new(one, line, was.lines) and _ahead(line, new)]
    return f"{ahead[0]} goes first" if ahead else ""


def _title(line: Line) -> str:
    return f"{line.title} ({line.wish if line.first else line.severity})"


def _is_new(item: str, line: Line, was: Mapping[str, Line]) -> bool:
    old = was.get(item)
    return old is None or _pulls(old) != _pulls(line)


def _pulls(line: Line) -> tuple[object, ...]:
    """What makes a piece of work go before others, or take longer."""
    return (line.severity, line.in_hand, line.hours, line.first)


def _ahead(line: Line, other: Line) -> bool:
    if line.first_day is None or other.last_day is None:
        return False
    return line.first_day <= other.last_day
