"""`driptray plan`: order of work, bundles, what can be ready, what three people do next Saturday, and what if."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

import click
from pydantic_core import to_jsonable_python
from rich.console import Console

from sync.commands_common import Day, as_of_option, backlog_option, fleet_option, json_option, serving
from sync.errors import PlanError
from sync.plan.changes import Kept, changes, kept
from sync.plan.cp import Limit, need_solver
from sync.plan.gather import gather
from sync.plan.plan import Plan, make_plan
from sync.plan.problem import Problem
from sync.plan.report import as_json as report
from sync.plan.schedule import EFFORT
from sync.plan.sessions import Calendar
from sync.plan.told import plan_told
from sync.plan.whatif import coming, compared, later, more_helpers, told, without
from sync.plan.words import listed
from sync.printing import print_json, print_line


def _late(ctx: click.Context, param: click.Parameter, values: tuple[str, ...]) -> tuple[tuple[str, int], ...]:
    """WHAT=DAYS each: what is awaited, and how many days later it comes."""
    found = []
    for value in values:
        what, sign, days = value.rpartition("=")
        if not (sign and what.strip() and days.strip().lstrip("-").isdecimal()):
            raise click.BadParameter(f'{value!r}: write it as "clutch plates=7", with whole days', ctx, param)
        found.append((what.strip(), int(days)))
    return tuple(found)


@dataclass(frozen=True)
class Otherwise:
    """What is taken to be otherwise than it is."""

    late: tuple[tuple[str, int], ...] = ()
    helpers: int = 0
    without: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        return bool(self.late or self.helpers or self.without)

    def applied(self, problem: Problem) -> Problem:
        for what, days in self.late:
            problem = later(problem, what, days)
        for item in self.without:
            problem = without(problem, item)
        return more_helpers(problem, self.helpers) if self.helpers else problem


@click.command()
@fleet_option(required=False)
@backlog_option
@click.option("--by", type=Day(), default=None, metavar="DATE", help="The day to be ready for (next display day).")
@click.option("--day", type=Day(), default=None, metavar="DATE", help="The open day whose list is wanted (the next).")
@click.option("--people", default="", metavar="INITIALS", help="Who comes on that day, as MF,TA,OG.")
@click.option("--late", callback=_late, multiple=True, metavar="WHAT=DAYS", help="What if what is awaited comes later.")
@click.option("--helpers", type=int, default=0, metavar="N", help="What if N more people help, every week.")
@click.option("--without", multiple=True, metavar="DEFECT", help="What if that were done already.")
@click.option("--since", type=click.Path(path_type=Path, dir_okay=False), default=None, metavar="FILE",
              help="An earlier plan, as --json wrote it: say what changed and why.")  # fmt: skip
@click.option("--effort", type=click.FloatRange(0.05, 600), default=EFFORT.effort, show_default=True, metavar="SECONDS",
              help="How long to search, in the solver's own seconds: the same search on any machine.")  # fmt: skip
@as_of_option
@json_option
def plan(  # noqa: PLR0913, PLR0917 - an argument for each option
    fleet: Path | None, backlog_path: Path, by: date | None, day: date | None, people: str,
    late: tuple[tuple[str, int], ...], helpers: int, without: tuple[str, ...], since: Path | None,
    effort: float, as_of: date, as_json: bool,
) -> None:  # fmt: skip
    """What to do first, what blocks what, and what can be ready."""
    need_solver()
    names = tuple(name.strip() for name in people.split(",") if name.strip())
    earlier = _earlier(since) if since else None
    problem = _problem(fleet, backlog_path, as_of, by)
    otherwise = Otherwise(late, helpers, without)
    with Console(stderr=True).status("Planning ..."):
        asked = _coming(problem, day, names)
        limit = Limit(effort)
        found = make_plan(otherwise.applied(asked), limit)
        usual = make_plan(asked, limit) if otherwise else None
    if as_json:
        print_json(_json(found, usual, earlier, day, names))
        return
    before = found.problem.target
    for line in plan_told(found, day, names):
        print_line(line)
    if usual is not None and before is not None:
        print_section("What that would change", told(compared(usual, found, before)))
    if earlier is not None:
        print_section("Changed since the earlier plan", [c.words for c in changes(earlier, kept(found))] or ["nothing"])


def print_section(title: str, lines: Sequence[str]) -> None:
    """A headed list."""
    for line in ("", title, *(f"  {line}" for line in lines)):
        print_line(line)


def _problem(fleet: Path | None, backlog_path: Path, as_of: date, by: date | None) -> Problem:
    with serving(backlog_path, fleet) as service:
        store = service.store
        return gather(store.edition(), store.state(), as_of, store.runs(), by)


def _coming(problem: Problem, day: date | None, names: Sequence[str]) -> Problem:
    """Who comes is counted on that day; raises PlanError where a name is not known."""
    known = {person.initials for person in problem.people}
    if strangers := [name for name in names if name not in known]:
        raise PlanError(f"{strangers[0]} is none of the fleet's people: {listed(sorted(known)) or 'it names none'}")
    if not names:
        return problem
    first = day or Calendar(problem.workshop, problem.as_of).session_at(0).day
    return coming(problem, first, len(set(names)))


def _earlier(path: Path) -> Kept:
    try:
        return Kept.model_validate(json.loads(path.read_bytes())["kept"])
    except OSError as error:
        raise PlanError(f"{path}: it cannot be read: {error.strerror or error}") from error
    except (ValueError, KeyError, TypeError) as error:
        raise PlanError(f"{path}: it holds no plan; write one with driptray plan --json") from error


def _json(
    found: Plan, usual: Plan | None, earlier: Kept | None, day: date | None, names: Sequence[str]
) -> dict[str, Any]:
    before = found.problem.target
    body = report(found, before, day, names)
    if usual is not None and before is not None:
        body["what_if"] = to_jsonable_python([{**vars(s), "words": s.words} for s in compared(usual, found, before)])
    if earlier is not None:
        body["changes"] = to_jsonable_python([{**vars(c), "words": c.words} for c in changes(earlier, kept(found))])
    return body
