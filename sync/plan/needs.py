"""What the planned work needs to have: parts, consumables and special tools in one list; and work alike in batches."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date

from sync.plan.plan import Plan
from sync.plan.problem import Item, Part, Problem
from sync.plan.words import missing_words


@dataclass(frozen=True)
class Need:
    """One part over all planned work: how many pieces of work ask for it, in which state, where, for which vehicles.

    `wanted` is the first day on which planned work uses it; `late` says it is due after that day.
    """

    name: str
    needed: int
    ordered: int
    here: int
    shelves: tuple[str, ...]
    due: date | None
    vehicles: tuple[str, ...]
    wanted: date | None

    @property
    def to_order(self) -> bool:
        return self.needed > 0


@dataclass(frozen=True)
class Robbed:
    """A part taken from another vehicle: what opens a defect there."""

    part: str
    taken_from: str
    item: str

    @property
    def defect(self) -> str:
        return missing_words(self.part, self.item)


@dataclass(frozen=True)
class Batch:
    """The same work on several vehicles, or several things sent to one place: one set-up, one journey."""

    kind: str
    name: str
    items: tuple[str, ...]
    vehicles: tuple[str, ...]
    parts: tuple[str, ...]


def needs(plan: Plan) -> tuple[Need, ...]:
    """One line a part, those to be ordered first, then by the day on which they are wanted."""
    found: dict[str, list[tuple[Part, str, date | None]]] = {}
    for part, vehicle, day in _asked(plan):
        found.setdefault(part.name, []).append((part, vehicle, day))
    lines = [_line(name, asked) for name, asked in found.items()]
    return tuple(sorted(lines, key=lambda need: (not need.to_order, need.wanted or date.max, need.name)))


def _asked(plan: Plan) -> Iterator[tuple[Part, str, date | None]]:
    """Every part of every planned piece of work; what cannot be planned yet asks for its parts all the same."""
    for item in plan.problem.work:
        name = f"work/{item.id}"
        day = plan.first_day(name) if name in plan.net.by_id else None
        yield from ((part, item.vehicle, day) for part in item.parts)
    for bundle in plan.bundles:
        for task in (plan.problem.by_task[name] for name in bundle.tasks):
            day = plan.first_day(f"task/{task.id}")
            yield from ((part, task.vehicle, day) for part in task.parts)


def _line(name: str, asked: Sequence[tuple[Part, str, date | None]]) -> Need:
    parts = [part for part, *_ in asked]
    return Need(
        name=name,
        needed=sum(part.state == "needed" for part in parts),
        ordered=sum(part.state == "ordered" for part in parts),
        here=sum(part.state == "here" for part in parts),
        shelves=tuple(sorted({part.where for part in parts if part.state == "here" and part.where})),
        due=max((part.due for part in parts if part.due and part.state != "here"), default=None),
        vehicles=tuple(sorted({vehicle for _, vehicle, _ in asked})),
        wanted=min((day for *_, day in asked if day), default=None),
    )


def robbed(problem: Problem) -> tuple[Robbed, ...]:
    """Parts that were taken from another vehicle."""
    taken = [
        Robbed(part.name, part.taken_from, item.id)
        for item in problem.work
        for part in item.parts
        if part.taken_from and part.taken_from != item.vehicle
    ]
    return tuple(sorted(taken, key=lambda one: (one.taken_from, one.part, one.item)))


def batches(problem: Problem) -> tuple[Batch, ...]:
    """Work alike on two vehicles or more, and things that go out to one place."""
    alike: dict[tuple[str, str], list[Item]] = {}
    for item in problem.work:
        if item.alike:
            alike.setdefault(("work alike", item.alike), []).append(item)
        for place in sorted({wait.where for wait in item.waits if wait.kind == "sent out" and wait.where}):
            alike.setdefault(("sent out", place), []).append(item)
    return tuple(
        _batch(kind, name, items)
        for (kind, name), items in sorted(alike.items())
        if len({item.vehicle for item in items}) > 1
    )


def _batch(kind: str, name: str, items: Sequence[Item]) -> Batch:
    return Batch(
        kind,
        name,
        tuple(sorted(item.id for item in items)),
        tuple(sorted({item.vehicle for item in items})),
        tuple(sorted({part.name for item in items for part in item.parts})),
    )
