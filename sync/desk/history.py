"""Everything said of one thing, newest first and in words: sightings, rulings, work; what was taken back, and why."""

from collections.abc import Callable, Mapping, Sequence
from datetime import datetime
from typing import Any

import msgspec
from msgspec import UNSET

from builder.edition import Edition, VehicleView
from sync.entries import AnyEntry, Diagnosis, PlanWish, Reason, Ruling, Wait, Work, read_entry
from sync.errors import StoreError
from sync.exports.told import side_says
from sync.fold.authority import is_lead
from sync.fold.redacting import may_redact
from sync.paper.words import temporary
from sync.plan.problem import Wish
from sync.state import Defect, Sighting
from sync.store import Store
from sync.store_rows import EntryRow


class Told(msgspec.Struct, frozen=True, kw_only=True):
    """One thing that one person said. `words` are whole lines; `taken_back` says by whom and why, or is empty."""

    entry: str
    kind: str
    by: str
    device: str
    at: str  # RFC 3339, by that device's own clock
    day: str = ""
    round: str = ""
    words: tuple[str, ...] = ()
    note: str = ""
    photos: tuple[str, ...] = ()
    counted: bool = True  # false for what speaks against it
    taken_back: str = ""
    may_redact: tuple[str, ...] = ()


class Void(msgspec.Struct, frozen=True):
    by: str
    reason: str


def defect_history(store: Store, edition: Edition, defect: Defect) -> list[Told]:
    """All that was said of one defect, newest first."""
    view = edition.by_vehicle.get(defect.vehicle)
    ids = dict.fromkeys((defect.opening, *defect.also, *(s.entry for s in (*defect.sightings, *defect.doubts))))
    said = store.said_about(list(ids))
    voids = voided(store, [*ids, *(row.id for row in said)])
    told = [_seen(s, voids, counts=True) for s in defect.sightings]
    told += [_seen(s, voids, counts=False) for s in defect.doubts]
    told += [_desk(row, view, voids) for row in said]
    return sorted(told, key=lambda one: (datetime.fromisoformat(one.at), one.entry), reverse=True)


def voided(store: Store, ids: Sequence[str]) -> dict[str, Void]:
    """Which of these entries count no more since a lead ruled them void, by whom and why."""
    gone = store.taken_back(ids)
    found: dict[str, Void] = {}
    for row in store.said_about(sorted(gone)):
        entry = read_entry(row.body)
        if isinstance(entry, Ruling) and isinstance(entry.set.void, Reason) and _leads(store, entry):
            found[entry.about] = Void(entry.by, entry.set.void.reason)
    return found


def ruling_words(ruling: Ruling, view: VehicleView | None) -> tuple[str, ...]:
    """What a ruling sets, one line a field."""
    values = ((name, getattr(ruling.set, name)) for name in ruling.set.__struct_fields__)
    return tuple(_field(name, value, view) for name, value in values if value is not UNSET)


def work_words(work: Work) -> tuple[str, ...]:
    """The state, what it waits for, and what it took."""
    parts: list[str] = [work.state]
    if work.wait is not None:
        parts.append(wait_words(work.wait))
    if work.hours:
        parts.append(f"{work.hours:g} h booked")
    if work.cost:
        parts.append(f"{work.cost:g} spent")
    return tuple(parts)


def wait_words(wait: Wait) -> str:
    """ "waits for a seal (part) from the merchant, promised by 2026-11-02"."""
    where = f" at {wait.where}" if wait.where else ""
    due = ""
    if wait.due:
        due = f", {'promised' if wait.firm else 'hoped for'} by {wait.due.isoformat()}"
    return f"waits for {wait.for_} ({wait.kind}){where}{due}"


def found_words(found: Diagnosis, view: VehicleView | None) -> str:
    """A diagnosis in one line."""
    check = view.checks.get(found.check or "") if view else None
    place = check.ask if check else found.check
    return ", ".join(part for part in (found.fault, found.cause, place, found.spot) if part)


def _wish_words(wish: PlanWish) -> str:
    return Wish(order=wish.order, day=wish.day, who=tuple(wish.who), reason=wish.reason or "").wanted


