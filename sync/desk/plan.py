"""Plan: what to do on the next open day and why, what can be ready, the order of work; each line can be disputed."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from starlette.datastructures import FormData, QueryParams
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sync.desk import plan_wishes
from sync.desk.asked import Asked
from sync.desk.page import Desk, desk_of, posted, render
from sync.desk.plan_chart import drawn
from sync.desk.robbing import all_taken
from sync.errors import DeskError, PlanError
from sync.plan.changes import Change, Kept, changes, kept
from sync.plan.cp import Limit
from sync.plan.day import day_list
from sync.plan.gather import gather
from sync.plan.needs import batches, needs, robbed
from sync.plan.path import path_in_words, path_to_fit
from sync.plan.plan import Plan, plan_of
from sync.plan.problem import Problem
from sync.plan.rank import ranked
from sync.plan.readiness import readiness
from sync.plan.report import held_chains, jobs
from sync.plan.schedule import EFFORT, QUICK
from sync.plan.sessions import Calendar
from sync.plan.timeline import timeline
from sync.plan.whatif import Shift, coming, compared, later, more_helpers
from sync.plan.words import day_words
from sync.service import Draft

#: A page is waited for: a short search, and a longer one where it is asked for. In the solver's own seconds.
EFFORTS = {"": QUICK.effort, "longer": EFFORT.effort}
#: How a bundle is taken: as the job's state.
WAYS = {
    "one": ("open", "One job it is"),
    "apart": ("apart", "They are done apart"),
    "left open": ("left open", "One job it is, and it may stand open while something waits"),
    "given up": ("given up", "The plan decides again"),
}


@dataclass(frozen=True)
class Wish:
    """What the address asks for."""

    by: date | None = None
    day: date | None = None
    people: tuple[str, ...] = ()
    helpers: int = 0
    late: tuple[str, int] | None = None
    search: str = ""

    @property
    def otherwise(self) -> bool:
        return bool(self.helpers or self.late)


def wish_of(given: QueryParams) -> Wish:
    """Raises DeskError where something in it is no day or no number."""
    what, days = given.get("late", "").strip(), _whole(given.get("days", ""))
    return Wish(
        by=_day(given.get("by", "")),
        day=_day(given.get("day", "")),
        people=tuple(dict.fromkeys(given.getlist("people"))),
        helpers=_whole(given.get("helpers", "")),
        late=(what, days) if what and days else None,
        search=given.get("search", "") if given.get("search", "") in EFFORTS else "",
    )


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text.strip()) if text.strip() else None
    except ValueError as error:
        raise DeskError(f"{text!r} is no day; write it as 2026-10-18") from error


def _whole(text: str) -> int:
    try:
        return int(text) if text.strip() else 0
    except ValueError as error:
        raise DeskError(f"{text!r} is no whole number") from error


@dataclass
class Memory:
    """The plan of this desk that was shown last, to tell what changed."""

    shown: tuple[str, Kept] | None = None
    before: Kept | None = None

    @classmethod
    def of(cls, request: Request) -> "Memory":
        state = request.app.state
        if not hasattr(state, "plans"):
            state.plans = cls()
        memory: Memory = state.plans
        return memory

    def changed(self, token: str, plan: Plan) -> tuple[Change, ...]:
        """What changed since the plan as it was shown before anything was written or taken in."""
        now = kept(plan)
        if self.shown is not None and self.shown[0] != token:
            self.before = self.shown[1]
        self.shown = (token, now)
        return changes(self.before, now) if self.before is not None else ()


def show(request: Request) -> Response:
    desk, wish = desk_of(request), wish_of(request.query_params)
    usual, plan, token = _plans(desk, wish)
    before = plan.problem.target
    rows = readiness(plan, before) if before else ()
    plain = wish == Wish(search=wish.search)
    return render(
        request,
        "plan.html",
        {
            "wish": wish,
            "before": before,
            "shown_day": next((d.name for d in plan.problem.display_days if d.date == before), ""),
            "list": day_list(plan, wish.day, wish.people),
            "ready": rows,
            "paths": {r.vehicle: path_in_words(path_to_fit(plan, r.vehicle)) for r in rows if r.day and r.open_work},
            "drawing": drawn(timeline(plan)),
            "jobs": jobs(plan),
            "abouts": {b.id: [plan.problem.by_item[name].about for name in b.items] for b in plan.bundles},
            "items": plan.problem.by_item,
            "tasks": plan.problem.by_task,
            "made": {job.id: job for job in plan.problem.jobs},
            "held": held_chains(plan),
            "risen": [row for row in ranked(plan.access) if row.risen],
            "blocked": list(plan.access.blocked.values()),
            "needs": needs(plan),
            "taken": all_taken(desk, robbed(plan.problem)),
            "wishes": plan.problem.wishes,
            "all_people": [person.initials for person in plan.problem.people],
            "batches": batches(plan.problem),
            "names": {vehicle.id: vehicle.name for vehicle in plan.problem.vehicles},
            "stages": plan.schedule.stages,
            "remarks": plan.problem.remarks,
            "awaited": _awaited(plan.problem),
            "shifts": _shifts(usual, plan, before),
            "changes": Memory.of(request).changed(token, plan) if plain else (),
            "said_day": day_words,
        },
    )


def _plans(desk: Desk, wish: Wish) -> tuple[Plan | None, Plan, str]:
    """The plan as things are, where the wish takes something otherwise; the plan asked for; what it was made from."""
    token, today = desk.service.token(), desk.today()
    with desk.store.reading():
        problem = gather(desk.store.edition(), desk.store.state(), today, desk.store.runs(), wish.by)
    problem = _with_people(problem, wish)
    limit = Limit(EFFORTS[wish.search])
    usual = plan_of(problem, limit)
    if not wish.otherwise:
        return None, usual, token
    changed = more_helpers(problem, wish.helpers) if wish.helpers else problem
    changed = later(changed, *wish.late) if wish.late else changed
    return usual, plan_of(changed, limit), token


def _with_people(problem: Problem, wish: Wish) -> Problem:
    known = {person.initials for person in problem.people}
    if strangers := [name for name in wish.people if name not in known]:
        raise PlanError(f"{strangers[0]} is none of the fleet's people")
    if not wish.people:
        return problem
    day = wish.day or Calendar(problem.workshop, problem.as_of).session_at(0).day
    return coming(problem, day, len(wish.people))


def _awaited(problem: Problem) -> list[str]:
    waits = {wait.what for item in problem.work for wait in item.waits if wait.due}
    parts = {part.name for item in problem.work for part in item.parts if part.due and part.state != "here"}
    return sorted(waits | parts)


def _shifts(usual: Plan | None, plan: Plan, before: date | None) -> Sequence[Shift] | None:
    return compared(usual, plan, before) if usual is not None and before is not None else None


@posted
def take_job(request: Request, form: FormData) -> Response:
    """A bundle taken, trimmed, parted or given back to the plan: a job entry."""
    asked = Asked.of(request, form)
    how, view = asked.text("how", "How it is taken"), asked.view(asked.text("vehicle", "The vehicle"))
    if how not in WAYS:
        raise DeskError(f"{how!r} is no way to take a job; choose one of {', '.join(WAYS)}")
    defects = asked.every("defects")
    if not defects:
        raise DeskError("tick at least one defect of the job")
    state, said = WAYS[how]
    opening = {defect.code: defect.opening for defect in asked.desk.store.defects(view.id)}
    if lost := [code for code in defects if code not in opening]:
        raise DeskError(f"{lost[0]} is not open on {view.name} any more; open the page again")
    title = asked.line("title", "What the job is called")
    fields = {
        "job": asked.text("job") or f"job-{defects[0]}",
        "title": title,
        "vehicle": view.id,
        "defects": [opening[code] for code in defects],
        "tasks": asked.every("tasks"),
        "state": state,
    }
    asked.write(Draft("job", fields))
    return asked.back("/plan", f"{said}: {title}, with {', '.join(defects)}.")


ROUTES = [Route("/plan", show), Route("/plan/job", take_job, methods=["POST"]), *plan_wishes.ROUTES]
