"""The critical path as it really came out, told in words: what each piece of work on it had to wait for.

In the plan a piece of work begins when it does because something before it ended, because something awaited comes, or
because people or a resource were busy until then. Followed back from the last piece, that is the chain that sets
the day.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from sync.plan.network import Activity
from sync.plan.plan import Plan
from sync.plan.problem import Item
from sync.plan.words import day_words


@dataclass(frozen=True)
class Leg:
    """One piece of work on the path, and what it waited for: `because` in words."""

    activity: str
    name: str
    first_day: date
    last_day: date
    why: Literal["start", "after", "wait", "people", "resource"]
    because: str


def told(activity: Activity) -> str:
    """What is done, as a line on a list says it."""
    return f"{activity.name}: put back" if activity.doing == "back" else activity.name


def path_of(plan: Plan, activities: Sequence[Activity]) -> tuple[Leg, ...]:
    """The chain that sets the end of the last of some activities, first piece first."""
    if not activities:
        return ()
    last = max(activities, key=lambda a: (plan.end(a.id), plan.start(a.id), a.id))
    legs: list[Leg] = []
    seen: set[str] = set()
    current: Activity | None = last
    while current is not None and current.id not in seen:
        seen.add(current.id)
        leg, current = _leg(plan, current)
        legs.append(leg)
    return tuple(reversed(legs))


def path_to_fit(plan: Plan, vehicle: str) -> tuple[Leg, ...]:
    """The chain that sets the day on which a vehicle is fit."""
    return path_of(plan, [a for a in plan.net.activities if a.vehicle == vehicle and a.bars])


def path_in_words(legs: Sequence[Leg]) -> str:
    """Sat 24 Oct 2026: Deck clear -> ... (until Sat 31 Oct 2026), in one line."""
    return " -> ".join(f"{leg.name} ({leg.because}, {day_words(leg.first_day)})" for leg in legs)


def _leg(plan: Plan, activity: Activity) -> tuple[Leg, Activity | None]:
    start = plan.start(activity.id)
    why, because, before = _reason(plan, activity, start)
    if before is not None and before.vehicle != activity.vehicle:
        before = None
    leg = Leg(activity.id, told(activity), plan.first_day(activity.id), plan.last_day(activity.id), why, because)
    return leg, before


def _reason(
    plan: Plan, activity: Activity, start: int
) -> tuple[Literal["start", "after", "wait", "people", "resource"], str, Activity | None]:
    if start == 0:
        return "start", "at once", None
    for name in sorted(activity.after):
        if plan.end(name) == start:
            return "after", "right after", plan.net.by_id[name]
    if activity.release == start:
        return "wait", f"waits for {_awaited(plan, activity)}", None
    return _busy(plan, activity, start)


def _busy(
    plan: Plan, activity: Activity, start: int
) -> tuple[Literal["start", "people", "resource"], str, Activity | None]:
    """Who or what became free when it began."""
    until = [a for a in plan.net.activities if plan.end(a.id) == start and a.slots and a.id != activity.id]
    same = [a for a in until if set(a.uses) & set(activity.uses)]
    if same:
        first = min(same, key=lambda a: a.id)
        use = min(set(first.uses) & set(activity.uses))
        return "resource", f"{use} busy until then with {told(first)} on {_vehicle(plan, first)}", first
    if until:
        first = min(until, key=lambda a: (a.vehicle != activity.vehicle, -a.people, a.id))
        return "people", f"people busy until then with {told(first)} on {_vehicle(plan, first)}", first
    return "start", "when the workshop next opens", None


def _vehicle(plan: Plan, activity: Activity) -> str:
    return plan.problem.by_vehicle[activity.vehicle].name


def _awaited(plan: Plan, activity: Activity) -> str:
    """The wait that ends when an activity may begin."""
    names = plan.by_bundle[activity.bundle].items if activity.doing == "out" else (activity.about,)
    found: list[Item] = [plan.problem.by_item[name] for name in names if name in plan.problem.by_item]
    for item in found:
        found += [one for one in plan.access.before(item) if one not in found]
    waits = [
        *((wait.due, f"{wait.what}, due {day_words(wait.due)}") for item in found for wait in item.waits if wait.due),
        *(
            (part.due, f"{part.name}, due {day_words(part.due)}")
            for item in found
            for part in item.parts
            if part.due and part.state != "here"
        ),
        *((item.wish.begin, item.wish.words) for item in found if item.wish and item.wish.begin),
    ]
    return max(waits, default=(None, "what is awaited"))[1]
