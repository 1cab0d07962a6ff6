"""Job cards from defects: what was seen, what it needs, in which order, with what care, and who signs it off."""

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, field

from builder.edition import Edition, VehicleView
from builder.fleet import SECOND_PERSON_SYSTEMS, SEVERITIES, Access
from sync.paper.models import CardDefect, CardFigures, CardPart, CardStep, Head, JobCard
from sync.paper.order import order_of, parts_of, steps_of
from sync.paper.words import hours, limits_of, number, place, reading_of, seen, task_name, temporary
from sync.plan.on_paper import OnPaper
from sync.state import Conflict, Defect, JobState, PartState, Standing
from sync.trade.places import in_short
from sync.trade.reckoning import MANUAL_FIRST, Reckoning

PHOTOS_A_CARD = 2


@dataclass(frozen=True, kw_only=True)
class Bench:
    """What a card is made from beside its defects.

    Args:
        link: a defect's code -> what its QR symbol says.
        photo: a photo's SHA-256 -> a data address, empty where it is not here.
        open_defects: the vehicle's open defects, for what holds its steps.
        plan: what the plan says; without one the steps and parts are the faults' usual ones, and no day is named.
        figures: what a defect's readings come to.
    """

    edition: Edition
    as_of: str
    standing: Standing
    link: Callable[[str], str]
    photo: Callable[[str], str] = field(default=lambda _: "")
    open_defects: Sequence[Defect] = ()
    conflicts: Sequence[Conflict] = ()
    parts: Sequence[PartState] = ()
    plan: OnPaper | None = None
    figures: Callable[[Defect], Sequence[Reckoning]] = field(default=lambda _: ())


def head_of(edition: Edition, view: VehicleView, standing: Standing, as_of: str) -> Head:
    return Head(
        fleet=edition.name,
        vehicle=view.id,
        name=view.name,
        kind=view.vehicle.kind,
        location=view.vehicle.location,
        standing=standing.standing,
        barred=standing.barred,
        moves=standing.moves,
        permits=standing.permits,
        tags=standing.tags,
        ask=tuple(person.initials for person in edition.people if person.lead),
        as_of=as_of,
        edition=edition.fingerprint,
    )


def defect_card(defect: Defect, bench: Bench) -> JobCard:
    """A card for one defect by itself."""
    return job_card(JobState(job="", title=defect.fault_name or "Something else"), (defect,), bench)


def job_card(job: JobState, defects: Sequence[Defect], bench: Bench) -> JobCard:
    """A card for a job: its defects in the order given (by rank), its steps and tasks."""
    view = bench.edition.by_vehicle[bench.standing.vehicle]
    lines = bench.plan.card([one.code for one in defects], job.tasks) if bench.plan else None
    needed = _in_order((*job.steps, *(step for one in defects for step in one.needs)), view)
    checks = [check for one in defects if (check := view.checks.get(one.check))]
    systems = [one.system for one in defects]
    figures = {one.opening: bench.figures(one) for one in defects}
    grave = min((one.severity for one in defects), key=SEVERITIES.index, default="advisory")
    return JobCard(
        head=head_of(bench.edition, view, bench.standing, bench.as_of),
        title=job.title,
        job=job.job,
        severity=grave,
        defects=tuple(
            _defect(one, view, bench, figures[one.opening], PHOTOS_A_CARD if len(defects) == 1 else 1)
            for one in defects
        ),
        steps=steps_of(lines) if lines else tuple(_step(step, bench.open_defects) for step in needed),
        tasks=tuple(task_name(task, view) for task in job.tasks),
        parts=parts_of(lines) if lines else _parts(defects, bench.parts),
        cautions=_cautions(
            [*(check.caution for check in checks), *(step.caution for step in needed), *_care(figures.values())]
        ),
        hours=_span(lines.hours, lines.unknown, len(defects)) if lines else _hours(defects),
        people=lines.people if lines else max([1, *(one.people for one in defects), *(step.people for step in needed)]),
        uses=_each([*(one.uses for one in defects), *(step.uses for step in needed)]),
        second_person=_second_person(defects),
        may_sign=_may_sign(bench.edition, systems),
        order=order_of(bench.plan, lines) if bench.plan else None,
    )


