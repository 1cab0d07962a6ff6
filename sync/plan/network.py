"""The activity network: every piece of work, every step out and back, and what must end before what begins.

A step comes out only when nothing has to be waited for any more by the items that need it (unless that was accepted),
and goes back when the last of them is done and every step above it is back.
"""

from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property, partial
from itertools import pairwise
from typing import Literal

import networkx as nx

from sync.plan.access import Access
from sync.plan.bundles import Bundle, releases
from sync.plan.critical import Leg
from sync.plan.problem import FIND_OUT_HOURS, Item, Step, Vehicle, person_name
from sync.plan.sessions import Calendar, slots_of

Doing = Literal["out", "work", "task", "back", "find out"]


@dataclass(frozen=True)
class Activity:
    """`slots` of `people` at once, not before `release`, after the ends of `after`.

    `uses` names a resource once for each piece of it that is taken, `who` the people who were named for it. `longest`
    is how many slots it takes where everything takes as long as it may. `whole`: it uses lifting gear or the like and
    fits one session, so it is not left half done from one session to the next. `about` is the item, task or step.
    `bars`: its vehicle is not fit before it is done. `started`: in hand, or put before all else.
    """

    id: str
    vehicle: str
    doing: Doing
    about: str
    name: str
    slots: int
    longest: int
    people: int = 1
    uses: tuple[str, ...] = ()
    who: tuple[str, ...] = ()
    after: tuple[str, ...] = ()
    release: int = 0
    bundle: str = ""
    whole: bool = False
    bars: bool = False
    dangerous: bool = False
    started: bool = False

    @property
    def person_slots(self) -> int:
        return self.slots * self.people

    @cached_property
    def pieces(self) -> Mapping[str, int]:
        """How much it takes of each resource, named people among them."""
        return Counter([*self.uses, *map(person_name, self.who)])


@dataclass(frozen=True)
class Opened:
    """The stretch for which one bundle has one step out: from its `out` (None: out already) to its `back`."""

    vehicle: str
    step: str
    bundle: str
    out: str | None
    back: str


def _begun(starts: Mapping[str, int], one: Opened) -> tuple[bool, int]:
    """What stands open first, then what begins first; what is not begun yet after all that is."""
    if one.out is None:
        return (False, -1)
    return (one.out not in starts, starts.get(one.out, 0))


@dataclass(frozen=True)
class Network:
    """All activities, each after those it waits for, and the stretches of open steps."""

    activities: tuple[Activity, ...]
    opened: tuple[Opened, ...]

    @cached_property
    def by_id(self) -> dict[str, Activity]:
        return {activity.id: activity for activity in self.activities}

    @cached_property
    def shared(self) -> tuple[tuple[Opened, ...], ...]:
        """The stretches of each step that more than one bundle opens; they must not overlap.

        They stand in an order in which they can be done: what stands open first, then by what waits for what and when.
        """
        found: dict[tuple[str, str], list[Opened]] = {}
        for one in self.opened:
            found.setdefault((one.vehicle, one.step), []).append(one)
        rank = self._bundle_order
        alike = [sorted(ones, key=lambda o: (o.out is not None, rank[o.bundle])) for ones in found.values()]
        return tuple(tuple(ones) for ones in alike if len(ones) > 1)

    @cached_property
    def by_bundle(self) -> dict[str, tuple[Opened, ...]]:
        """The stretches of each bundle."""
        found: dict[str, list[Opened]] = {}
        for one in self.opened:
            found.setdefault(one.bundle, []).append(one)
        return {bundle: tuple(ones) for bundle, ones in found.items()}

    @cached_property
    def _bundle_order(self) -> dict[str, int]:
        release: dict[str, int] = {}
        graph: nx.DiGraph[str] = nx.DiGraph()
        home = {a.id: a.bundle or a.id for a in self.activities}
        for activity in self.activities:
            mine = home[activity.id]
            graph.add_node(mine)
            release[mine] = max(release.get(mine, 0), activity.release)
            graph.add_edges_from((home[one], mine) for one in activity.after if home[one] != mine)
        order = nx.lexicographical_topological_sort(graph, key=lambda name: (release[name], name))
        return {name: number for number, name in enumerate(order)}

    def sequenced(self, starts: Mapping[str, int]) -> "Network":
        """The same with the order of openings of one step fixed: as `starts` has them, then the others."""
        more = {
            later.out: earlier.back
            for ones in self.shared
            for earlier, later in pairwise(sorted(ones, key=partial(_begun, starts)))
            if later.out is not None
        }
        fixed = [replace(a, after=(*a.after, more[a.id])) if a.id in more else a for a in self.activities]
        return Network(tuple(fixed), self.opened)

    def only(self, names: Iterable[str]) -> "Network":
        """The part that consists of some activities and nothing else."""
        keep = set(names)
        return Network(
            tuple(a for a in self.activities if a.id in keep), tuple(o for o in self.opened if o.back in keep)
        )

    def ahead_of(self, wanted: Iterable[str]) -> tuple[Activity, ...]:
        """What some activities wait for by precedence alone, themselves among them."""
        keep: set[str] = set()
        todo = list(wanted)
        while todo:
            name = todo.pop()
            if name not in keep:
                keep.add(name)
                todo += self.by_id[name].after
        return tuple(activity for activity in self.activities if activity.id in keep)

    def upto(self, wanted: Iterable[str]) -> "Network":
        """The part that some activities need, themselves among them; the rest can always follow afterwards.

        Where a step is opened more than once, the closings belong to it too, since one must come between.
        """
        keep: set[str] = set()
        todo = list(wanted)
        while todo:
            keep |= {activity.id for activity in self.ahead_of(todo)}
            todo = []
            for ones in self.shared:
                if any(one.out in keep for one in ones):
                    todo += [one.back for one in ones if (one.out is None or one.out in keep) and one.back not in keep]
        return self.only(keep)


