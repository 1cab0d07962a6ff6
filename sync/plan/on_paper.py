"""What the plan says on job cards and in a calendar: order, steps out and back, needs, people, hours, planned days.

Steps, needs and what waits for what come from the access graph alone; days and the order among jobs need the plan, and
so OR-Tools. Where it cannot be made (the extra is missing, the workshop never opens, too much is open, the clock cut
the search short) nothing fails: `why_not` says so in a line, and the days are left out. The same problem gives the
same words on every machine: the search is limited in the solver's own seconds.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from functools import cached_property
from typing import get_args

from sync.errors import PlanError
from sync.plan.access import Access
from sync.plan.cp import Limit
from sync.plan.day import Stint, day_list, why_now
from sync.plan.network import Activity
from sync.plan.plan import PLANNED_MOST, Plan, plan_of
from sync.plan.problem import GRAVITY, Item, Part, PartIs, Problem, Step, Task
from sync.plan.schedule import QUICK
from sync.plan.words import clock_words, listed

STATES = get_args(PartIs)


@dataclass(frozen=True)
class StepLine:
    """An access step in the order in which it comes out; hours on the clock. `open`: it is out now.

    `held_by` are the titles of the defects that stop it.
    """

    step: str
    name: str
    hours_out: float
    hours_back: float
    people: int
    uses: tuple[str, ...]
    open: bool
    held_by: tuple[str, ...]


@dataclass(frozen=True)
class NeedLine:
    """A part, consumable or special tool: `state` is needed, ordered or here; `where` its shelf or its supplier.

    `due` is None where it is here or nobody named a date; `taken_from` is the id of the vehicle it was robbed from.
    """

    name: str
    state: str
    where: str
    due: date | None
    taken_from: str


@dataclass(frozen=True)
class CardLines:
    """What one card says of the plan: of one piece of work, or of several that are one job.

    Args:
        items: those of the asked that the plan knows, gravest first.
        place: 1 for the job that begins first of `places` planned ones; None where it has no day.
        after: titles of work that must be done first; `before`: titles of work that waits for this.
        together: titles of other work done in the same opening.
        outs: steps in the order they come out; they go back in the order of `backs`.
        hours: least and most hours of the work itself, without steps; `unknown`: of so many nobody knows.
        hours_out, hours_back: hours on the clock to open and to close again what is not open now.
        people: most at once, over the work and its steps.
        first_day, last_day: planned; None where not.
        why: why it stands where it does in the plan, or why it has no day.
    """

    items: tuple[str, ...]
    place: int | None
    places: int
    after: tuple[str, ...]
    before: tuple[str, ...]
    together: tuple[str, ...]
    outs: tuple[StepLine, ...]
    needs: tuple[NeedLine, ...]
    hours: tuple[float, float]
    unknown: int
    people: int
    uses: tuple[str, ...]
    first_day: date | None
    last_day: date | None
    why: str

    @property
    def backs(self) -> tuple[StepLine, ...]:
        return self.outs[::-1]

    @property
    def hours_out(self) -> float:
        return sum(step.hours_out for step in self.outs if not step.open)

    @property
    def hours_back(self) -> float:
        return sum(step.hours_back for step in self.outs)


@dataclass(frozen=True)
class WorkDay:
    """One open day on which something is planned, as stints (see day.py) and as one line of text each."""

    day: date
    hours: float
    people: tuple[str, ...]
    stints: tuple[Stint, ...]

    @property
    def lines(self) -> tuple[str, ...]:
        """0:00-2:00 Badger: Deck clear (MF and TA); dangerous: to make safe"""
        return tuple(map(_stint_words, self.stints))


class OnPaper:
    """A problem's plan for papers. `why_not` is empty where there is a plan, else one line that says why not."""

    def __init__(self, problem: Problem, plan: Plan | None, why_not: str = "") -> None:
        self.problem = problem
        self.access = plan.access if plan else Access(problem)
        self.plan = plan
        self.why_not = why_not

    def card(self, codes: Iterable[str], tasks: Iterable[str] = ()) -> CardLines | None:
        """The lines of one card; None where the plan knows none of it (closed, or away with its vehicle).

        Args:
            codes: defects by code, or other work by its name ("badger/service/oil"); of one vehicle.
            tasks: while-open tasks by name that are done with them.
        """
        wanted = {code: self._by_code.get(code) for code in codes}
        items = {item.id: item for item in wanted.values() if item is not None}
        found = sorted(items.values(), key=lambda item: (GRAVITY[item.severity], item.id))
        also = [self.problem.by_task[name] for name in tasks if name in self.problem.by_task]
        return self._lines(found, also) if found else None

    @cached_property
    def days(self) -> tuple[WorkDay, ...]:
        """Every open day on which something is planned, in order; empty where there is no plan."""
        plan = self.plan
        if plan is None or not plan.net.activities:
            return ()
        last = max(plan.last_day(activity.id) for activity in plan.net.activities)
        lists = (day_list(plan, session.day) for session in plan.calendar.within(self.problem.as_of, last))
        return tuple(WorkDay(one.day, one.hours, one.people, one.stints) for one in lists if one.stints)

    @cached_property
    def _by_code(self) -> dict[str, Item]:
        joined = {code: item for item in self.problem.work for code in item.also}
        return {**joined, **{item.id: item for item in self.problem.work}}

    def _lines(self, items: Sequence[Item], tasks: Sequence[Task]) -> CardLines:
        mine = {item.id for item in items}
        steps = self._steps(items, tasks)
        days = self._activities([*mine, *(task.id for task in tasks)])
        known = [item.hours for item in items if item.hours is not None]
        return CardLines(
            items=tuple(item.id for item in items),
            place=min((self._order.index(_unit(activity)) + 1 for activity in days), default=None),
            places=len(self._order),
            after=_titles(first for item in items for first in self.access.before(item) if first.id not in mine),
            before=_titles(other for name in mine for other in self._waiting.get(name, ()) if other.id not in mine),
            together=_titles(self.problem.by_item[name] for name in self._opened_with(days) if name not in mine),
            outs=tuple(self._step(step, items[0].vehicle) for step in steps),
            needs=_needs(
                [*(part for item in items for part in item.parts), *(p for task in tasks for p in task.parts)]
            ),
            hours=(sum(least for least, _ in known), sum(most for _, most in known)),
            unknown=len(items) - len(known),
            people=max([*(item.hands for item in items), *(s.people for s in steps), *(t.people for t in tasks)]),
            uses=_each([*(item.uses for item in items), *(step.uses for step in steps)]),
            first_day=min((self.plan.first_day(a.id) for a in days), default=None) if self.plan else None,
            last_day=max((self.plan.last_day(a.id) for a in days), default=None) if self.plan else None,
            why=self._why(items, days),
        )

    def _steps(self, items: Sequence[Item], tasks: Sequence[Task]) -> list[Step]:
        vehicle = self.problem.by_vehicle[items[0].vehicle]
        needs = [*(need for item in items for need in item.needs), *(task.step for task in tasks)]
        found = self.access.steps_under(vehicle.id, tuple(dict.fromkeys(needs)))
        return [vehicle.by_step[step] for step in found]

    def _step(self, step: Step, vehicle: str) -> StepLine:
        return StepLine(
            step=step.id,
            name=step.name,
            hours_out=step.hours_out,
            hours_back=step.hours_back,
            people=step.people,
            uses=step.uses,
            open=step.id in self.problem.by_vehicle[vehicle].open_steps,
            held_by=_titles(self.access.holders(vehicle, step.id)),
        )

    def _activities(self, names: Sequence[str]) -> list[Activity]:
        """The planned work of some items and tasks, in the order in which it begins; steps are the bundle's."""
        if self.plan is None:
            return []
        wanted = {f"{kind}/{name}" for kind in ("work", "find", "task") for name in names}
        return [activity for activity in self.plan.in_order if activity.id in wanted]

    @cached_property
    def _order(self) -> tuple[str, ...]:
        """Jobs, and work that is done by itself, in the order in which they begin."""
        return tuple(dict.fromkeys(map(_unit, self.plan.in_order))) if self.plan else ()

    def _opened_with(self, days: Sequence[Activity]) -> Iterator[str]:
        if self.plan is not None:
            yield from (name for a in days if a.bundle for name in self.plan.by_bundle[a.bundle].items)

    @cached_property
    def _waiting(self) -> dict[str, list[Item]]:
        """By item, the work that waits for it directly."""
        found: dict[str, list[Item]] = {}
        for item in self.problem.work:
            for first in self.access.before(item):
                found.setdefault(first.id, []).append(item)
        return found

    def _why(self, items: Sequence[Item], days: Sequence[Activity]) -> str:
        blocked = [self.access.blocked[item.id].why for item in items if item.id in self.access.blocked]
        if blocked:
            return blocked[0]
        return why_now(self.plan, days[0]) if self.plan and days else self.why_not


