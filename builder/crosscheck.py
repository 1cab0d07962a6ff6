"""What no single file can tell: names that must exist elsewhere, limits that must agree, graphs without cycles."""

from collections import Counter
from collections.abc import Iterable, Iterator
from difflib import get_close_matches
from itertools import pairwise

import networkx as nx

from builder.compose import Composed, compose, spot_names
from builder.fleet import (
    COLD_MOST_CHECKS,
    HOT_MOST_CHECKS,
    RULED_SYSTEMS,
    Check,
    Fault,
    FleetFile,
    ReadingLimits,
    Station,
    Template,
    VehicleFile,
)
from builder.leak_rules import FLUIDS, fluid_name
from builder.mistakes import Mistake, shown
from builder.quantities import QUANTITIES, units_of


def crosscheck(
    file: FleetFile, templates: dict[str, Template | None], vehicles: dict[str, VehicleFile | None]
) -> list[Mistake]:
    """Every mistake between files; a file that could not be read is None and not complained of twice."""
    resources = frozenset(file.workshop.resources)
    mistakes = [*_people(file), *_signing(file, templates)]
    for name, template in templates.items():
        if template is not None:
            mistakes += _template(f"templates/{name}.toml", template, resources)
    mistakes += _twins(vehicles)
    for name, vehicle in vehicles.items():
        if vehicle is not None:
            mistakes += _vehicle(f"vehicles/{name}.toml", vehicle, templates)
    return mistakes


def _people(file: FleetFile) -> Iterator[Mistake]:
    for initials in _repeated(person.initials for person in file.people):
        yield Mistake("fleet.toml", "people", f'initials "{initials}" twice', "initials of one person each")
    for name in _repeated(day.date.isoformat() for day in file.display_day):
        yield Mistake("fleet.toml", "display_day", f"two on {name}", "one display day a date")


def _signing(file: FleetFile, templates: dict[str, Template | None]) -> Iterator[Mistake]:
    """A system that nothing is of: whoever signs it off would never be asked."""
    read = [template for template in templates.values() if template is not None]
    systems = {c.system for t in read for s in t.station for c in s.check if c.system} | set(RULED_SYSTEMS)
    if len(read) == len(templates):
        for person in file.people:
            key = f"people[{person.initials}].signs_off"
            yield from _unknown("fleet.toml", key, person.signs_off, systems, "a system that checks are of")


def _twins(vehicles: dict[str, VehicleFile | None]) -> Iterator[Mistake]:
    first: dict[str, str] = {}
    for name, vehicle in sorted(vehicles.items()):
        if vehicle is None:
            continue
        if vehicle.id in first:
            found = f'"{vehicle.id}", which vehicles/{first[vehicle.id]}.toml has too'
            yield Mistake(f"vehicles/{name}.toml", "id", found, "an id that no other vehicle has")
        first.setdefault(vehicle.id, name)


def _template(file: str, template: Template, resources: frozenset[str]) -> Iterator[Mistake]:
    for kind in ("station", "access", "while_open", "service", "first_start"):
        for twin in _repeated(item.id for item in getattr(template, kind)):
            yield Mistake(file, kind, f'id "{twin}" twice', f"ids that differ, in each {kind}")
    for station in template.station:
        for twin in _repeated(check.id for check in station.check):
            yield Mistake(file, f"station[{station.id}].check", f'id "{twin}" twice', "ids that differ")
        for check in station.check:
            yield from _check(file, f"station[{station.id}].check[{check.id}]", check, resources)
    for step in template.access:
        yield from _unknown(file, f"access[{step.id}].uses", step.uses, resources, "a workshop resource")


def _check(file: str, key: str, check: Check, resources: frozenset[str]) -> Iterator[Mistake]:
    for twin in _repeated(fault.id for fault in check.fault):
        yield Mistake(file, f"{key}.fault", f'id "{twin}" twice', "ids that differ")
    if not check.rounds:
        yield Mistake(file, f"{key}.rounds", "an empty list", "at least one of before, hot, cold, full")
    if isinstance(check.spots, tuple):
        for twin in _repeated(check.spots):
            yield Mistake(file, f"{key}.spots", f'spot "{twin}" twice', "spots that differ")
        if not check.spots:
            yield Mistake(file, f"{key}.spots", "an empty list", "spot names, or no spots key")
    if check.reading is not None:
        yield from _reading(file, f"{key}.reading", check.reading)
    if check.leak is not None and fluid_name(check.leak) not in FLUIDS:
        # A misspelt fluid would slip past the rule that no fuel leak is allowed.
        yield Mistake(file, f"{key}.leak", shown(check.leak), "one of " + ", ".join(FLUIDS))
    if check.system and (meant := _misspelt(check.system)):
        # No rule would know it: she would be towed without brakes, and nobody else would sign the work off.
        yield Mistake(file, f"{key}.system", shown(check.system), shown(meant))
    for fault in check.fault:
        yield from _fault(file, f"{key}.fault[{fault.id}]", fault, resources)


