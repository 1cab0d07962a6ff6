"""The access graph of each vehicle: what each piece of work needs out of the way, what holds it, what cannot be done.

An item needs steps, a step needs steps, and a step that a defect holds needs that defect mended first. Everything
downstream asks here: bundles for the steps an item needs, the network for what holds them, pages for the chain told.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import networkx as nx

from sync.plan.problem import GRAVITY, Item, Problem, Step, Vehicle

Node = tuple[Literal["item", "step"], str, str]  # kind, vehicle, id
Obstacle = Literal["find out", "no date", "people", "resource", "unknown step", "circle", "held", "left out"]
CHAINS_MOST = 50


@dataclass(frozen=True)
class Blocked:
    """Work that cannot be planned: `why` in words, and the item at the root of it (itself, or what holds it)."""

    item: str
    kind: Obstacle
    why: str
    root: str


@dataclass(frozen=True)
class Link:
    """One link of a chain: an item, a step it needs, or the defect that holds that step."""

    kind: Literal["item", "step", "held by"]
    id: str
    name: str


Chain = tuple[Link, ...]


def in_words(chain: Chain) -> str:
    """coolant leak <- pack out <- deck clear <- held by: deck hinge seized"""
    return " <- ".join(f"held by: {link.name}" if link.kind == "held by" else link.name for link in chain)


class Access:
    """The access graph of a problem's work that is still to do."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self._closures: dict[tuple[str, tuple[str, ...]], tuple[str, ...]] = {}

    def steps_for(self, item: Item) -> tuple[str, ...]:
        """The ids of every step that must be out for an item, the first to come out first."""
        return self.steps_under(item.vehicle, item.needs)

    def steps_under(self, vehicle: str, needs: tuple[str, ...]) -> tuple[str, ...]:
        key = (vehicle, needs)
        if key not in self._closures:
            self._closures[key] = tuple(_closure(self.problem.by_vehicle[vehicle], needs))
        return self._closures[key]

    @cached_property
    def _holders(self) -> dict[tuple[str, str], tuple[Item, ...]]:
        found: dict[tuple[str, str], list[Item]] = {}
        for item in self.problem.work:
            for step in item.holds:
                found.setdefault((item.vehicle, step), []).append(item)
        return {place: tuple(items) for place, items in found.items()}

    def holders(self, vehicle: str, step: str) -> tuple[Item, ...]:
        """The items that hold a step; none where it is out already."""
        if step in self.problem.by_vehicle[vehicle].open_steps:
            return ()
        return self._holders.get((vehicle, step), ())

    def before(self, item: Item) -> tuple[Item, ...]:
        """The items that must be done before one: what holds its steps, and what it says it comes after."""
        held = {h.id: h for step in self.steps_for(item) for h in self.holders(item.vehicle, step)}
        named = {i: self.problem.by_item[i] for i in item.after if i in self.problem.by_item}
        return tuple(one for one in {**held, **named}.values() if one.status != "done")

    def chains(self, item: Item) -> list[Chain]:
        """Every way down from an item, those that are held first."""
        start: Chain = (Link("item", item.id, item.title),)
        found = list(self._down(item, start, frozenset((item.id,))))[:CHAINS_MOST]
        return sorted(found, key=lambda chain: (not _held(chain), -len(chain), in_words(chain)))

    def _down(self, item: Item, so_far: Chain, seen: frozenset[str]) -> Iterator[Chain]:
        steps = self.problem.by_vehicle[item.vehicle].by_step
        needs = [steps[need] for need in item.needs if need in steps]
        if not needs:
            yield so_far
        for step in needs:
            yield from self._through(item.vehicle, step, so_far, seen)

    def _through(self, vehicle: str, step: Step, so_far: Chain, seen: frozenset[str]) -> Iterator[Chain]:
        mark = f"step:{step.id}"
        if mark in seen:
            return
        here: Chain = (*so_far, Link("step", step.id, step.name))
        steps = self.problem.by_vehicle[vehicle].by_step
        under = [steps[need] for need in step.needs if need in steps]
        holders = [one for one in self.holders(vehicle, step.id) if one.id not in seen]
        for holder in holders:
            yield from self._down(holder, (*here, Link("held by", holder.id, holder.title)), seen | {mark, holder.id})
        for lower in under:
            yield from self._through(vehicle, lower, here, seen | {mark})
        if not under and not holders:
            yield here

    @cached_property
    def graph(self) -> "nx.DiGraph[Node]":
        """Every item and step, with an edge to what must come before it."""
        graph: nx.DiGraph[Node] = nx.DiGraph()
        for vehicle in self.problem.vehicles:
            for step in vehicle.steps:
                node: Node = ("step", vehicle.id, step.id)
                graph.add_node(node)
                graph.add_edges_from((node, ("step", vehicle.id, need)) for need in step.needs)
                graph.add_edges_from(
                    (node, ("item", vehicle.id, holder.id)) for holder in self.holders(vehicle.id, step.id)
                )
        for item in self.problem.work:
            node = ("item", item.vehicle, item.id)
            graph.add_node(node)
            graph.add_edges_from((node, ("step", item.vehicle, need)) for need in item.needs)
            graph.add_edges_from((node, ("item", o.vehicle, o.id)) for o in self.before(item) if o.id in item.after)
        return graph

    @cached_property
    def blocked(self) -> dict[str, Blocked]:
        """What cannot be planned, by item id, and all that waits for it in turn."""
        found = {one.item: one for item in self.problem.work if (one := self._obstacle(item))}
        for item in self._in_order():
            if item.id in found:
                continue
            for first in self.before(item):
                if (root := found.get(first.id)) is not None:
                    why = f"held by {first.title}: {root.why}"
                    found[item.id] = Blocked(item.id, "held", why, root.root)
                    break
        return found

    def _in_order(self) -> list[Item]:
        """The items, those that others wait for first; those in a circle are blocked already and come anyhow."""
        condensed = nx.condensation(self.graph)
        rank = {}
        for place, group in enumerate(reversed(list(nx.topological_sort(condensed)))):
            for node in condensed.nodes[group]["members"]:
                rank[node] = place
        return sorted(self.problem.work, key=lambda i: (rank[("item", i.vehicle, i.id)], GRAVITY[i.severity], i.id))

    def _obstacle(self, item: Item) -> Blocked | None:
        if item.wish is not None and item.wish.order == "left out":
            return Blocked(item.id, "left out", item.wish.words, item.id)
        found = self._impossible(item)
        if found is None and (undated := [wait for wait in item.waits if wait.due is None]):
            found = ("no date", f"waits for {undated[0].what}, and nobody has named a date")
        if found is None and not item.diagnosed:
            found = ("find out", "nobody knows yet what it needs: find out first")
        return Blocked(item.id, found[0], found[1], item.id) if found else None

    def _impossible(self, item: Item) -> tuple[Obstacle, str] | None:
        vehicle = self.problem.by_vehicle[item.vehicle]
        if (ring := self._ring(item)) is not None:
            return "circle", ring
        if lost := [step for step in self._asked(item) if step not in vehicle.by_step]:
            return "unknown step", f'needs the step "{lost[0]}", which {vehicle.name} does not have'
        steps = [vehicle.by_step[step] for step in self.steps_for(item)]
        for name, people in [(item.title, item.hands), *((step.name, step.people) for step in steps)]:
            if people > self.problem.workshop.people_at_once:
                have = self.problem.workshop.people_at_once
                return "people", f"{name} takes {people} people at once, and there are {have}"
        for use in (*item.uses, *(use for step in steps for use in step.uses)):
            if self.problem.workshop.resources.get(use, 0) < 1:
                return "resource", f"needs {use}, which the workshop does not have"
        return None

    def _asked(self, item: Item) -> Iterator[str]:
        yield from item.needs
        vehicle = self.problem.by_vehicle[item.vehicle]
        for step in self.steps_for(item):
            yield from vehicle.by_step[step].needs

    def _ring(self, item: Item) -> str | None:
        """The circle an item stands in; or one among its steps that no defect is the cause of."""
        bare = [step for step in self.steps_for(item) if not self.holders(item.vehicle, step)]
        nodes: list[Node] = [
            ("item", item.vehicle, item.id),
            *(("step", item.vehicle, step) for step in bare),
        ]
        return next((self._rings[node] for node in nodes if node in self._rings), None)

    @cached_property
    def _rings(self) -> dict[Node, str]:
        """The nodes that wait for themselves, with the circle in words."""
        rings: dict[Node, str] = {}
        for group in nx.strongly_connected_components(self.graph):
            alone = next(iter(group))
            if len(group) == 1 and not self.graph.has_edge(alone, alone):
                continue
            ring = nx.find_cycle(self.graph.subgraph(group), min(group))
            words = " <- ".join(self._name(edge[0]) for edge in ring)
            rings.update(dict.fromkeys(group, f"a circle: {words} <- {self._name(ring[0][0])}"))
        return rings

    def _name(self, node: Node) -> str:
        kind, vehicle, name = node
        if kind == "item":
            return self.problem.by_item[name].title
        return self.problem.by_vehicle[vehicle].by_step[name].name

    @cached_property
    def holds_up(self) -> dict[str, tuple[Item, ...]]:
        """For each item that holds a step: all other items that wait for it, directly or through others."""
        return {item.id: self._waiting_for(item) for item in self.problem.work if item.holds}

    def _waiting_for(self, item: Item) -> tuple[Item, ...]:
        above = nx.ancestors(self.graph, ("item", item.vehicle, item.id))
        ids = sorted(name for kind, _, name in above if kind == "item" and name != item.id)
        return tuple(sorted((self.problem.by_item[i] for i in ids), key=lambda i: (GRAVITY[i.severity], i.id)))


def _held(chain: Chain) -> bool:
    return any(link.kind == "held by" for link in chain)


def _closure(vehicle: Vehicle, needs: tuple[str, ...]) -> Iterator[str]:
    """Steps in the order in which they come out; unknown ones are left out, and a circle is walked once."""
    done: set[str] = set()

    def visit(step: str) -> Iterator[str]:
        if step in done or step not in vehicle.by_step:
            return
        done.add(step)
        for need in vehicle.by_step[step].needs:
            yield from visit(need)
        yield step

    for need in needs:
        yield from visit(need)
