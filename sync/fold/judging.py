"""All faults of one place, judged: what was heard there and what was ruled, to defects and conflicts."""

from collections.abc import Callable, Mapping, Sequence
from typing import NamedTuple

import msgspec

from sync.codes import conflict_code
from sync.fold import lines
from sync.fold.authority import gravity
from sync.fold.awareness import Written, bits, claims
from sync.fold.conflicts import KINDS
from sync.fold.context import Context
from sync.fold.fields import Said
from sync.fold.log import Place
from sync.fold.matter import Matter, Spoken, matter
from sync.fold.placing import Known, known_place
from sync.fold.sounds import Kept, Sound, choose, kept_sounds
from sync.fold.speech import Look, Ruled, finding_statement, rulings, settle_statement
from sync.fold.statement import Statement
from sync.fold.words import why
from sync.state import Conflict, Defect


class Heard(NamedTuple):
    """What was said at a place by findings: sounds, all else in force, and what was taken back."""

    sounds: list[Sound]
    loud: list[Statement]
    voided: list[Statement]


class Judged(NamedTuple):
    """Defects and conflicts of a place by id, and the sounds that matter."""

    defects: tuple[Defect, ...]
    conflicts: tuple[Conflict, ...]
    sounds: list[Statement]


class Hearing(NamedTuple):
    """All that is said at a place, by whomever: `loud` is everything but sounds, `kept` the sounds that matter."""

    place: Place
    said: list[Statement]
    known: Known
    aliases: dict[str, tuple[str, ...]]
    ruled: dict[str, list[Ruled]]
    loud: list[Written]
    kept: list[Kept]


def hear(place: Place, heard: Heard, context: Context, look: Look) -> Hearing:
    """What findings said, with what desks said of it."""
    settled = [s for logged in context.settled(place) if (s := settle_statement(logged, look, context))]
    said = [*heard.loud, *settled]
    known = known_place(place, context.edition, context.editions, (s.edition for s in said))
    aliases = _aliases(said, heard.voided, context)
    faults = sorted({s.fault for s in said if s.present and s.fault is not None})
    ruled = {fault: _ruled(fault, said, aliases, known, context) for fault in faults}
    every = [*said, *(item.statement for items in ruled.values() for item in items)]
    loud: list[Written] = [*every, *(s.via for s in said if s.via is not None)]
    return Hearing(place, said, known, aliases, ruled, loud, kept_sounds(heard.sounds, loud, context.cloned))


def judge(hearing: Hearing, context: Context) -> Judged:
    """Every fault of the place by itself; they share its sounds."""
    place, said, known, aliases, ruled, loud, kept = hearing
    whole = {one.sound.entry: s for one in kept if (s := _statement(one.sound, context))}
    defects: list[Defect] = []
    conflicts: list[Conflict] = []
    for fault, of_desks in ruled.items():
        of_fault = [s for s in said if s.fault is None or s.fault == fault]
        beside = sum(1 << i for i, s in enumerate(loud) if not isinstance(s, Statement) or s.fault in (None, fault))
        sounds = [whole[one.sound.entry] for one in choose(kept, beside)]
        found = matter(place, known, Spoken(fault, [*of_fault, *sounds], of_desks, aliases), context)
        _report(found, defects, conflicts)
    defects.sort(key=lambda d: d.opening)
    conflicts.sort(key=lambda c: c.id)
    return Judged(tuple(defects), tuple(conflicts), list(whole.values()))


def _statement(sound: Sound, context: Context) -> Statement | None:
    return sound.whole if isinstance(sound.whole, Statement) else finding_statement(sound.whole, None, context)


def _report(found: Matter, defects: list[Defect], conflicts: list[Conflict]) -> None:
    """One fault's lines and conflicts, each naming the other."""
    of_lines = lines.lines(found)
    opening = next((line.openers[0] for line in of_lines if line.open), "")
    dispute = _conflict(found, opening)
    for line in of_lines:
        defect, over_fields = lines.defect(line)
        if line.open:
            mine = [c for c in (dispute, *over_fields) if c is not None]
            place = found.place
            conflicts += [
                msgspec.structs.replace(c, check=place.check, spot=place.spot, fault=found.fault, defect=opening)
                for c in mine
            ]
            defect = msgspec.structs.replace(defect, conflicts=tuple(sorted(c.id for c in mine)))
        defects.append(defect)


