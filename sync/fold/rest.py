"""What belongs to no single place or vehicle: walks, jobs, parts, clones, clocks, adoption."""

from collections.abc import Iterable, Sequence

from sync.codes import conflict_code
from sync.entries import Clock as ClockEntry
from sync.entries import PartEntry, Walk
from sync.fold import fields
from sync.fold.context import Context
from sync.fold.log import Logged
from sync.fold.ruled import WORK_STATES, said_sighting, work_state
from sync.state import Clock, Clone, Conflict, Frozen, JobState, PartState, WalkState

#: A clock that is farther off is flagged.
CLOCK_MOST_S = 300
_PART_STATES = ("needed", "ordered", "here")


class FoldedRest(Frozen, frozen=True, kw_only=True):
    """`adopted` are the editions adopted by people who did not know of each other; the smallest is in force."""

    edition: str
    adopted: tuple[str, ...] = ()
    jobs: tuple[JobState, ...] = ()
    parts: tuple[PartState, ...] = ()
    clones: tuple[Clone, ...] = ()
    clocks: tuple[Clock, ...] = ()
    conflicts: tuple[Conflict, ...] = ()  # about fields of jobs and parts


def fold_walks(context: Context, walks: Iterable[str] | None = None) -> tuple[WalkState, ...]:
    """These walks (None: all), by id."""
    wanted = sorted(context.walks if walks is None else set(walks) & context.walks.keys())
    return tuple(state for walk in wanted for state in _walk_states(walk, context))


def fold_rest(context: Context) -> FoldedRest:
    """Jobs, parts, clones, clocks and the edition in force."""
    conflicts: list[Conflict] = []
    return FoldedRest(
        edition=context.edition.fingerprint,
        adopted=tuple(context.in_force()),
        jobs=tuple(job for name in sorted(context.jobs) if (job := _job(name, context, conflicts))),
        parts=tuple(part for name in sorted(context.parts) if (part := _part(name, context, conflicts))),
        clones=tuple(sorted(context.clones, key=lambda c: (c.device, c.seq, c.entries, c.hashes))),
        clocks=tuple(clock for name in sorted(context.clocks) if (clock := _clock(name, context))),
        conflicts=tuple(sorted(conflicts, key=lambda c: c.id)),
    )


def _walk_states(walk: str, context: Context) -> list[WalkState]:
    """One state a walk; two where two devices use one id."""
    by_device: dict[str, list[Walk]] = {}
    for logged in context.walks[walk]:
        entry = context.content(logged.entry)
        if isinstance(entry, Walk) and not context.is_void(logged):
            by_device.setdefault(entry.device, []).append(entry)
    return [_walk_state(by_device[device], context) for device in sorted(by_device)]


def _walk_state(entries: Sequence[Walk], context: Context) -> WalkState:
    started = [e for e in entries if e.state == "started"]
    finished = [e for e in entries if e.state == "finished"]
    first = min(started or finished, key=lambda e: (e.seq, e.id))
    last = max(finished or started, key=lambda e: (e.seq, e.id))
    view = context.walk_view(first.walk, first.device)
    return WalkState(
        walk=first.walk,
        vehicle=first.vehicle,
        round=view.round,
        day=view.day,
        by=first.by,
        device=first.device,
        started=first.at.isoformat() if started else "",
        finished=last.at.isoformat() if finished else "",
        covered=last.covered,
        of=last.of,
        unchecked=tuple((u.check, u.spot or "", u.why or "") for u in last.unchecked),
    )


def _live(entries: Iterable[Logged], context: Context) -> list[Logged]:
    return [logged for logged in entries if not context.is_void(logged)]


def _job(name: str, context: Context, conflicts: list[Conflict]) -> JobState | None:
    """A job's fields, each by awareness; of lists in dispute everything is in it until somebody says."""
    live = _live(context.jobs[name], context)
    if not live:
        return None
    merged = {f: _job_field(f, live, context) for f in ("title", "vehicle", "defects", "tasks", "steps", "state")}
    work = [context.desk(logged, logged.entry) for logged in context.work_about([name])]
    state = fields.merge(work, context.cloned, same=lambda w: w.state, safer=lambda w: WORK_STATES.index(w.state))
    conflicts += [c for f, m in {**merged, "work": state}.items() if (c := _dispute(name, f, m))]
    return JobState(
        job=name,
        title=merged["title"].value or "",
        vehicle=merged["vehicle"].value or "",
        defects=_all(merged["defects"]),
        tasks=_all(merged["tasks"]),
        steps=_all(merged["steps"]),
        state=work_state(state.value, "", context) if state.value else merged["state"].value or "open",
        wait=state.value.wait if state.value and state.value.state == "waiting" else None,
    )


def _job_field(name: str, live: Sequence[Logged], context: Context) -> fields.Merged:
    said = [context.desk(logged, getattr(context.content(logged.entry), name)) for logged in live]
    return fields.merge(said, context.cloned, safer=value_key)


def value_key(value: object) -> str:
    """Some order among values, so that the same one stands everywhere."""
    return "" if value is None else str(value)


def _all(merged: fields.Merged) -> tuple[str, ...]:
    if not merged.sides:
        return tuple(merged.value or ())
    return tuple(dict.fromkeys(item for side in merged.sides for item in side.value))


def _dispute(subject: str, name: str, merged: fields.Merged) -> Conflict | None:
    if not merged.sides:
        return None
    sides = tuple(said_sighting(side, name) for side in merged.sides)
    return Conflict(
        id=conflict_code("shop", subject, name),
        kind="field",
        vehicle="",
        field=name,
        why=f"{subject}, {name}: {'; '.join(f'{s.by}: {s.said}' for s in sides)}; neither knew of the other",
        sides=sides,
        stands=merged.stands.entry if merged.stands else "",
    )


def _part(name: str, context: Context, conflicts: list[Conflict]) -> PartState | None:
    """A part's newest state; the less advanced in dispute."""
    live = _live(context.parts[name], context)
    said = [context.desk(logged, context.content(logged.entry)) for logged in live]
    merged = fields.merge(said, context.cloned, same=_part_key, safer=_part_key)
    conflicts += [c for c in (_dispute(name, "part", merged),) if c]
    entry = merged.value
    if not isinstance(entry, PartEntry):
        return None
    due = entry.due.isoformat() if entry.due else ""
    return PartState(part=name, for_=entry.for_, state=entry.state, where=entry.where or "", due=due)


def _part_key(entry: PartEntry) -> tuple[int, str, str, str]:
    due = entry.due.isoformat() if entry.due else ""
    return (_PART_STATES.index(entry.state), due, entry.where or "", entry.for_)


def _clock(device: str, context: Context) -> Clock | None:
    """How far off it was when last measured; of measurements unaware of each other the worst."""
    said = [context.desk(logged, logged.entry) for logged in _live(context.clocks[device], context)]
    tops = [top.value for top in fields.heads(said, context.cloned) if isinstance(top.value, ClockEntry)]
    if not tops:
        return None
    worst = max(tops, key=lambda e: (abs(e.offset_s), e.offset_s))
    return Clock(device=device, offset_s=worst.offset_s, flagged=abs(worst.offset_s) > CLOCK_MOST_S)
