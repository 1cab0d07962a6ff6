"""A judged fault -> lines of the backlog: one open defect at most, and those that were closed."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import msgspec

from builder.edition import BARS
from builder.fleet import Severity
from sync.codes import code
from sync.entries import Reading, Work
from sync.fold.authority import gravest, gravity, signs_off
from sync.fold.awareness import bits, claims
from sync.fold.fields import Said
from sync.fold.matter import Matter
from sync.fold.readings import safer_reading
from sync.fold.ruled import Rulings, permit_of, spent, wish_of, work_sightings
from sync.fold.statement import ABSENT, PRESENT, Statement, written_order
from sync.fold.words import occasion_words, says_words
from sync.state import Closing, Conflict, Defect, Placing, Sighting, Status

_HOW = {
    "signed off": "signed off",
    "closed": "closed by lead",
    "gone": "gone",
    "sound": "sound",
    "unsettled": "settled",
    "put right": "put right",
}


@dataclass(frozen=True)
class Line:
    """Episodes `first` to `last` of a matter as one line. `sightings`: mask of its presents; `said`: of everything."""

    matter: Matter
    first: int
    last: int
    sightings: int
    said: int
    open: bool

    @cached_property
    def openers(self) -> list[str]:
        """Sightings that knew of no other of the line, smallest id first."""
        case = self.matter.case
        return sorted({case.said[i].entry for i in bits(self.sightings) if not case.knew[i] & self.sightings})

    @cached_property
    def seen(self) -> list[Statement]:
        """Its sightings by occasion; those of walks that have not come in last."""
        said = [self.matter.case.said[i] for i in bits(self.sightings)]
        return sorted(said, key=lambda s: (s.on, s.device, s.seq, s.entry))

    @cached_property
    def ids(self) -> list[str]:
        """Every entry id under which it may be spoken of."""
        return self.matter.ids(statement.entry for statement in self.seen)

    @cached_property
    def doubts(self) -> list[Statement]:
        """Who saw an open one gone, sound or put right with knowledge of it, without that closing it."""
        case, found = self.matter.case, []
        for i in bits(self.said & ~case.closing) if self.open else ():
            says = case.said[i].says
            doubtful = says == "put right" or (says in ABSENT and case.knew[i] & self.sightings)
            if doubtful and not case.known_by(i, self.sightings):
                found.append(case.said[i])
        return sorted(found, key=written_order)


def lines(matter: Matter) -> list[Line]:
    """Episodes that are open together are one line; every closed one is its own."""
    case = matter.case
    presents = case.mask(PRESENT)
    numbers = sorted({case.number[i] for i in bits(presents)})
    alive = {case.number[i] for i in bits(presents & ~case.closed)} | {case.number[i] for i, _, _ in matter.disputes}
    still = [number for number in numbers if number in alive]
    shut = [number for number in numbers if not still or not still[0] <= number <= still[-1]]
    found = [_line(matter, number, number, is_open=False) for number in shut]
    return found + ([_line(matter, still[0], still[-1], is_open=True)] if still else [])


def _line(matter: Matter, first: int, last: int, *, is_open: bool) -> Line:
    case = matter.case
    said = sum(1 << i for i, number in enumerate(case.number) if first <= number <= last) & ~case.idle
    return Line(matter, first, last, said & case.mask(PRESENT), said, is_open)


def defect(line: Line) -> tuple[Defect, list[Conflict]]:
    """One line whole, and the disputes over its fields."""
    rulings = Rulings(line.ids, line.matter.context, line.matter.place.vehicle, (line.openers[0],))
    parts = _named(line) | _looked_up(line) | _seen(line) | _ruled(line, rulings)
    rulings.of("closed")  # what it decides is decided elsewhere; a dispute shows here
    placed = rulings.of("placed")
    if placed.sides:
        by = {statement.via.entry for statement in line.seen if statement.via is not None}
        stands = next((side for side in placed.sides if side.entry in by), None)
        rulings.merged["placed"] = placed._replace(stands=stands)
    return Defect(**parts), rulings.conflicts()


def _named(line: Line) -> dict[str, Any]:
    """Under which ids and codes it is found. What its openers took back still finds it."""
    openers, vehicle = line.openers, line.matter.place.vehicle
    also = sorted({*openers, *line.matter.ids(openers)} - {openers[0]})
    return {
        "opening": openers[0],
        "code": code(vehicle, openers[0]),
        "also": tuple(also),
        "also_codes": tuple(code(vehicle, name) for name in also),
        "vehicle": vehicle,
        "episode": line.last,
    }


def _looked_up(line: Line) -> dict[str, Any]:
    """What the edition says of the place and the fault."""
    matter, known, usual = line.matter, line.matter.known, line.matter.usual
    station_id = known.check.station if known.check else next((s.station for s in line.seen if s.station), "")
    station = known.view.stations.get(station_id) if known.view else None
    return {
        "station": station_id,
        "check": matter.place.check,
        "spot": matter.place.spot if matter.place.check else "",
        "fault": matter.fault,
        "placing": _placing(matter, line.seen),
        "station_name": station.name if station else station_id,
        "check_name": known.check.ask if known.check else matter.place.check,
        "fault_name": fault_name(matter, line.seen),
        "system": matter.system,
        "area": known.check.area if known.check else None,
        **({name: getattr(usual, name) for name in _OF_FAULT} if usual else {}),
    }


_OF_FAULT = ("needs", "holds", "parts", "uses", "hours", "people")


def _seen(line: Line) -> dict[str, Any]:
    """What people saw."""
    seen = line.seen
    days = [s.seen.day for s in seen if s.seen.day]
    doubts = line.doubts
    return {
        "first_day": min(days, default=""),
        "last_day": max(days, default=""),
        "seen_by": tuple(dict.fromkeys(s.seen.by for s in seen)),
        "sightings": tuple(as_side(line.matter, s) for s in seen),
        "doubts": tuple(as_side(line.matter, d) for d in doubts),
        "to_confirm": "; ".join(_doubt_words(line.matter, d) for d in doubts),
        "reading": _reading(line),
        "note": _note(line),
        "photos": tuple(dict.fromkeys(photo for s in seen for photo in s.seen.photos)),
        "worse": any(s.seen.verdict == "worse" for s in _newest(line)),
        "closed": None if line.open else _closing(line),
    }


def _ruled(line: Line, rulings: Rulings) -> dict[str, Any]:
    """What was ruled, what work was done, and what follows for severity and status."""
    severity, why = _severity(line, rulings)
    context = line.matter.context
    if not rulings.spoken_of and not context.job_of:
        bars, status = _bars(line.matter, severity), _status("open", bool(line.doubts))
        return {"severity": severity, "severity_why": why, "bars": bars, "status": status, "spent": spent((), context)}
    work = rulings.work(line.matter.system)
    state = "open" if work.stands is None or _refuted(line, work.stands) else work_state(line.matter, work.value)
    permit, permit_from = permit_of(rulings)
    wish, wish_by = wish_of(rulings)
    return {
        "severity": severity,
        "severity_why": why,
        "bars": _bars(line.matter, severity),
        "status": _status(state, bool(line.doubts)),
        "mended_by": work.value.by if state in ("mended", "tested") else "",
        "wait": work.value.wait if state == "waiting" else None,
        "owner": rulings["owner"] or "",
        "diagnosis": rulings["diagnosis"],
        "temporary": rulings["temporary"],
        "permit": permit,
        "permit_from": permit_from,
        "escalated": rulings["escalated"].reason if rulings["escalated"] else "",
        "ask": rulings["ask"].who if rulings["ask"] else "",
        "know_how": rulings["know_how"] or "",
        "work": work_sightings(line.ids, context),
        "spent": spent(line.ids, context),
        "plan": wish,
        "plan_by": wish_by,
        "job": min((job for name in line.ids for job in context.job_of.get(name, ())), default=""),
    }


def _placing(matter: Matter, seen: Sequence[Statement]) -> Placing:
    if matter.known.placing != "check" or matter.fault in ("", seen[0].entry) or matter.usual is not None:
        return matter.known.placing
    return "check" if any(s.entry == matter.fault or matter.fault in s.names for s in seen) else "not placed"


def fault_name(matter: Matter, seen: Sequence[Statement]) -> str:
    """The fault's name; something else's own words where it has none."""
    if matter.usual is not None:
        return matter.usual.name
    if matter.fault and all(s.entry != matter.fault for s in seen):
        return matter.fault if matter.known.placing != "something else" else _words_of(seen)
    return _words_of(seen) if matter.fault else ""


def _words_of(seen: Sequence[Statement]) -> str:
    return next((s.seen.note.splitlines()[0][:80] for s in seen if s.seen.note), "")


def as_side(matter: Matter, statement: Statement) -> Sighting:
    """A statement as a person reads it, marked where somebody who knew it has since said something newer."""
    case = matter.case
    i = matter.index[id(statement)]
    return msgspec.structs.replace(statement.seen, replaced=True) if case.known_by(i, case.newer) else statement.seen


def _newest(line: Line) -> list[Statement]:
    """Sightings that no other sighting of the line knew."""
    case = line.matter.case
    left = line.sightings
    for i in bits(line.sightings):
        left &= ~case.knew[i]
    return [case.said[i] for i in bits(left)]


def _reading(line: Line) -> Reading | None:
    """The safer of the newest readings; one that cannot be stands only where there is no other."""
    case, can_be = line.matter.case, line.matter.limits.can_be
    taken = {i: reading for i in bits(line.sightings) if (reading := case.said[i].reading) is not None}
    possible = [i for i, reading in taken.items() if can_be(reading)]
    measured = sum(1 << i for i in possible or taken)
    newest = measured
    for i in bits(measured):
        newest &= ~case.knew[i]
    return safer_reading(line.matter.limits, [taken[i] for i in bits(newest)])


def _note(line: Line) -> str:
    """The newest notes; an older one where the newest say nothing."""
    newest = dict.fromkeys(s.seen.note for s in _newest(line) if s.seen.note)
    older = [s.seen.note for s in line.seen if s.seen.note]
    return " / ".join(newest) or (older[-1] if older else "")


def _severity(line: Line, rulings: Rulings) -> tuple[Severity, str]:
    """The severity in force, and why where it is not simply what was seen last."""
    matter, case = line.matter, line.matter.case
    said = case.in_force(line.said)
    severity = said or case.powers.usual or "major"
    newest = gravest(*(s.severity for s in _newest(line)))
    reasons = []
    ruling = rulings.of("severity")
    if ruling.stands is not None and ruling.value is not None and ruling.value.to == severity:
        reasons.append(f"{ruling.stands.logged.entry.by} ruled it {severity}: {ruling.value.reason}")
    if rulings["escalated"] is not None:
        reasons.append(f"moved up one category: {rulings['escalated'].reason}")
    if matter.floor is not None and gravity(severity) == gravity(matter.floor) > gravity(newest):
        reasons.append(f"published rule: {_rule_words(matter)}")
    if not reasons and newest is not None and gravity(severity) > gravity(newest):
        reasons.append(f"was {severity}; only a lead lowers it")
    return severity, "; ".join(reasons)


def _rule_words(matter: Matter) -> str:
    rules = matter.known.edition.leak_rules
    group = rules.fluids.get(matter.known.check.leak or "") if matter.known.check else None
    return "; ".join(rule.words for rule in rules.never if group in rule.groups)


def _bars(matter: Matter, severity: Severity) -> tuple[str, ...]:
    """The fault's own bars at its usual severity; above it what that severity bars as well, below it that alone."""
    usual = matter.usual
    if usual is None or gravity(severity) < gravity(usual.severity):
        return BARS[severity]
    return usual.bars if severity == usual.severity else tuple(dict.fromkeys((*BARS[severity], *usual.bars)))


