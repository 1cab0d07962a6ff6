"""The log as the naive telling reads it: plain dicts, what is void, and the statements that entries make."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from itertools import combinations
from typing import Any

import msgspec

from builder.edition import Edition
from sync.fold import Logged

GRAVITY = {None: 0, "advisory": 1, "minor": 2, "major": 3, "dangerous": 4}
ROUND = {"before": 0, "hot": 1, "cold": 2}


@dataclass(frozen=True)
class Subject:
    check: str
    spot: str
    fault: str


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
    edition: Edition
    cloned: dict[str, int] = field(default_factory=dict)

    @classmethod
    def of(cls, logged: Iterable[Logged], edition: Edition) -> "Log":
        once = {(one.entry.id, one.hash): one for one in logged}
        bodies = []
        for (_, hash_), one in once.items():
            kind = one.entry.__struct_config__.tag
            bodies.append({**msgspec.to_builtins(one.entry), "kind": kind, "hash": hash_})
        log = cls(bodies, edition)
        for one, other in combinations(bodies, 2):
            same_seq = (one["device"], one["seq"]) == (other["device"], other["seq"])
            if one["device"] == other["device"] and (same_seq or one["id"] == other["id"]):
                first = min(one["seq"], other["seq"])
                log.cloned[one["device"]] = min(log.cloned.get(one["device"], first), first)
        return log

    def kind(self, name: str) -> Iterator[dict[str, Any]]:
        return (b for b in self.bodies if b["kind"] == name and not self.void(b))

    def lead(self, body: dict[str, Any]) -> bool:
        person = self.edition.by_initials.get(body["by"]) if body["edition"] == self.edition.fingerprint else None
        return bool(person and person.lead)

    def may_sign(self, body: dict[str, Any], system: str) -> bool:
        person = self.edition.by_initials.get(body["by"]) if body["edition"] == self.edition.fingerprint else None
        return bool(person and (person.lead or (system and system in person.signs_off)))

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
            if body["kind"] != "finding" or body.get("check") is None or self.void(body) != void:
                continue
            verdict = body.get("verdict")
            if verdict is None and body["result"] == "unchecked":
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
            )

    def fault_of(self, body: dict[str, Any]) -> str:
        if body.get("fault") is not None:
            return str(body["fault"])
        place = (body.get("check"), body.get("spot"))
        for other in self.bodies:
            if other["id"] == body.get("defect") and (other.get("check"), other.get("spot")) == place:
                return str(other.get("fault") or "")
        return ""

    def settlements(self, place: tuple[str, str]) -> Iterator[Said]:
        for body in self.kind("settle"):
            if (body.get("check"), body.get("spot") or "") != place:
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
        place = (body.get("check"), body.get("spot"))
        chosen = [b for b in self.bodies if b["id"] == body["choose"] and b is not body]
        placed = ("finding", "settle")
        chosen = [b for b in chosen if b["kind"] in ("ruling", "work", *placed)]
        chosen = [b for b in chosen if b["kind"] not in placed or (b.get("check"), b.get("spot")) == place]
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
        self, body: dict[str, Any], one: dict[str, Any], place: tuple[str | None, str | None]
    ) -> tuple[bool, str | None, float | None, str | None] | None:
        """A settlement that chose a settlement: what that one says outright, or the finding that it chose."""
        last = next((b for b in self.bodies if b["id"] == one.get("choose")), None)
        if one.get("choose") and (last is None or last["kind"] != "finding"):
            return None
        if last is not None and (last.get("check"), last.get("spot")) != place:
            return None
        found = self.outcome(one)
        if found is None:
            return None
        there, severity, reading, fault = found
        first = body["reading"]["value"] if body.get("reading") else reading
        return there, body.get("severity") or severity, first, body.get("fault") or fault

    def places(self) -> set[tuple[str, str]]:
        found = {(s.body["check"], s.body.get("spot") or "") for s in self.findings()}
        return found | {(b.get("check") or "", b.get("spot") or "") for b in self.kind("settle")}
