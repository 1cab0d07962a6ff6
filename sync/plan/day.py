"""What to do on one open day: the plan's work of that session by person and vehicle, within its hours, and why."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from sync.errors import PlanError
from sync.plan.hands import Turn, handed_out, hands_of
from sync.plan.network import Activity
from sync.plan.path import told
from sync.plan.plan import Plan
from sync.plan.problem import Item
from sync.plan.sessions import Session, hours_of
from sync.plan.words import day_words


@dataclass(frozen=True)
class Stint:
    """One piece of work of a day: from and to in hours after the workshop opens, by whom, and why now.

    `item` is the item it works on, empty for a step that comes out or goes back. `short` is `what` in few words,
    `about` what a ruling about it would name: the item, or all items that share the step.
    `begun_before` and `goes_on` say that it reaches over into other days.
    """

    activity: str
    item: str
    vehicle: str
    vehicle_name: str
    bundle: str
    what: str
    begins: float
    ends: float
    people: tuple[str, ...]
    uses: tuple[str, ...]
    why: str
    begun_before: bool
    goes_on: bool
    short: str = ""
    about: tuple[str, ...] = ()


@dataclass(frozen=True)
class DayList:
    """The work of one open day; `hours` is how long it is open, `people` who are counted on."""

    day: date
    hours: float
    people: tuple[str, ...]
    stints: tuple[Stint, ...]

    def of_person(self, person: str) -> tuple[Stint, ...]:
        return tuple(stint for stint in self.stints if person in stint.people)

    def hours_of(self, person: str) -> float:
        return sum(stint.ends - stint.begins for stint in self.of_person(person))


def day_list(plan: Plan, day: date | None = None, names: Sequence[str] = ()) -> DayList:
    """The list for an open day (the next one where none is given), for `names` or the workshop's own people.

    Raises PlanError where the workshop is not open on that day.
    """
    session = _session(plan, day)
    pieces = [a for a in plan.in_order if plan.start(a.id) < session.end and plan.end(a.id) > session.first]
    hands = hands_of(plan, session, names, pieces)
    stints = tuple(_stint(plan, session, turn) for turn in handed_out(plan, session, pieces, hands))
    return DayList(session.day, hours_of(session.slots), tuple(hand.name for hand in hands), stints)


def _session(plan: Plan, day: date | None) -> Session:
    if day is None:
        return plan.calendar.session_at(0)
    found = plan.calendar.within(day, day)
    if not found:
        raise PlanError(f"the workshop is not open on {day_words(day)}: choose one of its open days, from today on")
    return found[0]


def _stint(plan: Plan, session: Session, turn: Turn) -> Stint:
    piece = turn.piece
    item = plan.problem.by_item.get(piece.about)
    return Stint(
        activity=piece.id,
        item=item.id if item else "",
        vehicle=piece.vehicle,
        vehicle_name=plan.problem.by_vehicle[piece.vehicle].name,
        bundle=piece.bundle,
        what=told(piece),
        begins=hours_of(turn.start - session.first),
        ends=hours_of(turn.end - session.first),
        people=tuple(sorted(hand.name for hand in turn.hands)),
        uses=piece.uses,
        why=why_now(plan, piece),
        begun_before=plan.start(piece.id) < session.first,
        goes_on=plan.end(piece.id) > session.end,
        short=_short(piece, item),
        about=_about(plan, piece, item),
    )


def _short(piece: Activity, item: Item | None) -> str:
    if item is None:
        return told(piece)
    return f"Find out: {item.said}" if piece.doing == "find out" else item.said


def _about(plan: Plan, piece: Activity, item: Item | None) -> tuple[str, ...]:
    if item is not None:
        return (item.about,)
    return tuple(plan.problem.by_item[name].about for name in plan.by_bundle[piece.bundle].items)


def why_now(plan: Plan, piece: Activity) -> str:
    """Why a piece of work is where it is in the plan, in a few words."""
    if asked := _asked(plan, piece):
        return asked
    if piece.started:
        return "in hand already"
    if piece.dangerous:
        return "dangerous: to make safe"
    behind = _follows(plan, piece)
    return _clears_the_way(plan, behind) or _why_else(plan, piece, behind)


def _clears_the_way(plan: Plan, behind: Sequence[Activity]) -> str:
    """To what was put first, or to what is dangerous, behind it."""
    first = next((item for a in behind if (item := plan.problem.by_item.get(a.about)) and item.first), None)
    if first is not None and first.wish is not None:
        return f"clears the way to {first.said} ({first.wish.words})"
    grave = next((a for a in behind if a.dangerous), None)
    return f"clears the way to {plan.problem.by_item[grave.about].said} (dangerous)" if grave else ""


def _asked(plan: Plan, piece: Activity) -> str:
    """What somebody asked of a piece of work, and where that cannot be, why it comes later all the same."""
    item = plan.problem.by_item.get(piece.about) if piece.doing in ("work", "find out") else None
    wish = item.wish if item else None
    if wish is None or (wish.order == "not before" and plan.first_day(piece.id) != wish.day):
        return ""
    if wish.order == "on" and wish.day and plan.first_day(piece.id) > wish.day:
        return f"{wish.words}; not sooner, for what must come before it"
    return wish.words


def _why_else(plan: Plan, piece: Activity, behind: Sequence[Activity]) -> str:
    if piece.vehicle in plan.fit and any(a.bars for a in (piece, *behind)) and plan.problem.target:
        return f"to be fit by {day_words(plan.problem.target)}"
    if piece.doing == "find out":
        return "nothing can be planned before this is known"
    work = next((a for a in behind if a.doing == "work"), None)
    return f"clears the way to {plan.problem.by_item[work.about].said}" if work else "to finish early"


def _follows(plan: Plan, piece: Activity) -> list[Activity]:
    """All that waits for a piece of work, the soonest first."""
    ahead = {piece.id}
    found = []
    for activity in plan.in_order:
        if activity.id not in ahead and ahead & set(activity.after):
            ahead.add(activity.id)
            found.append(activity)
    return found
