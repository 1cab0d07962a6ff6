"""Bundles: the items of a vehicle that share an opening, as one job with each step counted once out and back.

Which items may share: what is dangerous is never put off for another's part; what keeps the vehicle from being fit is
put off at most until the last such item can be done, since the vehicle is not fit before; the rest may wait for any
opening. Within that the set of openings with the fewest person-hours is taken (openings.py). A job that a person has
made stands as they made it.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field, replace

import networkx as nx

from sync.plan.access import Access
from sync.plan.openings import Openings, Want, cheapest
from sync.plan.problem import Item, Job, Step, Task, Vehicle
from sync.plan.sessions import Calendar, slots_of


@dataclass(frozen=True)
class Bundle:
    """Items done in one opening. Costs are person-slots (quarter hours of one person).

    `access` is what opening and closing costs, `apart` what it would cost item by item. `offers` are while-open tasks
    that could be done for their own hours alone. `left_open`: its steps may stay open while something waits.
    """

    id: str
    title: str
    vehicle: str
    items: tuple[str, ...]
    steps: tuple[str, ...]
    access: int
    apart: int
    tasks: tuple[str, ...] = ()
    offers: tuple[str, ...] = ()
    accepted: bool = False
    left_open: bool = False
    note: str = ""

    @property
    def saved(self) -> int:
        return self.apart - self.access


@dataclass
class Group:
    """Items on their way to a bundle; `jobs` are the accepted jobs in it."""

    items: list[Item]
    jobs: list[Job] = field(default_factory=list)


def out_and_back(step: Step) -> int:
    """Person-slots to open a step and close it again."""
    return (slots_of(step.hours_out) + slots_of(step.hours_back)) * step.people


def bundles(access: Access, calendar: Calendar) -> tuple[tuple[Bundle, ...], tuple[Openings, ...]]:
    """All bundles of a problem in order of their ids, and how the openings of each vehicle were proven."""
    made: list[Bundle] = []
    proofs: list[Openings] = []
    for vehicle in access.problem.vehicles:
        groups, proof = _groups(vehicle, access, calendar)
        made += [_bundle(group, vehicle, access) for group in groups]
        made += _close_up(vehicle, made, access)
        proofs += [proof] if proof else []
    made.sort(key=lambda bundle: bundle.id)
    return tuple(_with_tasks(made, access)), tuple(proofs)


def releases(access: Access, calendar: Calendar) -> dict[str, int]:
    """The first slot at which each item could be begun: its own waits, and those of what holds it."""
    found: dict[str, int] = {}

    def of(item: Item) -> int:
        if item.id not in found:
            found[item.id] = calendar.slot_on(item.ready_from) if item.ready_from else 0
            found[item.id] = max([found[item.id], *(of(one) for one in access.before(item) if one.id in plannable)])
        return found[item.id]

    plannable = {item.id for item in access.problem.work if item.id not in access.blocked}
    for item in access.problem.work:
        if item.id in plannable:
            of(item)
    return found


def _groups(vehicle: Vehicle, access: Access, calendar: Calendar) -> tuple[list[Group], Openings | None]:
    items = [
        item for item in access.problem.items_of[vehicle.id] if item.id not in access.blocked and access.steps_for(item)
    ]
    groups = list(_accepted(items, access.problem.jobs))
    taken = {item.id for group in groups for item in group.items}
    free = [item for item in items if item.id not in taken]
    proof = _chosen(vehicle, free, access, calendar) if free else None
    if proof:
        groups += _sharing(free, proof, access)
    return _merged(groups, access), proof


def _accepted(items: Sequence[Item], jobs: Iterable[Job]) -> Iterator[Group]:
    by_id = {item.id: item for item in items}
    for job in jobs:
        mine = [by_id.pop(i) for i in job.items if i in by_id]
        if mine and not job.apart:
            yield Group(mine, [job])
        elif mine:
            yield from (Group([item], [job]) for item in mine)


def _chosen(vehicle: Vehicle, items: Sequence[Item], access: Access, calendar: Calendar) -> Openings:
    """The cheapest openings of the items that no person has put in a job."""
    release = releases(access, calendar)
    now = {i.id for i in items if set(access.steps_for(i)) <= set(vehicle.open_steps)}
    begin = {item.id: 0 if item.id in now else release[item.id] for item in items}
    times = sorted({0, *begin.values()} if now else set(begin.values()))
    last_bar = max((slot for i, slot in begin.items() if access.problem.by_item[i].bars), default=0)
    wants = []
    for item in items:
        first = times.index(begin[item.id])
        wants.append(Want(item.id, frozenset(access.steps_for(item)), first, _last(item, first, times, last_bar)))
    cost = {(s.id, n): _cost(s, n, times, vehicle) for s in vehicle.steps for n in range(len(times))}
    before = [(one.id, item.id) for item in items for one in access.before(item)]
    return cheapest(wants, cost, before)


def _last(item: Item, first: int, times: Sequence[int], last_bar: int) -> int:
    if item.severity == "dangerous":
        return first
    if item.bars:
        return max(first, sum(time <= last_bar for time in times) - 1)
    return len(times) - 1


def _cost(step: Step, time: int, times: Sequence[int], vehicle: Vehicle) -> int:
    """What is out already costs nothing more at once: its way back must be paid in any case."""
    return 0 if step.id in vehicle.open_steps and times[time] == 0 else out_and_back(step)


def _sharing(items: Sequence[Item], chosen: Openings, access: Access) -> Iterator[Group]:
    """Items of one time that share a step, directly or through others, are one group."""
    graph: nx.Graph[tuple[str, str, int]] = nx.Graph()
    for item in items:
        time = chosen.time_of[item.id]
        graph.add_edges_from((("item", item.id, 0), ("step", step, time)) for step in access.steps_for(item))
    for part in sorted(map(sorted, nx.connected_components(graph))):
        yield Group([access.problem.by_item[name] for kind, name, _ in part if kind == "item"])


def _merged(groups: list[Group], access: Access) -> list[Group]:
    """Groups that wait for each other in a ring cannot be done apart, and become one."""
    place = {item.id: number for number, group in enumerate(groups) for item in group.items}
    graph: nx.DiGraph[int] = nx.DiGraph()
    graph.add_nodes_from(range(len(groups)))
    for item in (item for group in groups for item in group.items):
        first = [place[one.id] for one in access.before(item) if one.id in place]
        graph.add_edges_from((place[item.id], number) for number in first if number != place[item.id])
    rings = sorted(map(sorted, nx.strongly_connected_components(graph)))
    return [_joined([groups[number] for number in ring]) for ring in rings]


def _joined(groups: list[Group]) -> Group:
    return Group([i for group in groups for i in group.items], [job for group in groups for job in group.jobs])


def _bundle(group: Group, vehicle: Vehicle, access: Access) -> Bundle:
    needs = tuple(dict.fromkeys(need for item in group.items for need in item.needs))
    steps = access.steps_under(vehicle.id, needs)
    cost = {step: out_and_back(vehicle.by_step[step]) for step in steps}
    jobs = {job.id: job for job in group.jobs}
    ids = tuple(sorted(item.id for item in group.items))
    parted = any(job.apart for job in jobs.values())
    named = next(iter(jobs)) if len(jobs) == 1 and not parted else f"{vehicle.id}:{ids[0]}"
    return Bundle(
        id=named,
        title=" and ".join(job.title for job in jobs.values()) or _title(steps, vehicle),
        vehicle=vehicle.id,
        items=ids,
        steps=steps,
        access=sum(cost.values()),
        apart=sum(cost[step] for item in group.items for step in access.steps_for(item)),
        tasks=tuple(dict.fromkeys(task for job in jobs.values() for task in job.tasks)),
        accepted=bool(jobs),
        left_open=any(job.leave_open for job in jobs.values()),
        note="cannot be done apart: each waits for the other" if len(jobs) > 1 else "",
    )


def _title(steps: Sequence[str], vehicle: Vehicle) -> str:
    """A job is named for the step that comes out last: what it is all for."""
    return vehicle.by_step[steps[-1]].name


def _close_up(vehicle: Vehicle, made: Sequence[Bundle], access: Access) -> Iterator[Bundle]:
    """Steps that stand open and that nothing planned or waiting needs are to be closed."""
    used = {step for bundle in made if bundle.vehicle == vehicle.id for step in bundle.steps}
    used |= {step for item in access.problem.items_of[vehicle.id] for step in access.steps_for(item)}
    left = access.steps_under(vehicle.id, tuple(step for step in vehicle.open_steps if step not in used))
    left = tuple(step for step in left if step in vehicle.open_steps and step not in used)
    if left:
        cost = sum(out_and_back(vehicle.by_step[step]) for step in left)
        yield Bundle(f"{vehicle.id}:close up", "Close up", vehicle.id, (), left, cost, cost)


def _with_tasks(made: Sequence[Bundle], access: Access) -> Iterator[Bundle]:
    """The while-open tasks that each bundle's steps allow, each once: those accepted are in it, others offered.

    A job has them before what is only closed up.
    """
    home: dict[str, list[Task]] = {}
    for task in access.problem.tasks:
        fitting = [bundle for bundle in made if _fits(task, bundle)]
        if fitting:
            home.setdefault(min(fitting, key=lambda bundle: not bundle.items).id, []).append(task)
    for bundle in made:
        here = home.get(bundle.id, [])
        inside = tuple(task.id for task in here if task.accepted or task.id in bundle.tasks)
        yield replace(bundle, tasks=inside, offers=tuple(sorted({task.id for task in here} - set(inside))))


def _fits(task: Task, bundle: Bundle) -> bool:
    return task.vehicle == bundle.vehicle and task.step in bundle.steps
