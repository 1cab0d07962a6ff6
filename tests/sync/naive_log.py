"""The log as the naive telling reads it: plain dicts, what is void, and the statements that entries make."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from itertools import combinations
from typing import Any

import msgspec

from builder.edition import Edition
from sync.fold import Logged
from sync.state import Conflict, Defect

GRAVITY = {None: 0, "advisory": 1, "minor": 2, "major": 3, "dangerous": 4}
ROUND = {"before": 0, "hot": 1, "cold": 2}


@dataclass(frozen=True)
class Subject:
    """`spot` is empty for something else: its fault, an entry's id, tells it."""

    check: str
    spot: str
    fault: str

    @classmethod
    def of(cls, row: "Conflict | Defect | Subject") -> "Subject":
        return cls(row.check, row.spot if row.check else "", row.fault)


@dataclass
class Found:
    """What is so of one fault."""

    sides: frozenset[str] = frozenset()
    open: bool = False
    severity: str | None = None
    sightings: frozenset[str] = frozenset()


@dataclass(eq=False)
class Said:
    """One statement: `says` is there, gone, sound, put right, closed, reopened, word (a severity), signed."""

    body: dict[str, Any]
    says: str
    fault: str | None
    knows: dict[str, int]
    day: str = ""
    round: str = ""
    severity: str | None = None
    reading: float | None = None
    names: tuple[str, ...] = ()
    lead: bool = False
    settled: bool = False
    finding: bool = True
    claimed: str | None = None  # the severity it names itself
    via: dict[str, Any] | None = None  # the ruling that placed it

    def __post_init__(self) -> None:
        self.claimed = self.severity

    @property
    def id(self) -> str:
        return str(self.body["id"])

    @property
    def there(self) -> bool:
        return self.says in ("there", "put right", "reopened")

    @property
    def absent(self) -> bool:
        return self.says in ("gone", "sound", "closed", "signed")


