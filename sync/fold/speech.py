"""Entries -> statements: what a finding, a settlement, a ruling or a sign-off says of a fault."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from sync.entries import AnyEntry, Finding, Job, Reading, Ruling, Settle, Work, kind_of
from sync.fold.authority import signs_off
from sync.fold.awareness import by_id
from sync.fold.context import Context
from sync.fold.fields import Said
from sync.fold.log import Logged, of_kind
from sync.fold.statement import Statement, Via, known_with, says_of
from sync.state import Severity, Sighting

#: Finds an entry's content by id: a settlement's choice.
Look = Callable[[str], Logged | None]


def sighting(entry: AnyEntry, day: str = "", round_: str = "", **more: object) -> Sighting:
    """What every kind has in common, as a person reads it."""
    base: dict[str, object] = {
        "entry": entry.id,
        "device": entry.device,
        "seq": entry.seq,
        "by": entry.by,
        "at": entry.at.isoformat(),
        "kind": kind_of(entry),
        "day": day,
        "round": round_,
    }
    return Sighting(**{**base, **more})  # type: ignore[arg-type]


def spoken_fault(finding: Finding, context: Context, faults: Mapping[str, str]) -> str:
    """The fault a finding speaks of: named, or that of the defect it is a verdict on; empty where nothing says.

    Something else is a fault of its own, under its opening entry's id, until a ruling names a fault of the check.
    """
    root = finding.defect or finding.id
    placing = context.placing(finding) if context.about else None
    if placing is not None and placing.value.fault:
        return str(placing.value.fault)
    if finding.fault is not None:
        return finding.fault
    if finding.check is None:
        return root
    return faults.get(root, "")


def finding_statement(logged: Logged, fault: str | None, context: Context) -> Statement | None:
    """None for a finding that states nothing."""
    finding = context.content(logged.entry)
    if not isinstance(finding, Finding) or (says := says_of(finding)) is None:
        return None
    view = context.walk_view(finding.walk, finding.device)
    placing = context.placing(finding) if context.about else None
    present = says in ("present", "put right")
    seen = Sighting(
        entry=finding.id,
        device=finding.device,
        seq=finding.seq,
        by=finding.by,
        at=finding.at.isoformat(),
        kind="finding",
        day=view.day,
        round=view.round,
        walk=finding.walk or "",
        present=present,
        severity=finding.severity if present else None,
        reading=finding.reading,
        leak=finding.leak,
        verdict=finding.verdict,
        put_right=finding.put_right,
        note=finding.note or "",
        photos=tuple(finding.photos),
    )
    return Statement(
        seen=seen,
        says=says,
        fault=fault,
        knows=known_with(view.knows, finding.knows),
        own=finding.knows,
        edition=finding.edition,
        names=((finding.defect,) if finding.defect else ()) + view.names + by_id(finding.knows),
        station=finding.station or "",
        via=Via(placing.entry, placing.device, placing.seq) if placing else None,
    )


@dataclass(frozen=True, slots=True)
class Outcome:
    """What a settlement says: `present`, with severity and reading; the fault of the entry it chose."""

    present: bool
    severity: Severity | None = None
    reading: Reading | None = None
    fault: str | None = None


def settle_statement(logged: Logged, look: Look, context: Context) -> Statement | None:
    """None while the entry it chose has not arrived, or was taken back."""
    entry = context.content(logged.entry)
    if not isinstance(entry, Settle) or (outcome := _outcome(entry, look, context)) is None:
        return None
    return Statement(
        seen=sighting(
            entry,
            present=outcome.present,
            severity=outcome.severity if outcome.present else None,
            reading=outcome.reading,
            note=entry.reason,
        ),
        says="settled" if outcome.present else "unsettled",
        fault=outcome.fault,
        knows=entry.knows,
        edition=entry.edition,
        names=((entry.choose,) if entry.choose else ()) + by_id(entry.knows),
    )


def _outcome(entry: Settle, look: Look, context: Context) -> Outcome | None:
    if entry.choose is None:
        present = entry.result == "defect" or (entry.result is None and entry.severity is not None)
        return Outcome(present, entry.severity, entry.reading, entry.fault)
    chosen = look(entry.choose)
    if chosen is None or chosen.entry.id == entry.id or context.is_void(chosen):
        return None
    found = _chosen(chosen.entry, look, context)
    if found is None:
        return None
    return Outcome(
        found.present,
        entry.severity or found.severity,
        entry.reading or found.reading,
        entry.fault if entry.fault is not None else found.fault,
    )


def _chosen(entry: AnyEntry, look: Look, context: Context) -> Outcome | None:
    match entry:
        case Finding():
            says = says_of(entry)
            if says is None:
                return None
            present = says in ("present", "put right")
            fault = None if says == "sound" else spoken_fault(entry, context, {})
            return Outcome(present, entry.severity if present else None, entry.reading, fault)
        case Settle():
            # a settlement of a settlement of itself would never end: only what that one says outright counts
            return _outcome(entry, lambda _: None, context) if entry.choose is None else _through(entry, look, context)
        case Ruling() | Work():
            return Outcome(False)
        case _:
            return None


def _through(entry: Settle, look: Look, context: Context) -> Outcome | None:
    chosen = look(entry.choose) if entry.choose else None
    if chosen is None or not isinstance(chosen.entry, Finding) or context.is_void(chosen):
        return None
    return _chosen(chosen.entry, look, context)


@dataclass(frozen=True, slots=True)
class Ruled:
    """A ruling's or a sign-off's statement. It states nothing where another, unaware or later, takes it back, or where
    its writer may not sign off."""

    statement: Statement
    lead: bool = False
    contested: bool = False


def rulings(
    fault: str, ids: list[str], system: str, context: Context, after: Callable[[str, Said], bool]
) -> list[Ruled]:
    """What rulings and sign-offs say of one fault, by the entry ids of its sightings.

    `after(id, said)`: whether the sighting `id` was made by somebody who knew `said`; what is said of such a sighting
    belongs to a later episode and takes nothing back.
    """
    found = [*_closings(fault, ids, context, after), *_severities(fault, ids, context, after)]
    return [*found, *_sign_offs(fault, ids, system, context, after)]


def _closings(fault: str, ids: list[str], context: Context, after: Callable[[str, Said], bool]) -> list[Ruled]:
    said = context.set_about(ids, "closed")
    opposed = [other for other in said if other.value is None]
    found = []
    for one in said:
        closes = one.value is not None
        contested = closes and any(_contests(other, one, context, after) for other in opposed)
        note = one.value.reason if closes else ""
        statement = _ruling(one, "closed" if closes else "reopened", fault, note=note, present=not closes)
        found.append(Ruled(statement, context.lead(one.logged.entry), contested=contested))
    return found


def _severities(fault: str, ids: list[str], context: Context, after: Callable[[str, Said], bool]) -> list[Ruled]:
    """Only a lead takes one back; a lead's word in dispute lowers nothing."""
    said = context.set_about(ids, "severity")
    opposed = [other for other in said if other.value is None and context.lead(other.logged.entry)]
    found = []
    for one in said:
        if one.value is not None:
            against = [other for other in opposed if _contests(other, one, context, after)]
            statement = _ruling(one, "severity", fault, note=one.value.reason, severity=one.value.to, present=True)
            lead = context.lead(one.logged.entry) and not against
            found.append(Ruled(statement, lead, contested=any(context.knew(other, one) for other in against)))
    return found


