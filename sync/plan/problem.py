"""What the planner is given: frozen input models that know nothing of the log, the fleet files or today.

The planner is pure: the same Problem gives the same plan. `as_of` is its only clock.
"""

from datetime import date
from functools import cached_property
from typing import Annotated, Literal, Self

from pydantic import BaseModel, ConfigDict, Field, model_validator

from sync.plan.words import day_words, listed

Severity = Literal["dangerous", "major", "minor", "advisory"]
Kind = Literal["defect", "service", "first start", "confirm", "sign off"]
PartIs = Literal["needed", "ordered", "here"]
Status = Literal["open", "in hand", "waiting", "done"]

#: Gravest first; a lower number is graver.
GRAVITY: dict[Severity, int] = {"dangerous": 0, "major": 1, "minor": 2, "advisory": 3}
#: Hours allowed to find out what a defect without a diagnosis needs. Common practice, no source.
FIND_OUT_HOURS = 2.0

Hours = Annotated[float, Field(ge=0, le=10_000)]
People = Annotated[int, Field(ge=1, le=100)]


def person_name(initials: str) -> str:
    """A person as a resource, which no resource of a workshop is called."""
    return f"person {initials}"


class Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)

    def but(self, **changes: object) -> Self:
        """The same with some fields otherwise. A plain copy would carry what was looked up in the old one along."""
        return type(self).model_validate({**{name: getattr(self, name) for name in type(self).model_fields}, **changes})


class Step(Frozen):
    """An access step of one vehicle: `needs` are the steps that must be out before it."""

    id: str
    name: str
    needs: tuple[str, ...] = ()
    hours_out: Hours = 0
    hours_back: Hours = 0
    people: People = 1
    uses: tuple[str, ...] = ()


class Vehicle(Frozen):
    """`open_steps` are out now; `barred_by` is what no planned work ends (a tag), in words."""

    id: str
    name: str
    display_weight: Annotated[float, Field(ge=0, le=100)] = 1
    standing: Literal["fit", "limited", "stopped"] = "fit"
    steps: tuple[Step, ...] = ()
    open_steps: tuple[str, ...] = ()
    barred_by: tuple[str, ...] = ()

    @cached_property
    def by_step(self) -> dict[str, Step]:
        return {step.id: step for step in self.steps}


class Wait(Frozen):
    """What work waits for; without `due` nobody has named a date. `firm` is a promised date, not a guess."""

    what: str
    kind: Literal["part", "sent out", "person", "owner"] = "part"
    due: date | None = None
    firm: bool = False
    where: str = ""


class Part(Frozen):
    """A part, consumable or special tool of one item; `where` is its shelf or its supplier.

    `taken_from` is the vehicle it was robbed from.
    """

    name: str
    state: PartIs = "needed"
    where: str = ""
    due: date | None = None
    taken_from: str = ""


class Wish(Frozen):
    """What a person wants of the plan, against its own order. `who` does the work; `by` said so.

    `first`: before all else. `on`: begun on the day. `not before`: the day. `left out`: not planned at all. `about` is
    what its ruling names, `title` that in words.
    """

    about: str = ""
    title: str = ""
    order: Literal["first", "on", "not before", "left out"] | None = None
    day: date | None = None
    who: tuple[str, ...] = ()
    reason: str = ""
    by: str = ""

    @property
    def begin(self) -> date | None:
        """The first day on which it may begin."""
        return self.day if self.order in ("on", "not before") else None

    @property
    def words(self) -> str:
        """MF: not before Sat 31 Oct 2026, by TA (no crane)"""
        return f"{self.by}: {self.wanted}"

    @property
    def wanted(self) -> str:
        """not before Sat 31 Oct 2026, by TA (no crane)"""
        order = f"{self.order} {day_words(self.begin)}" if self.begin else _ORDERS.get(self.order or "", "")
        parts = ", ".join(part for part in (order, f"by {listed(self.who)}" if self.who else "") if part)
        return (parts or "as the plan has it") + (f" ({self.reason})" if self.reason else "")

    @property
    def pulls(self) -> bool:
        """Whether it puts work before other work."""
        return self.order in ("first", "on")


_ORDERS = {"first": "first of all", "left out": "left out of the plan"}


class Item(Frozen):
    """One piece of work, as a rule the mending of one defect.

    `hours` is (least, most); None where nobody knows yet, and then the plan only holds a job to find out. `after`
    are items that must be done first. `alike` names the kind of work, the same on every vehicle, for batches. `also`
    are other codes under which it is known: of defects joined with it. `opening` is a defect's opening entry.
    """

    id: str
    vehicle: str
    title: str
    kind: Kind = "defect"
    severity: Severity = "minor"
    hours: tuple[Hours, Hours] | None = None
    hours_done: Hours = 0
    people: People = 1
    needs: tuple[str, ...] = ()
    holds: tuple[str, ...] = ()
    uses: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    parts: tuple[Part, ...] = ()
    status: Status = "open"
    waits: tuple[Wait, ...] = ()
    owner: str = ""
    system: str = ""
    alike: str = ""
    also: tuple[str, ...] = ()
    wish: Wish | None = None
    opening: str = ""
    short: str = ""

    @property
    def about(self) -> str:
        """What a ruling about it names: a defect's opening entry, else its own id."""
        return self.opening or self.id

    @property
    def said(self) -> str:
        """In few words, beside its vehicle's name."""
        return self.short or self.title

    @property
    def hands(self) -> int:
        """People at once: as many as it takes, and all who were named for it."""
        return max(self.people, len(self.who))

    @property
    def who(self) -> tuple[str, ...]:
        return self.wish.who if self.wish else ()

    @property
    def first(self) -> bool:
        """Whether somebody put it before all else, from its day on where they named one."""
        return self.wish is not None and self.wish.pulls

    @property
    def diagnosed(self) -> bool:
        return self.hours is not None

    @property
    def ready_from(self) -> date | None:
        """The first day on which all it waits for is there, as it is said, and it is wanted; None for at once."""
        dates = [wait.due for wait in self.waits] + [part.due for part in self.parts if part.state != "here"]
        dates.append(self.wish.begin if self.wish else None)
        return max((day for day in dates if day is not None), default=None)

    @property
    def bars(self) -> bool:
        """Whether it keeps its vehicle from being fit."""
        return GRAVITY[self.severity] <= GRAVITY["major"]