def on_paper(problem: Problem, limit: Limit = QUICK) -> OnPaper:
    """What papers say of a problem's plan. Never raises PlanError: it says in `why_not` what is the matter."""
    if len(problem.work) > PLANNED_MOST:
        return OnPaper(problem, None, too_much(len(problem.work)))
    try:
        plan = plan_of(problem, limit)
    except PlanError as error:
        return OnPaper(problem, None, f"No days are planned: {error}")
    if not plan.schedule.repeatable:
        return OnPaper(problem, None, "No days are planned here: this machine took too long over it.")
    return OnPaper(problem, plan)


def too_much(work: int) -> str:
    """Why so much open work has no days on paper."""
    return f"No days are planned here: {work} pieces of work are open; papers name days for up to {PLANNED_MOST}."


def _unit(activity: Activity) -> str:
    return activity.bundle or activity.id


def _titles(items: Iterable[Item]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(item.title for item in items))


def _each(given: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one for some in given for one in some))


def _needs(parts: Iterable[Part]) -> tuple[NeedLine, ...]:
    """Each part once, what is to be ordered first."""
    lines = {(p.name, p.state, p.where): NeedLine(p.name, p.state, p.where, p.due, p.taken_from) for p in parts}
    return tuple(sorted(lines.values(), key=lambda line: (STATES.index(line.state), line.name, line.where)))


def _stint_words(stint: Stint) -> str:
    words = f"{clock_words(stint.begins)}-{clock_words(stint.ends)} {stint.vehicle_name}: {stint.what}"
    words += f" ({listed(stint.people)})" if stint.people else ""
    return words + f"; {stint.why}" + ("; goes on another day" if stint.goes_on else "")