def _misspelt(system: str) -> str:
    """The system with a rule of its own that was meant by another spelling; empty where none was."""
    if system in RULED_SYSTEMS:
        return ""
    return next(iter(get_close_matches(system.strip().lower(), RULED_SYSTEMS, 1, 0.85)), "")


def _fault(file: str, key: str, fault: Fault, resources: frozenset[str]) -> Iterator[Mistake]:
    yield from _unknown(file, f"{key}.uses", fault.uses, resources, "a workshop resource")
    if isinstance(fault.hours, tuple) and fault.hours[0] > fault.hours[1]:
        yield Mistake(file, f"{key}.hours", shown(list(fault.hours)), "the least hours first, then the most")


def _reading(file: str, key: str, reading: ReadingLimits) -> Iterator[Mistake]:
    units = units_of(reading.quantity)
    if not units:
        expected = "one of " + ", ".join(QUANTITIES)
        yield Mistake(file, f"{key}.quantity", shown(reading.quantity), expected)
    elif reading.unit not in units:
        expected = f"a unit of {reading.quantity}: {', '.join(units)}"
        yield Mistake(file, f"{key}.unit", shown(reading.unit), expected)
    given = [
        (name, value) for name in ("least", "low", "high", "most") if (value := getattr(reading, name)) is not None
    ]
    for (lower, small), (upper, large) in pairwise(given):
        if small > large:
            yield Mistake(file, f"{key}.{lower}", f"{small:g}, above {upper} {large:g}", "least <= low <= high <= most")


def _vehicle(file: str, vehicle: VehicleFile, templates: dict[str, Template | None]) -> Iterator[Mistake]:
    yield from _unknown(file, "templates", vehicle.templates, frozenset(templates), "a file in templates/")
    for twin in _repeated(vehicle.templates):
        yield Mistake(file, "templates", f'"{twin}" twice', "each template once")
    named = [templates.get(name) for name in dict.fromkeys(vehicle.templates)]
    if any(template is None for template in named):
        return
    composed = compose(vehicle, [template for template in named if template])
    asked = {f"{s.id}/{c.id}" for t in named if t for s in t.station for c in s.check}
    stations = {s.id for t in named if t for s in t.station}
    yield from _unknown(file, "check", vehicle.check, asked, "a check of this vehicle's templates")
    yield from _unknown(file, "drop.checks", vehicle.drop.checks, asked | stations, "a check or station it has")
    yield from _stations(file, vehicle, composed)
    yield from _overrides(file, vehicle, composed)
    yield from _steps(file, composed)
    yield from _rounds(file, composed)


def _stations(file: str, vehicle: VehicleFile, composed: Composed) -> Iterator[Mistake]:
    ids = frozenset(station.id for station in composed.stations)
    for station in composed.stations:
        key = f"templates -> station[{station.id}]"
        for field in ("name", "order", "at"):
            if getattr(station, field) is None:
                yield Mistake(file, f"{key}.{field}", "nothing in any of its templates", "a value in one of them")
        if station.mirror is not None and station.mirror not in ids | set(vehicle.drop.checks):
            yield Mistake(file, f"{key}.mirror", shown(station.mirror), "a station this vehicle has")
        for twin in _repeated(check.id for check in station.check):
            yield Mistake(file, f"{key}.check", f'id "{twin}" from two templates', "ids that differ")
        for check in station.check:
            try:
                spot_names(check, vehicle)
            except ValueError as error:
                expected = f"a whole number from 1 to 60 in [facts], or spots counted out ({station.id}/{check.id})"
                yield Mistake(file, f"facts.{check.spots}", str(error), expected)
    yield from _former(file, composed.stations)