def legs_of(net: Network) -> dict[str, Leg]:
    """The network as the critical path method takes it."""
    return {a.id: Leg(a.slots, a.after, a.release) for a in net.activities}


def network(access: Access, made: Sequence[Bundle], calendar: Calendar) -> Network:
    """The network of all work that can be planned."""
    builder = _Builder(access, made, calendar)
    found = {activity.id: activity for activity in builder.activities()}
    return Network(tuple(_ordered(found)), tuple(builder.opened))


class _Builder:
    def __init__(self, access: Access, made: Sequence[Bundle], calendar: Calendar) -> None:
        self.access = access
        self.problem = access.problem
        self.made = made
        self.calendar = calendar
        self.release = releases(access, calendar)
        self.home = {item: bundle for bundle in made for item in bundle.items}
        self.first_use: set[tuple[str, str]] = set()
        self.opened: list[Opened] = []

    def activities(self) -> Iterator[Activity]:
        for bundle in self.made:
            yield from self._of_bundle(bundle)
        for item in self.problem.work:
            if item.id not in self.access.blocked:
                yield self._work(item)
            elif self.access.blocked[item.id].kind == "find out":
                yield self._find_out(item)

    def _of_bundle(self, bundle: Bundle) -> Iterator[Activity]:
        vehicle = self.problem.by_vehicle[bundle.vehicle]
        items = [self.problem.by_item[i] for i in bundle.items]
        grave = min((self._gravity(item) for item in items), default=3)
        for step in (vehicle.by_step[name] for name in bundle.steps):
            users = [item for item in items if step.id in self.access.steps_for(item)]
            out = f"{bundle.id}/out/{step.id}"
            standing = step.id in vehicle.open_steps and (bundle.vehicle, step.id) not in self.first_use
            self.first_use.add((bundle.vehicle, step.id))
            back = self._back(step, bundle, vehicle, users)
            self.opened.append(Opened(vehicle.id, step.id, bundle.id, None if standing else out, back.id))
            if not standing:
                yield self._out(out, step, bundle, vehicle, users)
            yield back
        for name in bundle.tasks:
            task = self.problem.by_task[name]
            after = tuple(self._outs(bundle, vehicle, (task.step,)))
            slots = slots_of(task.hours)
            yield Activity(
                f"task/{task.id}", vehicle.id, "task", task.id, task.title, slots, slots, task.people, after=after,
                bundle=bundle.id, bars=grave <= 1,
            )  # fmt: skip

    def _gravity(self, item: Item) -> int:
        return 0 if item.severity == "dangerous" else 1 if item.bars else 2

    def _outs(self, bundle: Bundle, vehicle: Vehicle, needs: Sequence[str]) -> Iterator[str]:
        """The openings that something with these needs waits for; steps that stand open are waited for no more."""
        for step in self.access.steps_under(vehicle.id, tuple(needs)):
            if any(o.bundle == bundle.id and o.step == step and o.out is not None for o in self.opened):
                yield f"{bundle.id}/out/{step}"

    def _out(self, name: str, step: Step, bundle: Bundle, vehicle: Vehicle, users: Sequence[Item]) -> Activity:
        held = [f"work/{one.id}" for one in self.access.holders(vehicle.id, step.id)]
        waits = [self.release[item.id] for item in users]
        slots = slots_of(step.hours_out)
        return Activity(
            id=name,
            vehicle=vehicle.id,
            doing="out",
            about=step.id,
            name=step.name,
            slots=slots,
            longest=slots,
            people=step.people,
            uses=step.uses,
            after=(*self._outs(bundle, vehicle, step.needs), *held),
            release=0 if bundle.left_open else max(waits, default=0),
            bundle=bundle.id,
            whole=bool(step.uses) and slots <= self.calendar.slots_a_session,
            bars=any(item.bars for item in users),
        )

    def _back(self, step: Step, bundle: Bundle, vehicle: Vehicle, users: Sequence[Item]) -> Activity:
        above = [s for s in bundle.steps if step.id in vehicle.by_step[s].needs]
        tasks = [
            t for t in bundle.tasks if step.id in self.access.steps_under(vehicle.id, (self.problem.by_task[t].step,))
        ]
        slots = slots_of(step.hours_back)
        after = (
            *(f"work/{item.id}" for item in users),
            *(f"task/{task}" for task in tasks),
            *(f"{bundle.id}/back/{other}" for other in above),
        )
        return Activity(
            id=f"{bundle.id}/back/{step.id}",
            vehicle=vehicle.id,
            doing="back",
            about=step.id,
            name=step.name,
            slots=slots,
            longest=slots,
            people=step.people,
            uses=step.uses,
            after=after or ((f"{bundle.id}/out/{step.id}",) if step.id not in vehicle.open_steps else ()),
            bundle=bundle.id,
            whole=bool(step.uses) and slots <= self.calendar.slots_a_session,
            bars=any(item.bars for item in users) or not bundle.items,
        )

    def _work(self, item: Item) -> Activity:
        assert item.hours is not None  # noqa: S101  # what has no hours is blocked, and asked for by access.py
        least, most = item.hours
        done = item.hours_done / item.people
        slots = max(slots_of((least + most) / 2 - done), 1)
        bundle = self.home.get(item.id)
        vehicle = self.problem.by_vehicle[item.vehicle]
        outs = tuple(self._outs(bundle, vehicle, item.needs)) if bundle else ()
        first = tuple(f"work/{one.id}" for one in self.access.before(item) if one.id in item.after)
        return Activity(
            id=f"work/{item.id}",
            vehicle=item.vehicle,
            doing="work",
            about=item.id,
            name=item.title,
            slots=slots,
            longest=max(slots_of(most - done), slots),
            people=item.hands,
            uses=item.uses,
            who=item.who,
            after=(*outs, *first),
            release=self.release[item.id],
            bundle=bundle.id if bundle else "",
            whole=bool(item.uses) and slots <= self.calendar.slots_a_session,
            bars=item.bars,
            dangerous=item.severity == "dangerous",
            started=item.status == "in hand" or item.first,
        )

    def _find_out(self, item: Item) -> Activity:
        slots = slots_of(FIND_OUT_HOURS)
        release = self.calendar.slot_on(item.ready_from) if item.ready_from else 0
        return Activity(
            f"find/{item.id}", item.vehicle, "find out", item.id, f"Find out first: {item.title}", slots, slots,
            release=release, bars=item.bars, dangerous=item.severity == "dangerous", people=max(len(item.who), 1),
            who=item.who, started=item.status == "in hand" or item.first,
        )  # fmt: skip


def _ordered(found: dict[str, Activity]) -> Iterator[Activity]:
    """Each after those it waits for; what none waits for first, by id."""
    done: set[str] = set()

    def visit(name: str) -> Iterator[Activity]:
        if name in done:
            return
        done.add(name)
        for first in found[name].after:
            yield from visit(first)
        yield found[name]

    for name in sorted(found):
        yield from visit(name)
