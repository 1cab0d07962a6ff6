"""A plan told in lines of text, the next open day first: what the command prints."""

from collections.abc import Iterable, Iterator, Sequence
from datetime import date

from sync.plan.access import Blocked
from sync.plan.day import DayList, Stint, day_list
from sync.plan.needs import Batch, Need, batches, needs, robbed
from sync.plan.path import path_in_words, path_to_fit
from sync.plan.plan import Plan
from sync.plan.rank import ranked
from sync.plan.readiness import Ready, readiness
from sync.plan.report import JobLine, held_chains, jobs
from sync.plan.words import clock_words, day_words, hours_words, listed, person_hours

#: So many vehicles have the chain told that sets their day; `--json` has them all.
PATHS_TOLD = 3
GOALS = {
    "started": "what is in hand, or was put first",
    "safe": "made safe",
    "unfit": "fit by the day",
    "ends": "finished early",
}


def plan_told(plan: Plan, day: date | None = None, names: Sequence[str] = ()) -> Iterator[str]:
    """Every answer in its own section; sections with nothing in them are left out."""
    yield from _head(plan)
    if not plan.net.activities and not plan.access.blocked:
        yield "Nothing is open: there is nothing to plan."
        return
    yield from _section("", _day(day_list(plan, day, names)))
    yield from _section("Said against the plan", (f"{one.title}: {one.words}" for one in plan.problem.wishes))
    before = plan.problem.target
    if before:
        rows = readiness(plan, before)
        yield from _section(f"Ready before {day_words(before)}?", map(_ready, rows))
        yield from _section("What sets the day", _paths(plan, rows))
    yield from _section("Jobs, in the order of work", map(_job, jobs(plan)))
    yield from _section("Held", held_chains(plan))
    yield from _section("First, because others wait for it", _risen(plan))
    yield from _section("Cannot be planned yet", (_blocked(plan, one) for one in plan.access.blocked.values()))
    yield from _section("To order, and to have at hand", map(_need, needs(plan)))
    yield from _section(
        "Taken from another vehicle", (f"{one.taken_from}: {one.defect}" for one in robbed(plan.problem))
    )
    yield from _section("In one go", (_batch(plan, batch) for batch in batches(plan.problem)))
    yield from _section("Not planned", plan.problem.remarks)
    yield from _section("How good this plan is", _quality(plan))


def _section(title: str, lines: Iterable[str]) -> Iterator[str]:
    found = list(lines)
    if found:
        yield ""
        if title:
            yield title
        yield from (f"  {line}" if title else line for line in found)


def _head(plan: Plan) -> Iterator[str]:
    problem = plan.problem
    before = problem.target
    yield f"Plan as of {day_words(problem.as_of)}"
    if before is None:
        yield "No display day is ahead, and none was named with --by."
        return
    shown = next((one.name for one in problem.display_days if one.date == before), "the day asked for")
    sessions = [s for s in plan.calendar.within(problem.as_of, before) if s.day < before]
    each = plan.calendar.slots_a_session / 4
    yield f"For {shown} on {day_words(before)}: {len(sessions)} open days until then, of {hours_words(each)} each."


def _day(day: DayList) -> Iterator[str]:
    yield f"{day_words(day.day)}, {hours_words(day.hours)}"
    for person in day.people:
        mine = day.of_person(person)
        yield (
            f"  {person}: {hours_words(day.hours_of(person))}" if mine else f"  {person}: nothing that waits for hands"
        )
        yield from (f"    {_stint(stint, person)}" for stint in mine)


def _stint(stint: Stint, person: str) -> str:
    others = [name for name in stint.people if name != person]
    words = f"{clock_words(stint.begins)}-{clock_words(stint.ends)} {stint.vehicle_name}: {stint.what}"
    words += f", with {listed(others)}" if others else ""
    words += f", using {listed(stint.uses)}" if stint.uses else ""
    words += ", goes on another day" if stint.goes_on else ""
    return f"{words}. {stint.why[0].upper()}{stint.why[1:]}."


def _ready(row: Ready) -> str:
    if row.ready and row.day:
        if not row.open_work:
            return f"{row.name}: fit now"
        sure = "" if row.sure else ", but only if nothing takes its longest"
        return f"{row.name}: ready, {day_words(row.day)}{sure}"
    why = row.in_the_way.words if row.in_the_way else ""
    day = f" (by the plan on {day_words(row.day)})" if row.day else ""
    return f"{row.name}: not ready{day}: {why}"


def _paths(plan: Plan, rows: Sequence[Ready]) -> Iterator[str]:
    told = [row for row in rows if row.day and row.open_work and row.vehicle not in plan.barriers][:PATHS_TOLD]
    for row in told:
        yield f"{row.name}: {path_in_words(path_to_fit(plan, row.vehicle))}"


def _job(job: JobLine) -> str:
    days = day_words(job.first_day) + (f" to {day_words(job.last_day)}" if job.last_day != job.first_day else "")
    words = f"{days}: {job.vehicle_name}, {job.title}: {listed(job.titles) or 'close it'}"
    if job.saved_hours:
        words += f"; saves {person_hours(job.saved_hours)} of access work against doing them apart"
    for offer in job.offers:
        words += f"; while it is open: {offer['title']}, {person_hours(offer['extra_hours'])} more"
    return words + (f"; {job.note}" if job.note else "")


def _risen(plan: Plan) -> Iterator[str]:
    for one in ranked(plan.access):
        if one.risen:
            yield f"{one.rank}. {plan.problem.by_item[one.item].title}: {one.reason}"


def _blocked(plan: Plan, one: Blocked) -> str:
    item = plan.problem.by_item[one.item]
    looked = f"find/{item.id}"
    when = f" ({day_words(plan.first_day(looked))})" if looked in plan.net.by_id else ""
    return f"{item.title}: {one.why}{when}"


def _need(need: Need) -> str:
    counts = ((need.needed, "to order"), (need.ordered, "ordered"), (need.here, "here"))
    states = [f"{count} {what}" for count, what in counts if count]
    words = f"{need.name}: {', '.join(states)}, for {listed(need.vehicles)}"
    words += f", on {listed(need.shelves)}" if need.shelves else ""
    words += f", due {day_words(need.due)}" if need.due else ""
    return words + (f", wanted on {day_words(need.wanted)}" if need.wanted else "")


def _batch(plan: Plan, batch: Batch) -> str:
    names = [plan.problem.by_vehicle[vehicle].name for vehicle in batch.vehicles]
    what = "to send to" if batch.kind == "sent out" else "the same work,"
    return f"{what} {batch.name}: {listed(names)}"


def _quality(plan: Plan) -> Iterator[str]:
    for stage in plan.schedule.stages:
        said = "best possible" if stage.proven else f"at most {stage.gap:.1%} from the best possible"
        yield f"{GOALS[stage.goal]}: {said}"
    if not plan.schedule.repeatable:
        yield "the clock stopped the search on this slow machine: another run may differ"