def _sign_offs(
    fault: str, ids: list[str], system: str, context: Context, after: Callable[[str, Said], bool]
) -> list[Ruled]:
    work = [context.desk(logged, logged.entry) for logged in context.work_about(ids)]
    opposed = [other for other in work if other.value.state != "signed off"]
    found = []
    for one in work:
        if one.value.state == "signed off":
            by = one.value
            statement = _ruling(one, "signed off", fault, note=by.note or "", present=False)
            signed = signs_off(context.editions, by.edition, by.by, system)
            contested = not signed or any(_contests(other, one, context, after) for other in opposed)
            found.append(Ruled(statement, context.lead(by), contested))
    return found


def _contests(other: Said, one: Said, context: Context, after: Callable[[str, Said], bool]) -> bool:
    """Whether `other` takes `one` back: `one` did not know it, and it is not about what came after."""
    from_jobs = [entry for job in of_kind(Job, context.jobs.get(other.names[0], ())) for entry in job.defects]
    if any(after(about, one) for about in (other.names[0], *from_jobs)):
        return False
    return not context.knew(one, other)


def _ruling(said: Said, says: str, fault: str, **more: object) -> Statement:
    entry = said.logged.entry
    return Statement(
        seen=sighting(entry, **more),  # type: ignore[arg-type]
        says=says,  # type: ignore[arg-type]
        fault=fault,
        knows=dict(said.knows),
        edition=entry.edition,
        names=said.names,
    )
