"""Workshop time: the open days of a volunteer workshop laid end to end on one axis of quarter hours.

Work in such a workshop is not done in one go: a job of twelve hours is begun on one Saturday and ends on the next.
So the plan counts only the time the workshop is open, in slots of a quarter hour, and the closed days between two
sessions take no room: a job that spans two sessions is one stretch of slots. A date (a part that comes, a display
day) becomes the first slot of the first session on or after it, or the end of the last session before it.
"""

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from math import ceil, floor

from sync.errors import PlanError
from sync.plan.problem import Workshop

SLOTS_PER_HOUR = 4
#: Open days are sought this far ahead and no farther, so that a workshop closed for good is an error, not a hang.
YEARS_AHEAD = 60


def slots_of(hours: float) -> int:
    """Hours as whole slots, rounded up: what takes any time takes a slot."""
    return ceil(round(hours * SLOTS_PER_HOUR, 6))


def hours_of(slots: float) -> float:
    return slots / SLOTS_PER_HOUR


@dataclass(frozen=True)
class Session:
    """One open day: slots `first` up to `first + slots`, with `people` there."""

    day: date
    first: int
    slots: int
    people: int

    @property
    def end(self) -> int:
        return self.first + self.slots


class Calendar:
    """The sessions from `as_of` on, as far as `length` slots and every date in `until` need.

    Raises PlanError where the workshop never opens.
    """

    def __init__(self, workshop: Workshop, as_of: date, until: tuple[date, ...] = (), length: int = 0) -> None:
        self.workshop = workshop
        self.as_of = as_of
        self.slots_a_session = session_slots(workshop)
        self.sessions: list[Session] = []
        self._days = _open_days(workshop, as_of)
        self._people = {one.day: one.people for one in workshop.attendance}
        self.reach(length)
        for day in until:
            self.slot_on(day)

    @cached_property
    def most_people(self) -> int:
        return max(self.workshop.people_at_once, *self._people.values(), 0)

    def reach(self, slot: int) -> None:
        """Lay out sessions until one holds `slot`."""
        while not self.sessions or self.sessions[-1].end <= slot:
            self._lay()

    def _lay(self) -> Session:
        day = next(self._days, None)
        if day is None:
            raise PlanError(f"the workshop is not open often enough within {YEARS_AHEAD} years: check open_days")
        first = self.sessions[-1].end if self.sessions else 0
        people = self._people.get(day, self.workshop.people_at_once)
        self.sessions.append(Session(day, first, self.slots_a_session, people))
        return self.sessions[-1]

    def slot_on(self, day: date) -> int:
        """The first slot on or after a day; also how many slots there are before it."""
        while not self.sessions or self.sessions[-1].day < day:
            self._lay()
        return next(session.first for session in self.sessions if session.day >= day)

    def session_at(self, slot: int) -> Session:
        """The session that holds a slot."""
        self.reach(slot)
        return self.sessions[slot // self.slots_a_session]

    def starts(self, slot: int) -> date:
        return self.session_at(slot).day

    def ends(self, end: int) -> date:
        """The day on which work that ends at `end` (its first slot no longer needed) is finished."""
        return self.session_at(max(end - 1, 0)).day

    def within(self, first: date, last: date) -> list[Session]:
        """The sessions from one day to another, both included."""
        self.slot_on(last + timedelta(days=1))
        start = bisect_right([session.day for session in self.sessions], first - timedelta(days=1))
        return [session for session in self.sessions[start:] if session.day <= last]


def session_slots(workshop: Workshop) -> int:
    """How long a session lasts on the clock: the week's person-hours over people and open days, in whole slots."""
    if not workshop.open_days:
        raise PlanError("the workshop has no open day: name at least one in open_days")
    share = workshop.hours_per_week / workshop.people_at_once / len(set(workshop.open_days))
    slots = floor(round(share * SLOTS_PER_HOUR, 6))
    if not 1 <= slots <= 24 * SLOTS_PER_HOUR:
        raise PlanError(
            f"a session of {share:g} hours each cannot be planned: check hours_per_week "
            f"({workshop.hours_per_week:g}), people_at_once ({workshop.people_at_once}) and open_days"
        )
    return slots


def _open_days(workshop: Workshop, as_of: date) -> Iterator[date]:
    closed = set(workshop.closed)
    for offset in range(YEARS_AHEAD * 366):
        day = as_of + timedelta(days=offset)
        if day.weekday() in workshop.open_days and day not in closed:
            yield day