def _seen(said: Sighting, voids: Mapping[str, Void], *, counts: bool) -> Told:
    return Told(
        entry=said.entry,
        kind=said.kind,
        by=said.by,
        device=said.device,
        at=said.at,
        day=said.day,
        round=said.round,
        words=(side_says(said),),
        note=said.note,
        photos=said.photos,
        counted=counts,
        taken_back=_taken_back(said.entry, voids),
        may_redact=("by", *(["note"] if said.note else [])) if said.kind == "finding" else (),
    )


def _desk(row: EntryRow, view: VehicleView | None, voids: Mapping[str, Void]) -> Told:
    entry = read_entry(row.body)
    return Told(
        entry=row.id,
        kind=row.kind,
        by=entry.by,
        device=entry.device,
        at=entry.at.isoformat(),
        words=_desk_words(entry, view),
        note=(entry.note or "") if isinstance(entry, Work) else "",
        taken_back=_taken_back(row.id, voids),
        may_redact=tuple(name for name in ("note", "reason") if may_redact(entry, name)),
    )


def _desk_words(entry: AnyEntry, view: VehicleView | None) -> tuple[str, ...]:
    if isinstance(entry, Ruling):
        return ruling_words(entry, view) or ("said something that a later version understands",)
    return work_words(entry) if isinstance(entry, Work) else ()


def _taken_back(entry: str, voids: Mapping[str, Void]) -> str:
    found = voids.get(entry)
    return f"{found.by} took this back: {found.reason}" if found else ""


def _leads(store: Store, entry: Ruling) -> bool:
    """Whether its writer was a lead when it was written, by that time's edition."""
    try:
        return is_lead({entry.edition: store.edition_of(entry.edition)}, entry.edition, entry.by)
    except StoreError:
        return False


_TAKEN_BACK = {
    "owner": "nobody has it any more",
    "diagnosis": "took back what was found",
    "temporary": "took back the repair for now",
    "severity": "took back the severity ruled",
    "escalated": "took back the move up one category",
    "permit": "took back the move permit",
    "closed": "opened it again",
    "ask": "no look is asked for any more",
    "void": "let it count again",
    "plan": "took back what was wanted of the plan",
}
_SAYS: dict[str, Callable[[Any], str]] = {
    "owner": lambda value: f"{value} has it",
    "severity": lambda value: f"ruled it {value.to}: {value.reason}",
    "escalated": lambda value: f"moved it up one category: {value.reason}",
    "permit": lambda v: f"move permit until {v.until.isoformat()}: {v.limits} ({v.reason})",
    "closed": lambda value: f"closed it: {value.reason}",
    "ask": lambda value: f"asked {value.who} for a look",
    "know_how": lambda value: f"know-how: {value}",
    "void": lambda value: f"took back what was said: {value.reason}",
    "temporary": lambda value: f"mended for now: {temporary(value)}",
    "explains": lambda _: "explains a report",
    "state": lambda value: f"vehicle is {value}",
    "belongs_to": lambda value: f"belongs to {value}",
    "name": lambda value: f"calls it {value}",
    "revoked": lambda value: f"taken off the list: {value.reason}",
    "plan": lambda value: f"wanted of the plan: {_wish_words(value)}",
}


def _field(name: str, value: object, view: VehicleView | None) -> str:
    if value is None:
        return _TAKEN_BACK.get(name, f"took back {name.replace('_', ' ')}")
    if isinstance(value, Diagnosis):
        return f"found: {found_words(value, view)}"
    if name == "placed":
        return f"placed it: {_place(value, view)}"
    return _SAYS[name](value)


def _place(value: Any, view: VehicleView | None) -> str:
    check_id, spot, fault_id = (getattr(value, name) for name in ("check", "spot", "fault"))
    check = view.checks.get(check_id) if view else None
    fault = check.fault(fault_id) if check else None
    where = ", ".join(part for part in (check.ask if check else check_id, f"spot {spot}" if spot else "") if part)
    return f"{where}: {fault.name if fault else fault_id}" if fault_id else where