def _conflict(found: Matter, opening: str) -> Conflict | None:
    """All open disagreements about one fault are one conflict, named by the gravest kind."""
    if not found.disputes:
        return None
    place, case = found.place, found.case
    indices = sorted({i for one, other, _ in found.disputes for i in (one, other)})
    sides = sorted((case.said[i] for i in indices), key=lambda s: (s.seen.day or "~", s.device, s.seq, s.entry, s.says))
    kind = min((kind for _, _, kind in found.disputes), key=KINDS.index)
    name = lines.fault_name(found, [s for s in sides if s.present] or sides)
    return Conflict(
        id=conflict_code(place.vehicle, place.check, place.spot, found.fault),
        kind=kind,
        vehicle=place.vehicle,
        why=why(kind, sides, name) + _waiting(found, indices),
        sides=tuple(lines.as_side(found, side) for side in sides),
        stands=min(sides, key=lambda side: _safer(found, side)).entry,
        defect=opening,
    )


def _safer(found: Matter, side: Statement) -> tuple[bool, int, float, str]:
    """Present before absent, the higher severity, the reading farther outside its limits."""
    outside = found.limits.outside(side.reading) if side.reading else float("-inf")
    return (not side.seen.present, -gravity(side.severity), -outside, side.entry)


def _waiting(found: Matter, sides: Sequence[int]) -> str:
    """Settlements that would lower it, by somebody who may not."""
    case = found.case
    by = [
        case.said[i].seen.by
        for i in bits(case.idle)
        if case.said[i].says in ("settled", "unsettled") and any(case.aware(i, side) for side in sides)
    ]
    return "".join(f"; {who} settled it for the milder, which a lead may and {who} may not" for who in sorted(set(by)))


def _aliases(said: Sequence[Statement], voided: Sequence[Statement], context: Context) -> dict[str, tuple[str, ...]]:
    """Sighting -> entries it stands for: what it took back, and what was taken back of the same fault.

    So that work and rulings about an entry that was taken back find the defect that is left of it.
    """
    if not voided and not context.corrections:
        return {}
    live = {s.entry: s for s in said if s.present}
    found: dict[str, list[str]] = {}
    owned = set()
    for statement in voided:
        same = sorted(entry for entry, s in live.items() if s.fault == statement.fault)
        heirs = [entry for entry in context.replaced_by(statement.entry) if entry in same] or same[:1]
        if statement.present and heirs:
            found.setdefault(heirs[0], []).append(statement.entry)
            owned.add(statement.entry)
    for entry in live:
        for earlier in context.stood_in_for(entry):
            if earlier not in owned:
                found.setdefault(entry, []).append(earlier)
    return {entry: tuple(sorted(set(names))) for entry, names in found.items()}


def _ruled(
    fault: str, said: Sequence[Statement], aliases: Mapping[str, tuple[str, ...]], known: Known, context: Context
) -> list[Ruled]:
    """What rulings and sign-offs say of a fault, by the ids of its sightings and what they stand for."""
    if not context.about:
        return []
    sightings = {s.entry: s for s in said if s.present and s.fault == fault}
    by_id = {name: s for entry, s in sightings.items() for name in (entry, *aliases.get(entry, ()))}
    system = known.check.system or "" if known.check else ""
    return rulings(fault, sorted(by_id), system, context, _after(by_id, context))


def _after(by_id: Mapping[str, Statement], context: Context) -> Callable[[str, Said], bool]:
    def after(entry: str, ruling: Said) -> bool:
        sighting = by_id.get(entry)
        if sighting is None:
            return False
        cloned = context.cloned
        return claims(sighting, ruling, cloned) and not claims(ruling, sighting, cloned)

    return after
