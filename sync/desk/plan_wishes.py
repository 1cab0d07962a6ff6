"""What people want of the plan, line by line: first, on a day, not on this day, by whom, left out; and taken back."""

from datetime import date, timedelta
from typing import Literal

from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sync.desk.asked import Asked, filled, ruling
from sync.desk.page import posted
from sync.errors import DeskError
from sync.plan.gather import gather
from sync.plan.problem import Problem, Wish
from sync.plan.sessions import Calendar
from sync.plan.words import day_words

Order = Literal["first", "on", "not before", "left out"]
#: The buttons: the order each writes; "who" leaves the order as it was, "back" takes all of it back.
WAYS: dict[str, Order | None] = {
    "first": "first", "on": "on", "not now": "not before", "left out": "left out", "who": None, "back": None,
}  # fmt: skip


@posted
def wish(request: Request, form: FormData) -> Response:
    """One line of the plan wanted otherwise: a ruling about each piece of work in it, or about its vehicle."""
    asked = Asked.of(request, form)
    how = asked.text("how", "How it is wanted")
    if how not in WAYS:
        raise DeskError(f"{how!r} is no way to want it; choose one of {', '.join(WAYS)}")
    store = asked.desk.store
    problem = gather(store.edition(), store.state(), asked.today, store.runs())
    known = {item.about: item.vehicle for item in problem.items}
    known |= {one.about: one.about.partition("/")[0] for one in problem.wishes if one.about not in known}
    known |= {vehicle.id: vehicle.id for vehicle in problem.vehicles}
    chosen = [asked.text("vehicle", "The vehicle")] if asked.ticked("whole") else asked.every("about")
    about = [name for name in chosen if name in known]
    if not about:
        raise DeskError("what this line was about is not open any more; open the page again")
    before = {one.about: one for one in problem.wishes}
    said = None if how == "back" else _wanted(asked, how, problem)
    asked.write(*(ruling(name, known[name], plan=_with(said, before.get(name))) for name in about))
    return asked.back("/plan", "Taken back: the plan decides again." if said is None else f"Written. {said.words}.")


def _wanted(asked: Asked, how: str, problem: Problem) -> Wish:
    """What the form wants. Raises DeskError where it names no day or nobody."""
    who = tuple(dict.fromkeys(asked.every("who")))
    if how == "who" and not who:
        raise DeskError("nobody is ticked; tick who shall do it")
    if strangers := [name for name in who if name not in asked.edition.by_initials]:
        raise DeskError(f"{strangers[0]} is none of the fleet's people")
    day = _day(asked, how, problem)
    return Wish(order=WAYS[how], day=day, who=who if how == "who" else (), reason=asked.text("reason"), by=asked.by)


def _day(asked: Asked, how: str, problem: Problem) -> date | None:
    calendar = Calendar(problem.workshop, problem.as_of)
    if how == "on":
        day = asked.day("day", "The day")
        if day is None or not calendar.within(day, day):
            said = day_words(day) if day else "that day"
            near = calendar.session_at(calendar.slot_on(max(day or asked.today, asked.today))).day
            raise DeskError(f"the workshop is not open on {said}; the next open day is {day_words(near)}")
        return day
    if how == "not now":
        shown = max(asked.day("shown") or asked.today, asked.today)
        return calendar.session_at(calendar.slot_on(shown + timedelta(days=1))).day
    return None


def _with(said: Wish | None, before: Wish | None) -> dict[str, object] | None:
    """As an entry has it: who was named stays when the order is changed, and the other way round."""
    if said is None:
        return None
    order, day = (said.order, said.day) if said.order else (before.order, before.day) if before else (None, None)
    who = said.who or (before.who if before else ())
    whole = {"order": order, "day": day.isoformat() if day else "", "who": list(who) or "", "reason": said.reason}
    return filled(whole)


ROUTES = [Route("/plan/wish", wish, methods=["POST"])]
