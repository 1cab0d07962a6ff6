"""What can be ready before a day and what cannot, and the one thing in the way with how much is lacking."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from sync.plan.critical import Leg, critical_path, critical_times
from sync.plan.goal import fit_vehicles
from sync.plan.greedy import Capacity, Starts, by_start, serial
from sync.plan.network import Activity, Network, legs_of
from sync.plan.plan import Plan
from sync.plan.problem import GRAVITY, Item
from sync.plan.sessions import hours_of
from sync.plan.words import day_words, hours_words


@dataclass(frozen=True)
class InTheWay:
    """The one thing that keeps a vehicle from being ready: of what kind, in words, and what is lacking.

    `kind`: a kind of wait ("part", "sent out", "person", "owner"), "held by", "work", "hours", or a barrier's kind.
    `days` is how many days late, `hours` how many person-hours short, `needed_by` when what is awaited had to come.
    """

    kind: str
    words: str
    item: str = ""
    days: int | None = None
    hours: float | None = None
    needed_by: date | None = None


@dataclass(frozen=True)
class Ready:
    """One vehicle's prospects before a day.

    `day` is when it is fit by the plan, None where it cannot be planned; `slow_day` is when, if everything takes as
    long as it may. `spare` are the workshop's hours left between.
    """

    vehicle: str
    name: str
    weight: float
    before: date
    ready: bool
    day: date | None
    slow_day: date | None
    spare: float | None
    in_the_way: InTheWay | None
    open_work: int

    @property
    def sure(self) -> bool:
        """Ready even if everything takes as long as it may."""
        return self.ready and self.slow_day is not None and self.slow_day < self.before


def readiness(plan: Plan, before: date) -> tuple[Ready, ...]:
    """Every vehicle's prospects, the most wanted first."""
    deadline = plan.calendar.slot_on(before)
    fit = fit_vehicles(plan.net, plan.schedule.starts, plan.goal, deadline)
    slow_net, slow = _slow(plan)
    rows = [_row(plan, vehicle, before, vehicle in fit, (slow_net, slow)) for vehicle in plan.goal.vehicles]
    return tuple(sorted(rows, key=lambda row: (-row.weight, row.name)))


def _row(plan: Plan, vehicle: str, before: date, fit: bool, slow: tuple[Network, Starts]) -> Ready:
    known = plan.problem.by_vehicle[vehicle]
    barred = vehicle in plan.barriers
    deadline = plan.calendar.slot_on(before)
    end = None if barred else fit_from(plan.net, plan.schedule.starts, vehicle)
    slow_end = None if barred else fit_from(*slow, vehicle)
    return Ready(
        vehicle=vehicle,
        name=known.name,
        weight=known.display_weight,
        before=before,
        ready=fit,
        day=_day(plan, end),
        slow_day=_day(plan, slow_end),
        spare=hours_of(deadline - end) if fit and end is not None else None,
        in_the_way=None if fit else in_the_way(plan, vehicle, before),
        open_work=sum(item.bars for item in plan.problem.items_of[vehicle]),
    )


def _day(plan: Plan, end: int | None) -> date | None:
    """The day on which work ends; where nothing is to be done, today."""
    if end is None:
        return None
    return plan.calendar.ends(end) if end else plan.problem.as_of


def fit_from(net: Network, starts: Starts, vehicle: str) -> int:
    """The slot from which a vehicle is fit: what bars it done, and no step of it open then."""
    mine = [activity for activity in net.activities if activity.vehicle == vehicle]
    at = max((starts[a.id] + a.slots for a in mine if a.bars), default=0)
    spans = sorted(
        (starts[one.out] if one.out else -1, starts[one.back] + net.by_id[one.back].slots)
        for one in net.opened
        if one.vehicle == vehicle
    )
    for begin, end in spans:
        if begin < at < end:
            at = end
    return at


def _slow(plan: Plan) -> tuple[Network, Starts]:
    """The same order of work with everything taking as long as it may."""
    session = plan.calendar.slots_a_session
    slow = tuple(replace(a, slots=a.longest, whole=a.whole and a.longest <= session) for a in plan.net.activities)
    net = Network(slow, plan.net.opened)
    capacity = Capacity(plan.calendar, plan.problem.resources)
    return net, serial(net, [net.by_id[a.id] for a in by_start(plan.net, plan.schedule.starts)], capacity)


def in_the_way(plan: Plan, vehicle: str, before: date) -> InTheWay:
    """The one thing: what cannot be planned; else what the longest chain hangs on; else hours that other work has."""
    if vehicle in plan.barriers:
        first = plan.barriers[vehicle][0]
        return InTheWay(first.kind, first.words, first.item)
    deadline = plan.calendar.slot_on(before)
    work = _barring(plan, vehicle)
    legs = {a.id: Leg(a.slots, a.after, a.release) for a in work}
    over = max((times.earliest_end for times in critical_times(legs).values()), default=0) - deadline
    if over > 0:
        return _on_the_chain(plan, work, over, before)
    return _no_room(plan, vehicle, work, before)