@dataclass
class Log:
    """Every entry as a plain dict, each once."""

    bodies: list[dict[str, Any]]
    editions: Mapping[str, Edition]
    adopted: str
    cloned: dict[str, int] = field(default_factory=dict)

    @classmethod
    def of(cls, logged: Iterable[Logged], editions: Mapping[str, Edition], adopted: str) -> "Log":
        once = {(one.entry.id, one.hash): one for one in logged}
        bodies = []
        for (_, hash_), one in once.items():
            kind = one.entry.__struct_config__.tag
            bodies.append({**msgspec.to_builtins(one.entry), "kind": kind, "hash": hash_})
        log = cls(bodies, editions, adopted)
        for one, other in combinations(bodies, 2):
            same_seq = (one["device"], one["seq"]) == (other["device"], other["seq"])
            if one["device"] == other["device"] and (same_seq or one["id"] == other["id"]):
                first = min(one["seq"], other["seq"])
                log.cloned[one["device"]] = min(log.cloned.get(one["device"], first), first)
        return log

    def kind(self, name: str) -> Iterator[dict[str, Any]]:
        return (b for b in self.bodies if b["kind"] == name and not self.void(b))

    @cached_property
    def edition(self) -> Edition:
        """Adopted last; the smallest of several adopted unaware of each other."""
        adopts = [b for b in self.kind("adopt") if b["edition"] in self.editions]
        heads = [a for a in adopts if not any(self.knew_body(o, a) for o in adopts)]
        return self.editions[min((a["edition"] for a in heads), default=self.adopted)]

    def today(self, check: str) -> str:
        """What the edition in force calls a check; itself where no edition leads there."""
        here = self.edition.by_vehicle["badger"].checks
        names = [check]
        for name in names:
            if name in here:
                return name
            for edition in (self.edition, *(self.editions[key] for key in sorted(self.editions))):
                later = edition.by_vehicle["badger"].formerly.get(name)
                if later is not None and later not in names:
                    names.append(later)
        return check

    def place(self, body: dict[str, Any]) -> tuple[str, str]:
        """Where a finding belongs."""
        ruling = self.placing(body)
        if ruling is not None:
            placed = ruling["set"]["placed"]
            return self.today(placed["check"]), placed.get("spot") or ""
        if body.get("check") is None:
            return "", body.get("defect") or body["id"]
        return self.today(body["check"]), body.get("spot") or ""

    def placing(self, body: dict[str, Any]) -> dict[str, Any] | None:
        """The ruling that placed it, or what it is a verdict on; what was found at a check only a lead moves."""
        for name in (body.get("defect"), body["id"]):
            said = [b for b in self.kind("ruling") if b["about"] == name and "placed" in b["set"]]
            said = [b for b in said if body.get("check") is None or self.lead(b)]
            heads = [b for b in said if not any(self.knew_body(o, b) and self.may_replace(o, b) for o in said)]
            heads = [b for b in heads if self.lead(b)] or heads
            worst = max((self.floor(b) for b in heads), default=0)
            if worst:
                heads = [b for b in heads if self.floor(b) == worst]
            values = [b["set"]["placed"] for b in heads]
            if values and values[0] is not None and (worst or all(value == values[0] for value in values)):
                return min(heads, key=lambda b: (b["device"], b["seq"], b["id"], b["hash"]))
        return None

    def may_replace(self, later: dict[str, Any], earlier: dict[str, Any]) -> bool:
        return self.lead(later) or (self.floor(later) >= self.floor(earlier) and not self.lead(earlier))

    def floor(self, ruling: dict[str, Any]) -> int:
        """The gravity of the published rule over where it places something."""
        placed = ruling["set"]["placed"]
        check = self.edition.by_vehicle["badger"].checks.get(self.today(placed["check"])) if placed else None
        rules = self.edition.leak_rules
        group = rules.fluids.get(check.leak) if check and check.leak else None
        return max((GRAVITY[r.floor] for r in rules.never if group in r.groups), default=0)

    def settle_place(self, body: dict[str, Any]) -> tuple[str, str]:
        if body.get("check") is None:
            return "", body.get("fault") or body.get("choose") or ""
        return self.today(body["check"]), body.get("spot") or ""

    def at(self, body: dict[str, Any]) -> tuple[str, str]:
        return self.place(body) if body["kind"] == "finding" else self.settle_place(body)

    def lead(self, body: dict[str, Any]) -> bool:
        person = self.person(body)
        return bool(person and person.lead)

    def may_sign(self, body: dict[str, Any], system: str) -> bool:
        person = self.person(body)
        return bool(person and (person.lead or (system and system in person.signs_off)))

    def person(self, body: dict[str, Any]) -> Any:
        edition = self.editions.get(body["edition"])
        return edition.by_initials.get(body["by"]) if edition else None

    def corrections(self, body: dict[str, Any]) -> list[dict[str, Any]]:
        if sum(b["id"] == body["id"] for b in self.bodies) > 1:
            return []
        desk = body["kind"] not in ("walk", "finding", "report", "run", "fluid")
        return [
            c
            for c in self.bodies
            if c.get("corrects") == body["id"]
            and c["device"] == body["device"]
            and c["seq"] > body["seq"]
            and (not desk or c["by"] == body["by"] or self.lead(c))
        ]

    def void(self, body: dict[str, Any]) -> bool:
        if "void" in body.get("set", {}):
            return bool(self.corrections(body))
        return any(not self.ruled_void(c) for c in self.corrections(body)) or self.ruled_void(body)

    def ruled_void(self, body: dict[str, Any]) -> bool:
        if "void" in body.get("set", {}):
            return False
        rulings = [
            b
            for b in self.bodies
            if b["kind"] == "ruling"
            and b["about"] == body["id"]
            and "void" in b["set"]
            and self.lead(b)
            and not self.void(b)
        ]
        heads = [r for r in rulings if not any(self.knew_body(o, r) for o in rulings)]
        return bool(heads) and all(r["set"]["void"] is not None for r in heads)

    def claims(self, a: dict[str, Any], b: dict[str, Any], a_knows: dict[str, int], names: tuple[str, ...]) -> bool:
        if b["id"] in names or b["id"] in a_knows:
            return True
        if b["seq"] >= self.cloned.get(b["device"], b["seq"] + 1):
            return False
        if a["device"] == b["device"]:
            return bool(b["seq"] < a["seq"])
        return bool(b["seq"] <= a_knows.get(b["device"], 0))

    def knew_body(self, a: dict[str, Any], b: dict[str, Any]) -> bool:
        def names(body: dict[str, Any]) -> tuple[str, ...]:
            return (body["about"],) if "about" in body else ()

        forth = self.claims(a, b, a.get("knows", {}), names(a))
        return forth and not self.claims(b, a, b.get("knows", {}), names(b))

    def knew(self, a: Said, b: Said) -> bool:
        forth = self.claims(a.body, b.body, a.knows, a.names)
        return a is not b and forth and not self.claims(b.body, a.body, b.knows, b.names)

    def walk(self, finding: dict[str, Any]) -> tuple[dict[str, int], str, str]:
        walks = [w for w in self.kind("walk") if w["walk"] == finding.get("walk") and w["device"] == finding["device"]]
        walks = [w for w in walks if w["state"] == "started"] or walks
        if not walks:
            return {}, "", ""
        first = min(walks, key=lambda w: (w["seq"], w["id"], w["day"], w["round"]))
        every = [w.get("knows", {}) for w in walks]
        knows = {d: min(k[d] for k in every) for d in every[0] if all(d in k for k in every)}
        return knows, first["day"], first["round"]

    # --- statements

    def findings(self, *, void: bool = False) -> Iterator[Said]:
        for body in self.bodies:
            if body["kind"] != "finding" or self.void(body) != void:
                continue
            verdict = body.get("verdict")
            if verdict is None and (
                body["result"] == "unchecked" or (body["result"], body.get("check")) == ("sound", None)
            ):
                continue
            walk_knows, day, round_ = self.walk(body)
            own = body.get("knows", {})
            knows = {d: max(walk_knows.get(d, 0), own.get(d, 0)) for d in {*walk_knows, *own}}
            there = verdict in ("same", "worse") or (verdict is None and body["result"] == "defect")
            says = "gone" if verdict == "gone" else "sound" if not there else "there"
            if there and body.get("put_right"):
                says = "put right"
            yield Said(
                body,
                says,
                None if says == "sound" else self.fault_of(body),
                knows,
                day,
                round_,
                body.get("severity") if there else None,
                body["reading"]["value"] if body.get("reading") else None,
                (body["defect"],) if body.get("defect") else (),
                self.lead(body),
                via=self.placing(body) if says != "sound" else None,
            )

    def fault_of(self, body: dict[str, Any]) -> str:
        ruling = self.placing(body)
        if ruling is not None and ruling["set"]["placed"].get("fault"):
            return str(ruling["set"]["placed"]["fault"])
        if body.get("fault") is not None:
            return str(body["fault"])
        if body.get("check") is None:
            return str(body.get("defect") or body["id"])
        for other in self.bodies:
            if other["id"] == body.get("defect") and other["kind"] == "finding" and other is not body:
                plain = other.get("verdict") is None and other["result"] != "defect"
                if self.place(other) == self.place(body) and not plain:
                    return self.fault_of(other) if other.get("fault") or not other.get("defect") else ""
        return ""

    def settlements(self, place: tuple[str, str]) -> Iterator[Said]:
        for body in self.kind("settle"):
            if self.settle_place(body) != place:
                continue
            outcome = self.outcome(body)
            if outcome is None:
                continue
            there, severity, reading, fault = outcome
            yield Said(
                body,
                "there" if there else "gone",
                body["fault"] if body.get("fault") is not None else fault,
                body.get("knows", {}),
                severity=severity if there else None,
                reading=reading,
                names=(body["choose"],) if body.get("choose") else (),
                lead=self.lead(body),
                settled=True,
                finding=False,
            )

    def outcome(  # noqa: PLR0911 - one way out for each thing that a choice may be
        self, body: dict[str, Any]
    ) -> tuple[bool, str | None, float | None, str | None] | None:
        reading = body["reading"]["value"] if body.get("reading") else None
        if not body.get("choose"):
            there = body.get("result") == "defect" or (body.get("result") is None and body.get("severity") is not None)
            return there, body.get("severity"), reading, body.get("fault")
        place = self.settle_place(body)
        chosen = [b for b in self.bodies if b["id"] == body["choose"] and b is not body]
        placed = ("finding", "settle")
        chosen = [b for b in chosen if b["kind"] in ("ruling", "work", *placed)]
        chosen = [b for b in chosen if b["kind"] not in placed or self.at(b) == place]
        if not chosen:
            return None
        one = min(chosen, key=lambda b: (b["device"], b["seq"], b["id"], b["hash"]))
        if self.void(one):
            return None
        if one["kind"] == "settle":
            return self.through(body, one, place)
        if one["kind"] in ("ruling", "work"):
            return False, body.get("severity"), reading, body.get("fault")
        said = next((s for s in self.findings() if s.body is one), None)
        if said is None:
            return None
        there = said.says in ("there", "put right")
        fault = body["fault"] if body.get("fault") is not None else said.fault
        first = reading if reading is not None else said.reading
        return there, body.get("severity") or said.severity, first, fault

    def through(
        self, body: dict[str, Any], one: dict[str, Any], place: tuple[str, str]
    ) -> tuple[bool, str | None, float | None, str | None] | None:
        """A settlement that chose a settlement: what that one says outright, or the finding that it chose."""
        last = next((b for b in self.bodies if b["id"] == one.get("choose")), None)
        if one.get("choose") and (last is None or last["kind"] != "finding"):
            return None
        if last is not None and self.at(last) != place:
            return None
        found = self.outcome(one)
        if found is None:
            return None
        there, severity, reading, fault = found
        first = body["reading"]["value"] if body.get("reading") else reading
        return there, body.get("severity") or severity, first, body.get("fault") or fault

    def places(self) -> set[tuple[str, str]]:
        found = {self.place(s.body) for s in self.findings()}
        return found | {self.settle_place(b) for b in self.kind("settle")}
