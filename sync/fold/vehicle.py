"""One vehicle's places put together: codes, reports, tags, what was ruled about it, perhaps-the-same."""

from collections.abc import Iterable, Iterator, Sequence

from sync.codes import longer
from sync.entries import PlanWish, Report, Ruling, Run, Tag
from sync.fold import fields
from sync.fold.context import Context
from sync.fold.log import of_kind
from sync.fold.pairs import pairs
from sync.fold.ruled import Rulings, permit_of, wish_of
from sync.fold.tasks import fold_tasks
from sync.fold.words import plain
from sync.state import Conflict, Defect, Frozen, Pair, ReportState, TagState, TaskState, VehicleRulings


class FoldedVehicle(Frozen, frozen=True, kw_only=True):
    """`codes` are those that differ from the five letters, by opening id (also of the other openers)."""

    vehicle: str
    codes: dict[str, str] = {}  # noqa: RUF012 - a msgspec field: each instance has its own
    reports: tuple[ReportState, ...] = ()
    tags: tuple[TagState, ...] = ()
    rulings: VehicleRulings
    pairs: tuple[Pair, ...] = ()
    tasks: tuple[TaskState, ...] = ()
    conflicts: tuple[Conflict, ...] = ()  # about fields of the vehicle, its reports and tasks, and pairs in dispute


def fold_vehicle(
    vehicle: str, defects: Iterable[Defect], context: Context, closed: Iterable[tuple[str, str]] = ()
) -> FoldedVehicle:
    """`defects` are those of all the vehicle's places, open and closed. Where there is no report that one might
    explain, (id, code of five letters) is enough of those that are closed: `closed`."""
    mine = sorted(defects, key=lambda d: d.opening)
    named = [one for d in mine for one in ((d.opening, d.code), *zip(d.also, d.also_codes, strict=True))]
    conflicts: list[Conflict] = []
    return FoldedVehicle(
        vehicle=vehicle,
        codes=longer(vehicle, [*named, *closed]),
        reports=_reports(vehicle, mine, context, conflicts),
        tags=_tags(vehicle, context),
        rulings=_rulings(vehicle, context, conflicts),
        pairs=pairs(vehicle, [d for d in mine if d.closed is None], context, conflicts),
        tasks=fold_tasks(vehicle, context, conflicts),
        conflicts=tuple(sorted(conflicts, key=lambda c: c.id)),
    )


def _reports(
    vehicle: str, defects: Sequence[Defect], context: Context, conflicts: list[Conflict]
) -> tuple[ReportState, ...]:
    """A report closes when a ruling says which defect explains it, or when it was driven again under the same
    conditions by somebody who knew of it."""
    reports = context.reports.get(vehicle, ())
    if not reports:
        return ()
    by_id = {name: d.opening for d in defects for name in (*(s.entry for s in d.sightings), *d.also)}
    found = []
    for logged in reports:
        entry = context.content(logged.entry)
        if not isinstance(entry, Report) or context.is_void(logged):
            continue
        rulings = Rulings([entry.id, *context.stood_in_for(entry.id)], context, vehicle, (entry.id,))
        explained = _explained(entry, rulings, by_id, context)
        found.append(
            ReportState(
                entry=entry.id,
                vehicle=vehicle,
                source=entry.source,
                by=entry.by,
                at=entry.at.isoformat(),
                symptom=entry.symptom,
                conditions=entry.conditions or "",
                photos=tuple(entry.photos),
                explained=explained or _driven_again(entry, vehicle, context),
                ask=rulings["ask"].who if rulings["ask"] else "",
            )
        )
        conflicts += rulings.conflicts()
    return tuple(sorted(found, key=lambda r: r.entry))


def _explained(report: Report, rulings: Rulings, by_id: dict[str, str], context: Context) -> str:
    """The defect a ruling names: about the report, naming the defect; or about the defect, naming the report."""
    named = by_id.get(rulings["explains"] or "", "")
    if named:
        return named
    about = {
        by_id[ruling.about]
        for ruling in of_kind(Ruling, context.explains.get(report.id, ()))
        if ruling.about in by_id and Rulings([ruling.about], context, report.vehicle, ())["explains"] == report.id
    }
    return min(about, default="")


def _driven_again(report: Report, vehicle: str, context: Context) -> str:
    """A run under the same conditions, by a writer who knew the report; clocks do not tell which came first."""
    conditions = plain(report.conditions or "")
    if not conditions:
        return ""
    for logged in context.runs.get(vehicle, ()):
        run = context.content(logged.entry)
        if isinstance(run, Run) and plain(run.conditions or "") == conditions and not context.is_void(logged):
            knew = run.seq > report.seq if run.device == report.device else False
            if knew or report.seq <= run.knows.get(report.device, 0):
                return "driven again"
    return ""


def _tags(vehicle: str, context: Context) -> tuple[TagState, ...]:
    """Each tag by itself. It comes off by its owner, or a lead with a reason, who knew that it was on."""
    by_name: dict[str, list[fields.Said]] = {}
    for logged in context.tags.get(vehicle, ()):
        if isinstance(logged.entry, Tag) and not context.is_void(logged):
            by_name.setdefault(logged.entry.tag, []).append(context.desk(logged, logged.entry))
    found = [_tag(said, context) for said in by_name.values()]
    return tuple(sorted((tag for tag in found if tag is not None), key=lambda t: (t.vehicle, t.tag)))


def _tag(said: Sequence[fields.Said], context: Context) -> TagState | None:
    on = [one for one in said if one.value.on]
    if not on:
        return None
    off = [one for one in said if not one.value.on]
    left = [one for one in on if not any(_takes_off(other, one, context) for other in off)]
    stands = min(left or on, key=lambda one: (one.value.device, one.value.seq, one.entry))
    entry: Tag = context.content(stands.value)
    return TagState(
        vehicle=entry.vehicle,
        tag=entry.tag,
        owner=entry.by,
        on=bool(left),
        reason=entry.reason or "",
        entry=entry.id,
    )


def _takes_off(off: fields.Said, on: fields.Said, context: Context) -> bool:
    """The owner's own, or a lead's with a reason; and it knew that the tag was on."""
    allowed = off.value.by == on.value.by or (context.lead(off.value) and bool((off.value.reason or "").strip()))
    return allowed and context.knew(off, on)


def _rulings(vehicle: str, context: Context, conflicts: list[Conflict]) -> VehicleRulings:
    rulings = Rulings([vehicle], context, vehicle, ())
    permit, permit_from = permit_of(rulings)
    own = context.set_about([vehicle, *sorted(context.named.get(vehicle, ()))], "know_how")
    notes = [(said.names[0], said.logged.entry.by, said.value) for said in own if said.value]
    plans = tuple(_plans(vehicle, rulings, context, conflicts))
    found = VehicleRulings(
        vehicle=vehicle,
        state=rulings["state"] or "",
        belongs_to=rulings["belongs_to"] or "",
        know_how=tuple(sorted(notes)),
        permit=permit,
        permit_from=permit_from,
        plans=plans,
    )
    conflicts += rulings.conflicts()
    return found


def _plans(
    vehicle: str, own: Rulings, context: Context, conflicts: list[Conflict]
) -> Iterator[tuple[str, str, PlanWish]]:
    """What is wanted of the plan for a vehicle and each task of its; nothing where people disagree."""
    for name in sorted({vehicle, *context.named.get(vehicle, ())}):
        rulings = own if name == vehicle else Rulings([name], context, vehicle, (name,))
        wish, by = wish_of(rulings)
        if rulings is not own:
            conflicts += rulings.conflicts()
        if wish is not None:
            yield name, by, wish
