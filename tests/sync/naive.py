"""The merge rule told a second time, slowly: sets, recursion and a graph of who knew whom; nothing of the fold's code.

It knows findings, something else, corrections, settlements, rulings on closing, severity, escalation, repairs for now
and placing, voiding, work, clones, renamed checks and several editions; one vehicle. For each fault at each place it
gives the conflict's sides, and whether it is open, in which severity, with which sightings.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from itertools import combinations
from typing import Any

import networkx

from builder.edition import Edition
from sync.fold import Logged
from tests.sync.naive_log import GRAVITY, ROUND, Found, Log, Said, Subject


@dataclass
class Matter:
    """One fault: what is said of it, who knew whom, and from that everything else."""

    log: Log
    subject: Subject
    heard: list[Said]
    voided: list[Said]
    place: list[Said]

    # --- rulings about it

    @cached_property
    def ids(self) -> dict[str, str]:
        """Entry id -> the live sighting under which it is spoken of."""
        live = {s.id for s in self.heard if s.there and s.fault == self.subject.fault}
        everywhere = {s.id: s.fault for s in self.place if s.there}
        found = {name: name for name in live}
        owned = set()
        for v in self.voided:
            if v.there:
                same = sorted(name for name, fault in everywhere.items() if fault == v.fault)
                heirs = [name for name in self.heirs(v.id) if name in same] or same[:1]
                if heirs:
                    owned.add(v.id)
                    if heirs[0] in live:
                        found[v.id] = heirs[0]
        for name in live:
            for earlier in self.stood_in_for(name):
                if earlier not in owned:
                    found[earlier] = name
        return found

    def heirs(self, name: str) -> list[str]:
        graph = networkx.DiGraph((b["corrects"], b["id"]) for b in self.log.bodies if b.get("corrects"))
        if name not in graph:
            return []
        return sorted(n for n in networkx.descendants(graph, name) if graph.out_degree(n) == 0)

    def stood_in_for(self, name: str) -> list[str]:
        by_id: dict[str, list[str]] = {}
        for b in sorted(self.log.bodies, key=lambda b: (b["device"], b["seq"], b["id"], b["hash"])):
            if b.get("corrects"):
                by_id.setdefault(b["id"], []).append(b["corrects"])
        found: list[str] = []
        while name in by_id and by_id[name][0] not in found:
            name = by_id[name][0]
            found.append(name)
        return found

    def about(self, kind: str, name: str | None = None) -> list[dict[str, Any]]:
        return [b for b in self.log.kind(kind) if b["about"] in self.ids and (name is None or name in b.get("set", {}))]

    def after(self, about: str, ruling: dict[str, Any]) -> bool:
        """Whether the sighting it is about was made by somebody who knew the ruling."""
        sighting = next(s for s in self.heard if s.id == self.ids[about])
        forth = self.log.claims(sighting.body, ruling, sighting.knows, sighting.names)
        back = self.log.claims(ruling, sighting.body, ruling.get("knows", {}), (ruling["about"],))
        return forth and not back

    def against(self, other: dict[str, Any], ruling: dict[str, Any]) -> bool:
        return not self.after(other["about"], ruling) and not self.log.knew_body(ruling, other)

    @cached_property
    def rulings(self) -> list[Said]:
        found = []
        closings = self.about("ruling", "closed")
        for b in closings:
            if b["set"]["closed"] is None:
                found.append(self.ruling(b, "reopened"))
            elif not any(o["set"]["closed"] is None and self.against(o, b) for o in closings):
                found.append(self.ruling(b, "closed"))
        words = self.about("ruling", "severity")
        backs = [o for o in words if o["set"]["severity"] is None and self.log.lead(o)]
        for b in words:
            if b["set"]["severity"] is not None:
                disputed = [o for o in backs if self.against(o, b)]
                if not any(self.log.knew_body(o, b) for o in disputed):
                    said = self.ruling(b, "word", b["set"]["severity"]["to"])
                    said.lead = said.lead and not disputed
                    found.append(said)
        work = self.about("work")
        for b in work:
            opposed = any(o["state"] != "signed off" and self.against(o, b) for o in work)
            if b["state"] == "signed off" and self.log.may_sign(b, self.system) and not opposed:
                found.append(self.ruling(b, "signed"))
        return found

    def ruling(self, body: dict[str, Any], says: str, severity: str | None = None) -> Said:
        return Said(
            body,
            says,
            self.subject.fault,
            body.get("knows", {}),
            severity=severity,
            names=(body["about"],),
            lead=self.log.lead(body),
            finding=False,
        )

    @cached_property
    def described(self) -> tuple[Edition, Any]:
        """The check by the edition in force, else by one that somebody here wrote under; with that edition."""
        keys = sorted(
            {s.body["edition"] for s in self.place if s.says != "sound" or s.settled} & self.log.editions.keys()
        )
        for edition in (self.log.edition, *(self.log.editions[key] for key in keys)):
            view = edition.by_vehicle["badger"]
            for check in self.namesakes(view) if self.subject.check else ():
                if not self.subject.spot or self.subject.spot in check.spots:
                    return edition, check
        return self.log.edition, self.log.edition.by_vehicle["badger"].checks.get(self.subject.check)

    def namesakes(self, view: Any) -> list[Any]:
        today = self.log.edition.by_vehicle["badger"].checks.get(self.subject.check)
        names = (self.subject.check, *(today.formerly if today else ()))
        return [view.checks[name] for name in names if name in view.checks]

    @property
    def check(self) -> Any:
        return self.described[1]

    @property
    def usual(self) -> str:
        """The fault's own severity by the check's edition, else by one that somebody wrote of this fault under."""
        fault = self.check.fault(self.subject.fault) if self.check else None
        for key in sorted({s.body["edition"] for s in self.said}) if self.check else ():
            if key in self.log.editions:
                view = self.log.editions[key].by_vehicle["badger"]
                fault = fault or next((f for c in self.namesakes(view) if (f := c.fault(self.subject.fault))), None)
        return fault.severity if fault else "major"

    @property
    def system(self) -> str:
        return (self.check.system or "") if self.check else ""

    def cautious(self, name: str, about: set[str]) -> list[Any]:
        """Values of a field that nobody with authority has replaced."""
        said = [b for b in self.log.kind("ruling") if b["about"] in about and name in b["set"]]
        said = [b for b in said if b["set"][name] is not None or self.log.lead(b)]
        leads = [b for b in said if self.log.lead(b)]
        left = [b for b in said if not any(self.log.knew_body(o, b) for o in leads if o is not b)]
        return [b["set"][name] for b in left if b["set"][name] is not None]

    # --- who knew whom

    @cached_property
    def said(self) -> list[Said]:
        return [*self.heard, *self.rulings]

    @cached_property
    def graph(self) -> "networkx.DiGraph[Said]":
        graph: networkx.DiGraph[Said] = networkx.DiGraph()
        graph.add_nodes_from(self.said)
        graph.add_edges_from((a, b) for a in self.said for b in self.said if self.log.knew(a, b))
        for ring in list(networkx.strongly_connected_components(graph)):
            graph.remove_edges_from([(a, b) for a in ring for b in ring if graph.has_edge(a, b)])
        placed = [(a, b) for a, b in graph.edges if b.via is not None]
        for a, b in placed:
            if b.id not in a.names and not self.log.claims(a.body, b.via, a.knows, a.names):
                graph.remove_edge(a, b)
        return graph

    def knew(self, a: Said, b: Said) -> bool:
        return bool(self.graph.has_edge(a, b))

    # --- episodes

    @cached_property
    def idle(self) -> set[Said]:
        return self.weighed[2]

    @cached_property
    def number(self) -> dict[Said, int]:
        return self.weighed[0]

    @cached_property
    def closing(self) -> set[Said]:
        return self.weighed[1]

    @cached_property
    def shutting(self) -> set[Said]:
        """Those that close, or meant to and are outweighed by what they did not know."""
        return {s for s in self.closing | self.weighed[3] if s not in self.idle}

    @cached_property
    def weighed(self) -> tuple[dict[Said, int], set[Said], set[Said], set[Said]]:
        """Over and over, until no closing is left whose writer had no authority and did not know how grave it was."""
        outweighed: set[Said] = set()
        while True:
            number, closing, idle = self.weigh(outweighed)
            live = [s for s in self.said if s not in idle]
            again = set()
            for c in closing:
                unaware = {s for s in live if not self.knew(s, c)}
                if not self.entitled(c) and not self.light(unaware, number[c], number, closing):
                    again.add(c)
            if not again:
                return number, closing, idle, outweighed
            outweighed |= again

    def entitled(self, s: Said) -> bool:
        return s.says == "signed" or (s.lead and not s.finding)

    def weigh(self, outweighed: set[Said]) -> tuple[dict[Said, int], set[Said], set[Said]]:
        number: dict[Said, int] = {}
        closing: set[Said] = set()
        idle: set[Said] = set()
        for s in reversed(list(networkx.topological_sort(self.graph))):
            s.severity = s.claimed
            down = {d for d in self.graph.successors(s) if d not in idle}
            past = {d for d in networkx.descendants(self.graph, s) if d not in idle and self.reaches(down, d)}
            seen = max((number[d] for d in down if not d.absent), default=0)
            shut = max((number[d] for d in down if d in closing), default=0)
            if not s.absent:
                number[s] = max(seen, shut + 1) if s.there and s.finding else max(seen, shut, 1)
                mine = {d for d in past if number[d] == number[s]}
                if s.severity is None and self.in_force(mine) is None:
                    s.severity = self.usual
            if s.there and s.finding:
                if s.says == "put right" and self.light(past | {s}, number[s], number, closing):
                    closing.add(s)
            elif not s.absent:
                lower = GRAVITY[self.heavier(s.claimed)] < GRAVITY[self.in_force(mine)]
                if s.settled and s.claimed and not s.lead and lower:
                    idle.add(s)
            else:
                number[s] = seen
                if seen and (self.entitled(s) or self.light(past, seen, number, closing)):
                    closing.add(s)
                elif seen and s.settled:
                    idle.add(s)
            closing -= outweighed
            if s in idle:
                number[s] = 0
        return number, closing, idle

    def reaches(self, down: set[Said], far: Said) -> bool:
        """Whether one of these is it, or leads to it."""
        return far in down or any(far in networkx.descendants(self.graph, d) for d in down)

    def light(self, view: set[Said], episode: int, number: dict[Said, int], closing: set[Said]) -> bool:
        """Whether an episode, with earlier ones still open as far as these go, is advisory or minor, and not only
        repaired for now."""
        still = {number[s] for s in view if s.there and number[s] and not self.closed(s, view, closing)}
        first = min({*still, episode})
        mine = {s for s in view if first <= number.get(s, 0) <= episode}
        if GRAVITY[self.in_force(mine)] > GRAVITY["minor"]:
            return False
        seen = {s.id for s in mine if s.there}
        return not self.cautious("temporary", {name for name, of in self.ids.items() if of in seen})

    def closed(self, s: Said, view: set[Said], closing: set[Said]) -> bool:
        """Known, among these, to one that closes, or to a sighting that was itself closed."""
        if s in closing:
            return True
        later = [o for o in view if self.knew(o, s)]
        return any(o in closing or (o.there and self.closed(o, view, closing)) for o in later)

    def in_force(self, mine: set[Said]) -> str | None:
        words = [s for s in mine if s.lead and s.claimed and (s.says == "word" or s.settled)]
        counted = [s.severity for s in mine if not s.absent and not any(self.knew(w, s) for w in words)]
        worst = max(counted, key=lambda s: GRAVITY[s], default=None)
        return self.heavier(worst)

    def heavier(self, severity: str | None) -> str | None:
        rules = self.described[0].leak_rules
        group = rules.fluids.get(self.check.leak) if self.check and self.check.leak else None
        floor = max((r.floor for r in rules.never if group in r.groups), key=lambda s: GRAVITY[s], default=None)
        if severity is not None and self.cautious("escalated", set(self.ids)):
            severity = {"advisory": "minor", "minor": "major"}.get(severity, "dangerous")
        return max((floor, severity), key=lambda s: GRAVITY[s])

    # --- disagreement

    def live(self) -> list[Said]:
        return [s for s in self.said if s not in self.idle]

    def is_gone(self, s: Said) -> bool:
        return s.absent or (s.says == "put right" and s in self.shutting)

    @cached_property
    def disputes(self) -> list[tuple[Said, Said]]:
        def counts(s: Said) -> bool:
            return s.finding or s.settled or s in self.shutting or s.says in ("reopened", "word")

        pairs = combinations([s for s in self.live() if counts(s)], 2)
        return [
            (a, b)
            for a, b in pairs
            if not self.knew(a, b) and not self.knew(b, a) and self.disagree(a, b) and not self.ended(a, b)
        ]

    def disagree(self, a: Said, b: Said) -> bool:
        if a.says == "word" or b.says == "word":
            apart = bool(a.claimed and b.claimed and a.claimed != b.claimed)
            return apart and not (self.is_gone(a) or self.is_gone(b)) and self.number[a] == self.number[b]
        if self.is_gone(a) and self.is_gone(b):
            return False
        if self.is_gone(a) or self.is_gone(b):
            absent, there = (a, b) if self.is_gone(a) else (b, a)
            if absent in self.shutting:
                return self.number[there] <= self.number[absent]
            return self.occasion(absent, there) != "earlier"
        if self.number[a] != self.number[b]:
            return False
        tolerance = self.check.reading.tolerance if self.check and self.check.reading else 0
        apart = a.reading is not None and b.reading is not None and abs(a.reading - b.reading) > tolerance
        return apart or bool(a.claimed and b.claimed and a.claimed != b.claimed)

    def occasion(self, a: Said, b: Said) -> str:
        if not (a.day and b.day):
            return "unknown"
        if a.day != b.day:
            return "earlier" if a.day < b.day else "later"
        if "full" in (a.round, b.round) or a.round == b.round:
            return "same"
        return "earlier" if ROUND[a.round] < ROUND[b.round] else "later"

    def ended(self, a: Said, b: Said) -> bool:
        presents = not (a.absent or b.absent)
        for s in self.live():
            ends = s.settled or (s in self.shutting and not s.finding) or (s.says == "word" and presents)
            if ends and s is not a and s is not b and (self.knew(s, a) or self.knew(s, b)):
                return True
        return self.looked_again(a, b) or self.looked_again(b, a)

    def looked_again(self, a: Said, other: Said) -> bool:
        return any(
            s.finding
            and s.body["device"] == a.body["device"]
            and s is not other
            and self.knew(s, a)
            and not self.knew(s, other)
            for s in self.live()
        )

    # --- the outcome

    def found(self) -> Found:
        there = [s for s in self.live() if s.there]
        alive = {self.number[s] for s in there if not self.closed(s, set(self.live()), self.closing)}
        for pair in self.disputes:
            alive |= {self.number[s] for s in pair if not self.is_gone(s)}
        sides = frozenset(s.id for pair in self.disputes for s in pair)
        alive &= {self.number[s] for s in there}
        if not alive:
            return Found(sides)
        span = range(min(alive), max(alive) + 1)
        mine = {s for s in self.live() if self.number[s] in span}
        sightings = frozenset(s.id for s in mine if s.there)
        return Found(sides, True, self.in_force(mine), sightings)


def matters(log: Log) -> Iterator[Matter]:
    """Every fault that anybody saw, place by place."""
    for place in sorted(log.places()):
        said = [s for s in log.findings() if log.place(s.body) == place]
        said += list(log.settlements(place))
        voided = [s for s in log.findings(void=True) if log.place(s.body) == place]
        for fault in sorted({s.fault for s in said if s.there and s.fault is not None}):
            mine = [s for s in said if s.fault in (None, fault)]
            yield Matter(log, Subject(*place, fault), mine, voided, said)


def naive(logged: Iterable[Logged], editions: Mapping[str, Edition], adopted: str) -> dict[Subject, Found]:
    """Every fault that anybody saw."""
    log = Log.of(logged, editions, adopted)
    return {Subject.of(m.subject): m.found() for m in matters(log)}