def _defect(defect: Defect, view: VehicleView, bench: Bench, figures: Sequence[Reckoning], photos: int) -> CardDefect:
    pictures = (bench.photo(photo) for photo in defect.photos)
    return CardDefect(
        code=defect.code,
        link=bench.link(defect.code),
        place=place(defect.station_name or defect.station, defect.spot),
        check=defect.check_name,
        fault=defect.fault_name or "Something else",
        severity=defect.severity,
        severity_why=defect.severity_why,
        status=defect.status,
        seen=seen(defect),
        note=defect.note,
        reading=reading_of(defect),
        limits=limits_of(view.checks.get(defect.check)),
        conflicts=tuple(one.why for one in bench.conflicts if one.id in defect.conflicts),
        found=_found(defect),
        temporary=temporary(defect.temporary) if defect.temporary else "",
        waiting=_waiting(defect),
        owner=defect.owner,
        photos=tuple([picture for picture in pictures if picture][:photos]),
        figures=_figures(figures),
    )


def _figures(found: Sequence[Reckoning]) -> CardFigures | None:
    """What to do, on what grounds and with what care beside it; cautions of the work stand in the card's own box."""
    if not found:
        return None
    short = in_short(found)
    return CardFigures(
        verdict=short.verdict_words,
        says=short.says,
        do=short.do,
        sure=short.sure,
        care=MANUAL_FIRST,
    )


def _found(defect: Defect) -> str:
    found = defect.diagnosis
    return ", ".join(part for part in (found.fault, found.cause, found.spot) if part) if found else ""


def _waiting(defect: Defect) -> str:
    wait = defect.wait
    if wait is None:
        return ""
    due = f", due {wait.due}" if wait.due else ", no date"
    return f"{wait.for_}{f' at {wait.where}' if wait.where else ''}{due}"


def _in_order(wanted: Iterable[str], view: VehicleView) -> list[Access]:
    """Steps with all they need, each after what it needs; an unknown step is left out."""
    ordered: dict[str, Access] = {}

    def take(step_id: str) -> None:
        step = view.access.get(step_id)
        if step is None or step_id in ordered:
            return
        for needed in step.needs:
            take(needed)
        ordered.setdefault(step_id, step)

    for step_id in wanted:
        take(step_id)
    return list(ordered.values())


def _step(step: Access, open_defects: Iterable[Defect]) -> CardStep:
    return CardStep(
        name=step.name,
        hours_out=step.hours_out,
        hours_back=step.hours_back,
        people=step.people,
        uses=step.uses,
        held_by=tuple(one.code for one in open_defects if step.id in one.holds),
    )


def _parts(defects: Iterable[Defect], states: Iterable[PartState]) -> tuple[CardPart, ...]:
    """What the faults usually take, then what was written down for these defects, which says where it lies."""
    about = {key for one in defects for key in (one.opening, one.code, *one.also)}
    parts = {name: CardPart(name=name) for one in defects for name in one.parts}
    for told in states:
        if told.for_ in about:
            parts[told.part] = CardPart(name=told.part, state=told.state, where=_where(told))
    return tuple(parts.values())


def _where(part: PartState) -> str:
    return ", ".join(one for one in (part.where, part.due and f"due {part.due}") if one)


def _cautions(given: Iterable[str | None]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(caution for caution in given if caution))


def _care(figures: Iterable[Sequence[Reckoning]]) -> Iterator[str]:
    """The calculations' cautions, but for the line that stands beside each number already."""
    for found in figures:
        yield from (care for care in in_short(found).care if care != MANUAL_FIRST)


def _each(given: Iterable[tuple[str, ...]]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(one for some in given for one in some))


def _hours(defects: Sequence[Defect]) -> str:
    """The mending alone, without the steps."""
    known = [span for one in defects if (span := one.hours)]
    total = (sum(low for low, _ in known), sum(high for _, high in known))
    return _span(total, len(defects) - len(known), len(defects))


def _span(total: tuple[float, float], unknown: int, of: int) -> str:
    """Hours in words; a defect of which nobody knows is said."""
    if unknown == of:
        return "not known" if of else ""
    return f"{hours(total)} and {unknown} not known" if unknown else hours(total)


def _second_person(defects: Iterable[Defect]) -> tuple[str, ...]:
    reasons = dict.fromkeys(one.system for one in defects if one.system in SECOND_PERSON_SYSTEMS)
    danger = {"dangerous": None} if any(one.severity == "dangerous" for one in defects) else {}
    return tuple({**danger, **reasons})


def _may_sign(edition: Edition, systems: Iterable[str]) -> tuple[str, ...]:
    """Initials of those who may sign off every system of the card."""
    wanted = {system for system in systems if system}
    return tuple(person.initials for person in edition.people if wanted <= set(person.signs_off) and person.signs_off)


def step_hours(card: JobCard) -> str:
    """Hours to strip down and to build up again, over all steps."""
    out, back = sum(step.hours_out for step in card.steps), sum(step.hours_back for step in card.steps)
    return f"{number(out)} h out, {number(back)} h back" if card.steps else ""
