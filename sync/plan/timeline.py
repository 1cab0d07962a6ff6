"""The plan drawn: a time line a vehicle, as lengths and places for a template to draw; no drawing here.

Places along the line are shares of its width, 0 today and 1 at the end. Days are places too: a bar reaches from the
beginning of its first day to the end of its last.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from typing import Literal

from sync.plan.path import told
from sync.plan.plan import Plan
from sync.plan.problem import Item
from sync.plan.words import day_words

Look = Literal["out", "work", "task", "back", "find out", "wait", "held", "open"]
WEEKS_LEAST = 4
WEEKS_MOST = 26


@dataclass(frozen=True)
class Bar:
    """One bar: its look, its label, where it begins and how long it is, and on which lane of its vehicle it lies."""

    look: Look
    label: str
    first_day: date
    last_day: date
    left: float
    width: float
    lane: int
    dangerous: bool = False


@dataclass(frozen=True)
class Row:
    """One vehicle's line, with its bars on as many lanes as they need."""

    vehicle: str
    name: str
    lanes: int
    bars: tuple[Bar, ...]


@dataclass(frozen=True)
class Mark:
    """A line across all rows: today, a display day, an open day."""

    kind: Literal["today", "display day", "open day"]
    label: str
    day: date
    at: float


@dataclass(frozen=True)
class Timeline:
    """The drawing: from `first` to `last` day, its marks and its rows."""

    first: date
    last: date
    marks: tuple[Mark, ...]
    rows: tuple[Row, ...]


class _Scale:
    def __init__(self, first: date, last: date) -> None:
        self.first = first
        self.last = last
        self.days = (last - first).days + 1

    def at(self, day: date) -> float:
        return round((day - self.first).days / self.days, 5)

    def bar(self, look: Look, label: str, first: date, last: date, dangerous: bool = False) -> Bar | None:
        """A bar, cut to the drawing; None where it lies outside."""
        first, last = max(first, self.first), min(last, self.last)
        if first > last:
            return None
        left = self.at(first)
        width = round(((last - first).days + 1) / self.days, 5)
        return Bar(look, label, first, last, left, width, 0, dangerous)


def timeline(plan: Plan, vehicles: Sequence[str] = ()) -> Timeline:
    """The time lines of some vehicles (all that have planned or waiting work where none are named)."""
    scale = _Scale(plan.problem.as_of, _last_day(plan))
    wanted = vehicles or [vehicle.id for vehicle in plan.problem.vehicles if plan.problem.items_of[vehicle.id]]
    rows = tuple(_row(plan, vehicle, scale) for vehicle in wanted)
    return Timeline(scale.first, scale.last, tuple(_marks(plan, scale)), rows)


def _last_day(plan: Plan) -> date:
    """Until everything is done or the day to be ready for is past, within bounds that can be read."""
    today = plan.problem.as_of
    days = [plan.last_day(activity.id) for activity in plan.net.activities]
    wanted = max([*days, plan.problem.target or today], default=today) + timedelta(days=2)
    return min(max(wanted, today + timedelta(weeks=WEEKS_LEAST)), today + timedelta(weeks=WEEKS_MOST))


def _marks(plan: Plan, scale: _Scale) -> Iterator[Mark]:
    yield Mark("today", f"Today, {day_words(scale.first)}", scale.first, 0.0)
    for shown in plan.problem.display_days:
        if scale.first <= shown.date <= scale.last:
            yield Mark("display day", f"{shown.name}, {day_words(shown.date)}", shown.date, scale.at(shown.date))
    for session in plan.calendar.within(scale.first, scale.last):
        yield Mark("open day", day_words(session.day), session.day, scale.at(session.day))


def _row(plan: Plan, vehicle: str, scale: _Scale) -> Row:
    bars = _together(bar for bar in _bars(plan, vehicle, scale) if bar is not None)
    placed = tuple(
        _in_lanes(sorted(bars, key=lambda bar: (bar.look != "open", bar.first_day, bar.last_day, bar.label)))
    )
    lanes = max((bar.lane for bar in placed), default=0) + 1
    return Row(vehicle, plan.problem.by_vehicle[vehicle].name, lanes, placed)


def _together(bars: Iterable[Bar]) -> list[Bar]:
    """Bars alike over the same days as one, with all their labels."""
    alike: dict[tuple[str, date, date, bool], list[Bar]] = {}
    for bar in bars:
        alike.setdefault((bar.look, bar.first_day, bar.last_day, bar.dangerous), []).append(bar)
    return [replace(same[0], label="; ".join(dict.fromkeys(bar.label for bar in same))) for same in alike.values()]


def _bars(plan: Plan, vehicle: str, scale: _Scale) -> Iterator[Bar | None]:
    for bundle in plan.bundles:
        if bundle.vehicle == vehicle:
            backs = [f"{bundle.id}/back/{step}" for step in bundle.steps]
            outs = [f"{bundle.id}/out/{step}" for step in bundle.steps if f"{bundle.id}/out/{step}" in plan.net.by_id]
            first = min((plan.first_day(out) for out in outs), default=scale.first)
            yield scale.bar("open", bundle.title, first, max(plan.last_day(back) for back in backs))
    for activity in plan.in_order:
        if activity.vehicle == vehicle and activity.slots:
            first, last = plan.first_day(activity.id), plan.last_day(activity.id)
            yield scale.bar(activity.doing, told(activity), first, last, activity.dangerous)
    for item in plan.problem.items_of[vehicle]:
        yield from _waits(plan, item, scale)


def _waits(plan: Plan, item: Item, scale: _Scale) -> Iterator[Bar | None]:
    """What an item waits for until its date, and what holds it until that is mended."""
    for wait in item.waits:
        last = wait.due - timedelta(days=1) if wait.due else scale.last
        label = f"{item.title} waits for {wait.what}" + ("" if wait.due else ", no date")
        yield scale.bar("wait", label, scale.first, last)
    for step in plan.access.steps_for(item):
        for holder in plan.access.holders(item.vehicle, step):
            until = plan.item_day(holder.id) or scale.last
            name = plan.problem.by_vehicle[item.vehicle].by_step[step].name
            yield scale.bar("held", f"{name} held by {holder.title}", scale.first, until)


def _in_lanes(bars: Sequence[Bar]) -> Iterator[Bar]:
    """Bars one below the other where they overlap; what stands open lies behind, on the first lane."""
    ends: list[date] = []
    for bar in bars:
        if bar.look == "open":
            yield bar
            continue
        lane = next((n for n, end in enumerate(ends) if end < bar.first_day), len(ends))
        ends[lane:] = [bar.last_day] if lane == len(ends) else [bar.last_day, *ends[lane + 1 :]]
        yield replace(bar, lane=lane)
