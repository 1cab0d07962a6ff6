"""A whole plan as plain data for `--json`: every answer under a name of its own, days as ISO dates."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Any

from pydantic_core import to_jsonable_python

from sync.plan.access import in_words
from sync.plan.bundles import Bundle
from sync.plan.changes import kept
from sync.plan.day import DayList, day_list, why_now
from sync.plan.needs import batches, needs, robbed
from sync.plan.path import path_to_fit, told
from sync.plan.plan import Plan
from sync.plan.rank import ranked
from sync.plan.readiness import Ready, readiness
from sync.plan.sessions import hours_of

#: What each goal's number is, for those who read the JSON.
UNITS = {
    "started": "sum of quarter hours until what is in hand, or was put first, goes on",
    "safe": "sum over vehicles of quarter hours until the last dangerous defect is mended",
    "unfit": "tenths of display weight not fit before the day",
    "ends": "sum over vehicles of quarter hours until all is done, and that each job stands open, times tenths of 1 + "
    "display weight",
}


@dataclass(frozen=True)
class JobLine:
    """One bundle as a job: its items and steps in the order of work, its days, and what doing it at once saves."""

    job: str
    title: str
    vehicle: str
    vehicle_name: str
    accepted: bool
    items: tuple[str, ...]
    titles: tuple[str, ...]
    steps: tuple[str, ...]
    tasks: tuple[str, ...]
    first_day: date
    last_day: date
    access_hours: float
    saved_hours: float
    people: int
    uses: tuple[str, ...]
    offers: tuple[dict[str, Any], ...]
    note: str


def jobs(plan: Plan) -> tuple[JobLine, ...]:
    """The bundles in the order in which they begin."""
    lines = [_job(plan, bundle) for bundle in plan.bundles]
    return tuple(sorted(lines, key=lambda line: (line.first_day, line.last_day, line.job)))


def _job(plan: Plan, bundle: Bundle) -> JobLine:
    vehicle = plan.problem.by_vehicle[bundle.vehicle]
    mine = [a for a in plan.in_order if a.bundle == bundle.id]
    tasks = [plan.problem.by_task[name] for name in bundle.offers]
    return JobLine(
        job=bundle.id,
        title=bundle.title,
        vehicle=vehicle.id,
        vehicle_name=vehicle.name,
        accepted=bundle.accepted,
        items=bundle.items,
        titles=tuple(plan.problem.by_item[name].title for name in bundle.items),
        steps=tuple(vehicle.by_step[step].name for step in bundle.steps),
        tasks=bundle.tasks,
        first_day=min(plan.first_day(a.id) for a in mine),
        last_day=max(plan.last_day(a.id) for a in mine),
        access_hours=hours_of(bundle.access),
        saved_hours=hours_of(bundle.saved),
        people=max(a.people for a in mine),
        uses=tuple(sorted({use for a in mine for use in a.uses})),
        offers=tuple({"task": t.id, "title": t.title, "extra_hours": t.hours * t.people} for t in tasks),
        note=bundle.note,
    )


def held_chains(plan: Plan) -> list[str]:
    """The chains, in words, of all work that something holds."""
    found = (plan.access.chains(item) for item in plan.problem.work)
    return [in_words(chain) for chains in found for chain in chains if any(link.kind == "held by" for link in chain)]


def order(plan: Plan) -> Iterator[dict[str, Any]]:
    """Every piece of work in the order in which it begins."""
    for number, activity in enumerate(plan.in_order, start=1):
        yield {
            "order": number,
            "activity": activity.id,
            "vehicle": activity.vehicle,
            "job": activity.bundle,
            "doing": activity.doing,
            "what": told(activity),
            "hours": hours_of(activity.slots),
            "people": activity.people,
            "uses": list(activity.uses),
            "first_day": plan.first_day(activity.id),
            "last_day": plan.last_day(activity.id),
            "why": why_now(plan, activity),
        }


def as_json(plan: Plan, before: date | None, day: date | None = None, names: Sequence[str] = ()) -> dict[str, Any]:
    """Everything a plan answers, ready for JSON; `before` is the day to be ready for, `names` who comes on `day`
    (the next open day where none is given)."""
    rows = readiness(plan, before) if before else ()
    body = {
        "as_of": plan.problem.as_of,
        "before": before,
        "goals": [_goal(plan, number) for number in range(len(plan.schedule.stages))],
        "repeatable": plan.schedule.repeatable,
        "openings_proven": all(one.proven for one in plan.openings),
        "ready": [_ready(plan, row) for row in rows],
        "next_day": _day(day_list(plan, day, names)),
        "jobs": jobs(plan),
        "order": list(order(plan)),
        "held": held_chains(plan),
        "cannot_be_planned": list(plan.access.blocked.values()),
        "ranked": ranked(plan.access),
        "needs": needs(plan),
        "taken_from_others": [{**vars(one), "defect": one.defect} for one in robbed(plan.problem)],
        "batches": batches(plan.problem),
        "remarks": plan.problem.remarks,
        "said_against": [{**vars(one), "words": one.words} for one in plan.problem.wishes],
        "kept": kept(plan),
    }
    plain: dict[str, Any] = to_jsonable_python(body)
    return plain


def _goal(plan: Plan, number: int) -> dict[str, Any]:
    stage = plan.schedule.stages[number]
    return {
        "goal": stage.goal,
        "unit": UNITS[stage.goal],
        "value": stage.value,
        "bound": stage.bound,
        "gap": round(stage.gap, 6),
        "proven": stage.proven,
        "stopped_by_clock": stage.by_clock,
    }


def _ready(plan: Plan, row: Ready) -> dict[str, Any]:
    path = () if row.vehicle in plan.barriers else path_to_fit(plan, row.vehicle)
    return {**vars(row), "sure": row.sure, "path": path}


def _day(day: DayList) -> dict[str, Any]:
    hours = {person: day.hours_of(person) for person in day.people}
    return {"day": day.day, "open_hours": day.hours, "people": hours, "stints": day.stints}