def _barring(plan: Plan, vehicle: str) -> tuple[Activity, ...]:
    return plan.net.ahead_of(a.id for a in plan.net.activities if a.vehicle == vehicle and a.bars)


def _on_the_chain(plan: Plan, work: Sequence[Activity], over: int, before: date) -> InTheWay:
    """Too late even with no other work: something comes too late, a defect holds the rest, or it is too long."""
    part = plan.net.only(a.id for a in work)
    path = [part.by_id[name] for name in critical_path(legs_of(part))]
    end = path[-1].release + sum(a.slots for a in path) if path[0].release else sum(a.slots for a in path)
    day = plan.calendar.ends(end)
    days = max((day - before).days + 1, 1)
    if path[0].release:
        return _late_wait(plan, path[0], over, days)
    holder = next((a for a in path if a.doing == "work" and plan.problem.by_item[a.about].holds), None)
    hours = hours_of(sum(a.person_slots for a in path))
    if holder is not None and holder is not path[-1]:
        words = f"{holder.name} holds the rest, and what follows takes until {day_words(day)}"
        return InTheWay("held by", words, holder.about, days, hours_of(over))
    names = ", ".join(dict.fromkeys(a.name for a in path))
    words = f"one after the other, {names} take until {day_words(day)}"
    return InTheWay("work", words, path[-1].about, days, hours)


def _late_wait(plan: Plan, first: Activity, over: int, days: int) -> InTheWay:
    """What is awaited, how late it makes the vehicle, and by when it had to be here."""
    item = _waiting(plan, first)
    if item.wish is not None and item.wish.begin is not None and item.wish.begin == item.ready_from:
        return InTheWay("wish", f"{item.title}: {item.wish.words}: makes it {days} days late", item.id, days)
    wait = max((w for w in item.waits if w.due), key=lambda w: w.due or date.min, default=None)
    part = max((p for p in item.parts if p.due and p.state != "here"), key=lambda p: p.due or date.min, default=None)
    if wait is None or (part is not None and (part.due or date.min) > (wait.due or date.min)):
        kind, what, due = "part", part.name if part else item.title, part.due if part else None
    else:
        kind, what, due = wait.kind, wait.what, wait.due
    latest = first.release - over
    needed = plan.calendar.starts(latest) if latest >= 0 else None
    words = f"{what} for {item.title}, due {day_words(due) if due else 'on no known day'}, makes it {days} days late"
    words += f"; it had to be here by {day_words(needed)}" if needed else "; even here today it would be too late"
    return InTheWay(kind, words, item.id, days, None, needed)


def _waiting(plan: Plan, first: Activity) -> Item:
    """The item whose wait sets an activity's release: its own, that of what holds it, or of its bundle's items."""
    if first.doing in ("work", "find out"):
        candidates = [plan.problem.by_item[first.about]]
    else:
        candidates = [plan.problem.by_item[name] for name in plan.by_bundle[first.bundle].items]
    seen = {item.id for item in candidates}
    for item in candidates:
        more = [one for one in plan.access.before(item) if one.id not in seen]
        seen |= {one.id for one in more}
        candidates += more
    return max(candidates, key=lambda item: (item.ready_from or date.min, -GRAVITY[item.severity], item.id))


def _no_room(plan: Plan, vehicle: str, work: Sequence[Activity], before: date) -> InTheWay:
    """There would be time, but not people enough: for this vehicle alone, or because other work comes first."""
    deadline = plan.calendar.slot_on(before)
    starts = plan.schedule.starts
    left = sum(max(0, min(a.slots, starts[a.id] + a.slots - deadline)) * a.people for a in work)
    alone = plan.net.only(a.id for a in work).sequenced({})
    capacity = Capacity(plan.calendar, plan.problem.resources)
    by_itself = serial(alone, alone.activities, capacity)
    short = hours_of(left)
    if max((by_itself[a.id] + a.slots for a in alone.activities), default=0) > deadline:
        words = f"its own work is more than the workshop can do in time: {hours_words(short)} of people's time short"
    elif not left:
        words = "it stands open for other work on the day"
    else:
        words = f"{hours_words(short)} of people's time short: other work comes first"
    end = fit_from(plan.net, starts, vehicle)
    days = (plan.calendar.ends(end) - (before - timedelta(days=1))).days
    return InTheWay("hours", words, "", max(days, 1), short)
