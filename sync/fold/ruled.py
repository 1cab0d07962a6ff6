"""What was ruled about a defect and what work was done on it, field by field; disputes over a field are conflicts."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

import msgspec

from sync.codes import conflict_code
from sync.entries import PartEntry, Permit, PlanWish, Ruling, Work
from sync.fold import fields
from sync.fold.authority import gravity, signs_off
from sync.fold.context import Context
from sync.fold.fields import Merged, Said
from sync.fold.log import canonical, of_kind
from sync.fold.speech import sighting
from sync.state import Conflict, Cost, Sighting

#: Least advanced first: in dispute the first of these stands.
WORK_STATES = ("open", "waiting", "in hand", "mended", "tested", "signed off")
PERMIT_DAYS = 7


def work_state(work: Work, system: str, context: Context) -> str:
    """How far a work entry says it is. Signed off by one who may not, it is tested; of no system, a lead alone may."""
    allowed = signs_off(context.editions, work.edition, work.by, system)
    return "tested" if work.state == "signed off" and not allowed else work.state


@dataclass(frozen=True, slots=True)
class Rulings:
    """The fields of one thing (a defect's line, a report, a vehicle), each merged by awareness.

    `ids` are all the entry ids under which it is spoken of; `vehicle` and `subject` name its conflicts.
    """

    ids: Sequence[str]
    context: Context
    vehicle: str
    subject: tuple[str, ...]
    merged: dict[str, Merged] = field(default_factory=dict)

    @property
    def spoken_of(self) -> bool:
        """Whether any ruling or work is about it at all."""
        about = self.context.about
        return bool(about) and any(name in about for name in self.ids)

    def __getitem__(self, name: str) -> Any:
        return self.of(name).value

    def of(self, name: str) -> Merged:
        """One field; in dispute nothing stands, but where `_SAFER` knows a safer one."""
        if name not in self.merged:
            if not self.spoken_of:
                return _NOTHING
            said = self.context.set_about(self.ids, name)
            if name in _CAUTIOUS:
                said = _in_force(said, self.context)
            same = _SAME.get(name, msgspec.to_builtins)
            found = fields.merge(said, self.context.cloned, same=same, safer=_SAFER.get(name))
            if name in _CAUTIOUS and said:
                stands = min(said, key=lambda one: (_SAFER[name](one.value), canonical(one.logged)))
                found = Merged(stands.value, stands, found.sides)
            self.merged[name] = found
        return self.merged[name]

    def work(self, system: str) -> Merged:
        """The newest work; the less advanced in dispute. A sign-off by one who may not is a test at most."""

        def state(work: Work) -> str:
            return work_state(work, system, self.context)

        said = [self.context.desk(logged, logged.entry) for logged in self.context.work_about(self.ids)]
        found = fields.merge(said, self.context.cloned, same=state, safer=lambda work: WORK_STATES.index(state(work)))
        self.merged["work"] = found
        return found

    def conflicts(self) -> list[Conflict]:
        """The disputes over the fields that were asked for."""
        return [self._conflict(name, merged) for name, merged in self.merged.items() if merged.sides]

    def _conflict(self, name: str, merged: Merged) -> Conflict:
        sides = tuple(said_sighting(side, name) for side in merged.sides)
        texts = [f"{side.by}: {side.said}" for side in sides]
        stands = merged.stands.entry if merged.stands else ""
        meanwhile = "" if stands else "; until it is settled it counts as not said"
        return Conflict(
            id=conflict_code(self.vehicle, *self.subject, name),
            kind="field",
            vehicle=self.vehicle,
            field=name,
            why=f"{name}: {'; '.join(texts)}; neither knew of the other{meanwhile}",
            sides=sides,
            stands=stands,
        )


#: Fields under which a vehicle may do less: only a lead takes one back, or puts a later end to it.
_CAUTIOUS = frozenset({"escalated", "temporary", "severity"})


def _in_force(said: Sequence[Said], context: Context) -> list[Said]:
    """What nobody with authority has replaced; what others take back stays."""
    given = [one for one in said if one.value is not None or context.lead(one.logged.entry)]
    leads = [one for one in given if context.lead(one.logged.entry)]
    return [one for one in given if not any(context.knew(lead, one) for lead in leads if lead is not one)]


_NOTHING = Merged(None)
#: What two values of a field have to agree in; elsewhere in everything.
_SAME = {
    "closed": lambda value: value is None,
    "escalated": lambda value: value is None,
    "void": lambda value: value is None,
    "revoked": lambda value: value is None,
    "severity": lambda value: value and value.to,
}
#: Keys that put the safer value first. A field that is not here stands empty in dispute.
_SAFER: dict[str, Any] = {
    "escalated": lambda value: value is None,
    "revoked": lambda value: value is None,
    "severity": lambda value: -gravity(value.to) if value else -9,
    "temporary": lambda value: (value is None, value.until.isoformat() if value else ""),
    "owner": lambda value: value or "",
    "ask": lambda value: value.who if value else "",
    "diagnosis": str,
    "state": lambda value: value or "",
    "belongs_to": lambda value: value or "",
    "know_how": lambda value: value or "",
    "name": lambda value: value or "",
}


def said_sighting(said: Said, name: str) -> Sighting:
    """One side of a dispute over a field."""
    entry = said.logged.entry
    value = said.value if not isinstance(said.value, Work) else said.value.state
    return sighting(entry, said=value_words(value), note=_reason(entry, name))


def value_words(value: object) -> str:
    """A field's value as a person reads it; "taken back" for none."""
    if value is None:
        return "taken back"
    if isinstance(value, str):
        return value
    if isinstance(value, list):
        return ", ".join(map(str, value))
    if isinstance(value, PartEntry):
        due = f"due {value.due.isoformat()}" if value.due else ""
        return ", ".join(text for text in (value.state, value.where, due) if text)
    parts = msgspec.to_builtins(value)
    return ", ".join(f"{name} {part}" for name, part in parts.items()) if isinstance(parts, dict) else str(parts)


def _reason(entry: object, name: str) -> str:
    if isinstance(entry, Ruling):
        return getattr(getattr(entry.set, name), "reason", "") or ""
    return getattr(entry, "note", "") or getattr(entry, "reason", "") or ""


def work_sightings(ids: Sequence[str], context: Context) -> tuple[Sighting, ...]:
    """All work on a defect, its own and its jobs', in canonical order."""
    entries = [context.content(logged.entry) for logged in context.work_about(ids)]
    seen = [sighting(e, said=e.state, note=e.note or "") for e in entries if isinstance(e, Work)]
    return tuple(sorted(seen, key=lambda s: (s.device, s.seq, s.entry)))


def spent(ids: Sequence[str], context: Context) -> Cost:
    """Hours and money booked on the defect itself; what was booked on a job is the job's."""
    own = set(ids)
    work = [w for w in of_kind(Work, context.work_about(ids)) if w.about in own]
    return Cost(hours=sum(w.hours or 0 for w in work), cost=sum(w.cost or 0 for w in work))


def permit_of(rulings: Rulings) -> tuple[Permit | None, str]:
    """A permit with the day it was written; it ends after 7 days, whatever it says. None where it was revoked."""
    merged = rulings.of("permit")
    if merged.value is None or merged.stands is None or rulings["revoked"] is not None:
        return None, ""
    written = merged.stands.logged.entry.at.date()
    until = min(merged.value.until, written + timedelta(days=PERMIT_DAYS))
    return msgspec.structs.replace(merged.value, until=until), written.isoformat()


def wish_of(rulings: Rulings) -> tuple[PlanWish | None, str]:
    """What is wanted of the plan, and who said so; nothing while people disagree."""
    merged = rulings.of("plan")
    if merged.value is None or merged.stands is None:
        return None, ""
    return merged.value, merged.stands.logged.entry.by
