"""A feasible plan at once: each activity in a given order into the first room there is (serial schedule generation).

The solver starts from it, and it is the answer within the first second. Run again over the starts of another feasible
plan, in their order, it never makes anything later: what is begun no later leaves at least as much room behind it.
"""

from collections.abc import Iterable, Mapping

from sync.plan.network import Activity, Network
from sync.plan.sessions import Calendar

Starts = Mapping[str, int]


class Capacity:
    """What a plan must fit into: people by slot (sessions may differ), and the workshop's resources."""

    def __init__(self, calendar: Calendar, resources: Mapping[str, int]) -> None:
        self.calendar = calendar
        self.people = calendar.most_people
        self.resources = resources

    def missing(self, slots: int) -> list[tuple[int, int, int]]:
        """(first slot, length, how many people fewer) of the sessions below the most that ever come."""
        if all(one.people >= self.people for one in self.calendar.workshop.attendance) and self._usual == self.people:
            return []
        self.calendar.reach(slots)
        return [(s.first, s.slots, self.people - s.people) for s in self.calendar.sessions if s.people < self.people]

    @property
    def _usual(self) -> int:
        return self.calendar.workshop.people_at_once


class _Room:
    """How much of one thing is free in each slot; `fits[n]` has a 1 wherever at least n are free."""

    def __init__(self, most: int, slots: int) -> None:
        self.most = most
        self.free = [most] * slots
        self.fits = [bytearray(b"\1" * slots) for _ in range(most + 1)]

    def grow(self, slots: int) -> None:
        more = slots - len(self.free)
        self.free += [self.most] * more
        for row in self.fits:
            row.extend(b"\1" * more)

    def take(self, start: int, slots: int, amount: int) -> None:
        for slot in range(start, start + slots):
            left = self.free[slot] - amount
            for row in self.fits[left + 1 : self.free[slot] + 1]:
                row[slot] = 0
            self.free[slot] = left

    def give(self, start: int, slots: int, amount: int) -> None:
        for slot in range(start, start + slots):
            left = self.free[slot] + amount
            for row in self.fits[self.free[slot] + 1 : left + 1]:
                row[slot] = 1
            self.free[slot] = left

    def find_last(self, first: int, last: int, slots: int, amount: int) -> int:
        """The last start from `first` to `last` with room, or -1."""
        return self.fits[amount].rfind(b"\1" * slots, first, last + slots)

    def find(self, start: int, slots: int, amount: int) -> int:
        """The first start with room, or -1 where the slots laid out so far have none."""
        return self.fits[amount].find(b"\1" * slots, start)


class Board:
    """A plan in the making."""

    def __init__(self, capacity: Capacity) -> None:
        self.capacity = capacity
        self.session = capacity.calendar.slots_a_session
        self.rooms = {use: _Room(most, 0) for use, most in capacity.resources.items()}
        self.people = _Room(capacity.people, 0)
        self._grow(4 * self.session)
        self.starts: dict[str, int] = {}
        self.ends: dict[str, int] = {}

    def _grow(self, slots: int) -> None:
        slots += -slots % self.session
        before = len(self.people.free)
        for room in (self.people, *self.rooms.values()):
            room.grow(slots)
        for first, length, fewer in self.capacity.missing(slots - 1):
            if before <= first < slots:
                self.people.take(first, length, fewer)

    def place(self, activity: Activity, earliest: int) -> int:
        """Put an activity into the first room from `earliest` on; its end."""
        return self.put(activity, self._first_room(activity, earliest))

    def put(self, activity: Activity, start: int) -> int:
        """Put an activity where there is known to be room; its end."""
        end = start + activity.slots
        if end > len(self.people.free):
            self._grow(end)
        for room, amount in self._asked(activity):
            room.take(start, activity.slots, amount)
        self.starts[activity.id] = start
        self.ends[activity.id] = end
        return end

    def put_off(self, activity: Activity, last: int) -> None:
        """Move an activity to the last room there is up to a start; at worst it stays."""
        first = self.starts[activity.id]
        for room, amount in self._asked(activity):
            room.give(first, activity.slots, amount)
        self.put(activity, self._last_room(activity, first, last))

    def _asked(self, activity: Activity) -> list[tuple[_Room, int]]:
        if not activity.slots:
            return []
        return [(self.people, activity.people), *((self.rooms[use], n) for use, n in activity.pieces.items())]

    def _first_room(self, activity: Activity, start: int) -> int:
        asked = self._asked(activity)
        while True:
            last = start
            for room, amount in asked:
                while (found := room.find(start, activity.slots, amount)) < 0:
                    self._grow(2 * len(self.people.free) + activity.slots)
                start = found
            if activity.whole and start % self.session + activity.slots > self.session:
                start += self.session - start % self.session
            if start == last:
                return start

    def _last_room(self, activity: Activity, first: int, start: int) -> int:
        while start > first:
            last = start
            for room, amount in self._asked(activity):
                start = room.find_last(first, start, activity.slots, amount)
            over = start % self.session + activity.slots - self.session
            if activity.whole and over > 0:
                start -= over
            if start == last:
                return start
        return first


def serial(
    net: Network, order: Iterable[Activity], capacity: Capacity, not_before: Starts | None = None
) -> dict[str, int]:
    """Starts of all activities, placed in `order`, which must name each after those it waits for.

    Bundles that open the same step do so one after the other: in `order` the step's closing in the one must come before
    its opening in the next.
    """
    board = Board(capacity)
    not_before = not_before or {}
    shared = {name: (o.vehicle, o.step) for ones in net.shared for o in ones for name in (o.out, o.back) if name}
    closed: dict[tuple[str, str], int] = {}
    for activity in order:
        ready = max([activity.release, not_before.get(activity.id, 0), *(board.ends[one] for one in activity.after)])
        place = shared.get(activity.id)
        if place is not None and activity.doing == "out":
            ready = max(ready, closed.get(place, 0))
        end = board.place(activity, ready)
        if place is not None and activity.doing == "back":
            closed[place] = max(closed.get(place, 0), end)
    return board.starts


def by_start(net: Network, starts: Starts) -> list[Activity]:
    """Activities in the order in which a plan begins them, each still after those it waits for."""
    rank = {activity.id: number for number, activity in enumerate(net.activities)}
    return sorted(net.activities, key=lambda a: (starts[a.id], starts[a.id] + a.slots, rank[a.id]))


def held_back(starts: Starts, deadline: int | None) -> dict[str, int]:
    """What begins at the deadline or later must not move before it, lest a vehicle stand open on the day."""
    if deadline is None:
        return {}
    return {name: deadline for name, start in starts.items() if start >= deadline}


def opened_late(net: Network, starts: Starts, capacity: Capacity) -> dict[str, int]:
    """The same plan with each step brought out as late as what follows it, and the room, allow; nothing else moves."""
    board = Board(capacity)
    for activity in net.activities:
        board.put(activity, starts[activity.id])
    followed: dict[str, list[str]] = {}
    for activity in net.activities:
        for first in activity.after:
            followed.setdefault(first, []).append(activity.id)
    outs = [activity for activity in by_start(net, starts) if activity.doing == "out" and activity.id in followed]
    for activity in reversed(outs):
        last = min(board.starts[name] for name in followed[activity.id]) - activity.slots
        if last > board.starts[activity.id]:
            board.put_off(activity, last)
    return board.starts