def _doubt_words(matter: Matter, doubt: Statement) -> str:
    when = occasion_words(doubt.seen)
    said = says_words(doubt, fault_name(matter, [doubt]))
    return f"{doubt.seen.by} {said}{f' at {when}' if when else ''}; a lead confirms that"


def _refuted(line: Line, work: Said) -> bool:
    """Whether somebody who knew that it was mended or tested saw it again."""
    if work.value.state in ("open", "waiting", "in hand"):
        return False
    cloned = line.matter.context.cloned
    return any(claims(s, work, cloned) and not claims(work, s, cloned) for s in line.seen if s.finding)


def work_state(matter: Matter, work: Work) -> str:
    """The state of work; a sign-off by one who may not is a test."""
    allowed = signs_off(matter.context.editions, work.edition, work.by, matter.system)
    return "tested" if work.state == "signed off" and not allowed else work.state


def _status(work: str, doubted: bool) -> Status:
    if work in ("mended", "tested"):
        return work  # type: ignore[return-value]
    if doubted:
        return "to confirm"
    return work if work in ("in hand", "waiting") else "open"  # type: ignore[return-value]


def _closing(line: Line) -> Closing | None:
    """What closed it: with authority before a look, the first look before later ones."""
    case = line.matter.case
    closings = list(bits(line.said & case.closing))
    if not closings:
        return None
    i = min(closings, key=lambda i: (not case.authority(i), case.said[i].on, case.said[i].entry))
    said = case.said[i]
    how = _HOW[said.says] if said.says != "closed" or case.powers.leads >> i & 1 else "closed"
    reason = said.seen.note if not said.finding else ""
    return Closing(entry=said.entry, by=said.seen.by, day=said.seen.day or said.seen.at[:10], how=how, reason=reason)