class Task(Frozen):
    """A while-open task that is due: offered with a bundle that opens its step, planned where `accepted`."""

    id: str
    vehicle: str
    title: str
    step: str
    hours: Hours
    people: People = 1
    accepted: bool = False
    parts: tuple[Part, ...] = ()


class Job(Frozen):
    """A bundle a person has accepted or made: its items share one opening and no other joins unasked.

    `leave_open`: accepted that its steps stay open while something waits. `apart`: its items are not bundled.
    """

    id: str
    title: str
    items: tuple[str, ...]
    tasks: tuple[str, ...] = ()
    leave_open: bool = False
    apart: bool = False


class DisplayDay(Frozen):
    name: str
    date: date


class Person(Frozen):
    initials: str
    signs_off: tuple[str, ...] = ()


class Attendance(Frozen):
    """Who many come on one open day, where that differs from the usual."""

    day: date
    people: Annotated[int, Field(ge=0, le=100)]


class Workshop(Frozen):
    """`hours_per_week` are person-hours: 30 with three people at once is ten hours each, over the open days.

    `open_days` are weekdays, Monday 0; `closed` are single days on which it is shut all the same.
    """

    hours_per_week: Annotated[float, Field(gt=0, le=10_000)]
    people_at_once: People
    resources: dict[str, int] = {}
    open_days: tuple[Annotated[int, Field(ge=0, le=6)], ...] = (5,)
    closed: tuple[date, ...] = ()
    attendance: tuple[Attendance, ...] = ()


class Problem(Frozen):
    """All the planner knows; `remarks` are told beside the plan.

    Raises pydantic's ValidationError where an id is there twice or names nothing.
    """

    as_of: date
    workshop: Workshop
    vehicles: tuple[Vehicle, ...] = ()
    items: tuple[Item, ...] = ()
    tasks: tuple[Task, ...] = ()
    jobs: tuple[Job, ...] = ()
    display_days: tuple[DisplayDay, ...] = ()
    people: tuple[Person, ...] = ()
    by: date | None = None
    remarks: tuple[str, ...] = ()
    wishes: tuple[Wish, ...] = ()

    @model_validator(mode="after")
    def _names_exist(self) -> Self:
        for what, ids in (
            ("vehicle", [v.id for v in self.vehicles]),
            ("item", [i.id for i in self.items]),
            ("task", [t.id for t in self.tasks]),
            ("job", [j.id for j in self.jobs]),
        ):
            if twice := sorted({one for one in ids if ids.count(one) > 1}):
                raise ValueError(f"{what} {twice[0]} is there twice")
        vehicles = set(self.by_vehicle)
        homes = [(i.id, i.vehicle) for i in self.items] + [(t.id, t.vehicle) for t in self.tasks]
        if lost := [name for name, vehicle in homes if vehicle not in vehicles]:
            raise ValueError(f"{lost[0]} belongs to a vehicle that is not there")
        return self

    @cached_property
    def by_vehicle(self) -> dict[str, Vehicle]:
        return {vehicle.id: vehicle for vehicle in self.vehicles}

    @cached_property
    def by_item(self) -> dict[str, Item]:
        return {item.id: item for item in self.items}

    @cached_property
    def by_task(self) -> dict[str, Task]:
        return {task.id: task for task in self.tasks}

    @cached_property
    def resources(self) -> dict[str, int]:
        """The workshop's, and each person who was named for some work: of them there is one."""
        named = {person_name(name): 1 for item in self.items for name in item.who}
        return {**self.workshop.resources, **dict(sorted(named.items()))}

    @cached_property
    def work(self) -> tuple[Item, ...]:
        """What is still to do, gravest first, then by id: one order for every reader."""
        left = [item for item in self.items if item.status != "done"]
        return tuple(sorted(left, key=lambda item: (GRAVITY[item.severity], item.id)))

    @cached_property
    def items_of(self) -> dict[str, tuple[Item, ...]]:
        found: dict[str, list[Item]] = {vehicle.id: [] for vehicle in self.vehicles}
        for item in self.work:
            found[item.vehicle].append(item)
        return {vehicle: tuple(items) for vehicle, items in found.items()}

    @cached_property
    def target(self) -> date | None:
        """The day to be ready for: `by`, or the next display day after `as_of`."""
        ahead = sorted(day.date for day in self.display_days if day.date >= self.as_of)
        return self.by or (ahead[0] if ahead else None)