def _former(file: str, stations: tuple[Station, ...]) -> Iterator[Mistake]:
    now = {f"{s.id}/{c.id}" for s in stations for c in s.check}
    former = [old for s in stations for c in s.check for old in c.formerly]
    for old in _repeated(former):
        yield Mistake(file, "templates -> formerly", f'"{old}" of two checks', "an earlier id of one check")
    for old in sorted(now & set(former)):
        yield Mistake(file, "templates -> formerly", f'"{old}", a check of today', "an id no longer in use")


def _overrides(file: str, vehicle: VehicleFile, composed: Composed) -> Iterator[Mistake]:
    checks = {f"{s.id}/{c.id}": c for s in composed.stations for c in s.check}
    for full_id, over in vehicle.check.items():
        check = checks.get(full_id)
        if check is None:
            continue
        key = f'check."{full_id}"'
        faults = frozenset(fault.id for fault in check.fault)
        yield from _unknown(file, f"{key}.fault", over.fault, faults, f"a fault of {full_id}")
        if over.reading is not None and check.reading is not None:
            yield from _reading(file, f"{key}.reading", check.reading)
        for fault in check.fault:
            if fault.id in over.fault:
                yield from _fault(file, f"{key}.fault.{fault.id}", fault, frozenset(fault.uses))


def _steps(file: str, composed: Composed) -> Iterator[Mistake]:
    steps = frozenset(step.id for step in composed.access)
    for kind in ("access", "while_open", "service", "first_start"):
        for twin in _repeated(item.id for item in getattr(composed, kind)):
            yield Mistake(file, f"templates -> {kind}", f'id "{twin}" from two templates', "ids that differ")
    graph = access_graph(composed)
    behind = {step: nx.descendants(graph, step) for step in graph}
    expected = "an access step of this vehicle's templates"
    for step in composed.access:
        yield from _unknown(file, f"templates -> access[{step.id}].needs", step.needs, steps, expected)
    for task in composed.while_open:
        yield from _unknown(file, f"templates -> while_open[{task.id}].access", [task.access], steps, expected)
    for station in composed.stations:
        for check in station.check:
            for fault in check.fault:
                key = f"templates -> {station.id}/{check.id}.fault[{fault.id}]"
                yield from _unknown(file, f"{key}.needs", fault.needs, steps, expected)
                yield from _unknown(file, f"{key}.holds", fault.holds, steps, expected)
                yield from _blocks_itself(file, key, fault, behind)
    yield from _cycles(file, graph)


def access_graph(composed: Composed) -> "nx.DiGraph[str]":
    """An edge from each access step to every step it needs."""
    graph: nx.DiGraph[str] = nx.DiGraph()
    graph.add_nodes_from(step.id for step in composed.access)
    graph.add_edges_from((step.id, need) for step in composed.access for need in step.needs)
    return graph


def _cycles(file: str, graph: "nx.DiGraph[str]") -> Iterator[Mistake]:
    for cycle in sorted(sorted(c) for c in nx.strongly_connected_components(graph)):
        if len(cycle) > 1 or graph.has_edge(cycle[0], cycle[0]):
            loop = " needs ".join([*cycle, cycle[0]])
            yield Mistake(file, "templates -> access", f"a circle: {loop}", "steps that can be opened in some order")


def _blocks_itself(file: str, key: str, fault: Fault, behind: dict[str, set[str]]) -> Iterator[Mistake]:
    """`behind`: step -> every step that must be open before it."""
    needed = set(fault.needs).union(*(behind.get(need, ()) for need in fault.needs))
    for step in sorted(needed & set(fault.holds)):
        yield Mistake(file, f"{key}.holds", f'"{step}", which its own mending needs', "a chain that can be worked")


def _rounds(file: str, composed: Composed) -> Iterator[Mistake]:
    checks = [check for station in composed.stations for check in station.check]
    for name, most in (("hot", HOT_MOST_CHECKS), ("cold", COLD_MOST_CHECKS)):
        count = sum(name in check.rounds for check in checks)
        if count > most:
            yield Mistake(file, "templates -> rounds", f"{count} checks in the {name} round", f"at most {most}")


def _unknown(
    file: str, key: str, names: Iterable[str], known: frozenset[str] | set[str], expected: str
) -> Iterator[Mistake]:
    for name in names:
        if name not in known:
            listed = ", ".join(sorted(known)[:12]) or "none are defined"
            yield Mistake(file, key, shown(name), f"{expected} ({listed}{', …' if len(known) > 12 else ''})")


def _repeated(names: Iterable[str]) -> list[str]:
    return sorted(name for name, count in Counter(names).items() if count > 1)
