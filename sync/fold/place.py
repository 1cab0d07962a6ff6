"""One place (vehicle, check, spot) folded, and extended by newer findings without reading its history again."""

from collections.abc import Callable, Container, Sequence

import msgspec

from sync.entries import AnyEntry, Finding, Ruling, Work
from sync.fold.awareness import by_id
from sync.fold.context import Context
from sync.fold.judging import Heard, Hearing, hear, judge
from sync.fold.log import Logged, Place, canonical
from sync.fold.memory import Memory, read_memory, write_memory
from sync.fold.sounds import Sound
from sync.fold.speech import finding_statement, spoken_fault
from sync.fold.statement import Statement, known_with, says_of, written_order
from sync.state import Conflict, Defect

#: The log's entries of some ids.
Read = Callable[[Sequence[str]], Sequence[Logged]]


class FoldedPlace(msgspec.Struct, frozen=True, kw_only=True, array_like=True):
    """What the store keeps of a place: its defects and conflicts as rows, `memory` as bytes for `extend_place`.

    Defects carry codes of five letters; `fold_vehicle` lengthens those that collide.
    """

    place: Place
    defects: tuple[Defect, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    memory: bytes = b""


def fold_place(place: Place, findings: Sequence[Logged], context: Context) -> FoldedPlace:
    """All findings whose `context.place` is this one, in any order; what desks wrote comes from `context`."""
    sounds, others = _sorted_out(place, findings, context)
    lasts = _lasts({}, sounds)
    if not others and not context.settled(place):
        return FoldedPlace(place=place, memory=write_memory(Memory(lasts=lasts)))

    def read(ids: Sequence[str]) -> Sequence[Logged]:
        return [logged for logged in findings if logged.entry.id in ids]

    waiting = _waiting(others, {logged.entry.id for logged in findings})
    heard = Heard(_marks(sounds, context), *_loud(others, [], context))
    hearing = _heard(place, heard, context, read)
    return _judged(hearing, Memory(lasts=lasts, waiting=waiting, voided=heard.voided), heard.loud, context)


def extend_place(folded: FoldedPlace, new: Sequence[Logged], context: Context, read: Read) -> FoldedPlace | None:
    """The same as folding all again with `new` among them; None where that is not certain: then fold it again.

    `context` has already taken `new`; `read` gives the log's entries of some ids (few, by primary key). Not to be asked
    of a place that `Touched` names: that one is folded again.
    """
    memory = read_memory(folded.memory, context)
    if not all(_extends(logged.entry, memory, context) for logged in new):
        return None
    sounds, others = _sorted_out(folded.place, new, context)
    lasts = _lasts(memory.lasts, sounds)
    if memory.quiet and not others and not context.settled(folded.place):
        return FoldedPlace(place=folded.place, memory=write_memory(Memory(lasts=lasts)))
    loud, voided = _loud(others, [*memory.loud, *memory.voided], context)
    earlier = _earlier_sounds(memory, loud, context, read)
    if earlier is None or any(logged.entry.seq <= context.claimed.get(logged.entry.device, 0) for logged in new):
        return None  # what was forgotten might matter; or who claims to have known it would have to be heard again
    marks = [*earlier, *_marks(sounds, context)]
    heard = Heard(marks, memory.loud + loud, memory.voided + voided)
    devices = {mark.device for mark in marks} | {statement.device for statement in heard.loud}
    if context.cloned.keys() & devices or _names_others(heard):
        return None
    here = {logged.entry.id for logged in new} | {statement.entry for statement in (*heard.loud, *heard.voided)}
    waiting = sorted({*memory.waiting, *_waiting(others, here)})
    hearing = _heard(folded.place, heard, context, read)
    left = msgspec.structs.replace(memory, lasts=lasts, waiting=waiting, voided=heard.voided)
    if not others and [one.sound.entry for one in hearing.kept] == [sound.entry for sound in memory.sounds]:
        return msgspec.structs.replace(folded, memory=write_memory(left))  # nothing that matters was added
    return _judged(hearing, left, heard.loud, context)


def _sorted_out(place: Place, findings: Sequence[Logged], context: Context) -> tuple[list[Logged], list[Logged]]:
    """Plain sounds in force; and everything else that states something, in canonical order."""
    corrections, voids = context.corrections, context.voids
    sounds, others = [], []
    for logged in findings:
        entry = logged.entry
        if entry.result == "sound" and entry.verdict is None:  # type: ignore[union-attr]
            if (entry.id in corrections or entry.id in voids) and context.is_void(logged):
                continue
            if entry.check is not None:  # type: ignore[union-attr]
                sounds.append(logged)
        elif isinstance(entry, Finding) and says_of(entry) is not None:
            others.append(logged)
    others.sort(key=canonical)
    return sounds if place.check else [], others


def _lasts(before: dict[str, tuple[int, str]], sounds: Sequence[Logged]) -> dict[str, tuple[int, str]]:
    """The newest sound of each device."""
    newest = dict(before)
    for logged in sounds:
        entry = logged.entry
        mark = (entry.seq, entry.id)
        if mark > newest.get(entry.device, (0, "")):
            newest[entry.device] = mark
    return newest


def _earlier_sounds(memory: Memory, loud: Sequence[Statement], context: Context, read: Read) -> list[Sound] | None:
    """The remembered sounds that matter beside new statements; None where a forgotten one might.

    At a quiet place each device's newest sound is compared with what did not know it. Elsewhere what was forgotten is
    like what is remembered only for a writer who knew all of it.
    """
    unknown = {
        entry
        for device, (seq, entry) in memory.lasts.items()
        if any(statement.device != device and statement.knows.get(device, 0) < seq for statement in loud)
    }
    if not memory.quiet:
        return None if unknown else [Sound.of(statement) for statement in memory.sounds]
    earlier = read(sorted(unknown)) if unknown else []
    return _marks(earlier, context) if len(earlier) == len(unknown) else None


def _marks(sounds: Sequence[Logged], context: Context) -> list[Sound]:
    found = []
    for logged in sounds:
        entry = logged.entry
        if isinstance(entry, Finding):
            view = context.walk_view(entry.walk, entry.device)
            knows = known_with(view.knows, entry.knows) if entry.knows else view.knows
            names = view.names + by_id(entry.knows) if entry.knows else view.names
            found.append(Sound(entry.device, entry.seq, entry.id, knows, view.on, logged, names))
    return found


def _loud(
    others: Sequence[Logged], before: Sequence[Statement], context: Context
) -> tuple[list[Statement], list[Statement]]:
    """Statements in force and those taken back. A verdict that names no fault is on that of the defect it names."""
    faults = {statement.entry: statement.fault or "" for statement in before}
    found: tuple[list[Statement], list[Statement]] = ([], [])
    for follows in (False, True):
        for logged in others:
            entry = logged.entry
            if not isinstance(entry, Finding) or follows != (entry.fault is None and entry.defect is not None):
                continue
            fault = spoken_fault(entry, context, faults)
            faults.setdefault(entry.id, fault)
            statement = finding_statement(logged, fault, context)
            if statement is not None:
                found[context.is_void(logged)].append(statement)
    return found


def _waiting(others: Sequence[Logged], here: Container[str]) -> list[str]:
    """The entries that verdicts without a fault of their own name, and that are not here."""
    named = (logged.entry.defect for logged in others if logged.entry.fault is None)  # type: ignore[union-attr]
    return sorted({entry for entry in named if entry is not None and entry not in here})


def _heard(place: Place, heard: Heard, context: Context, read: Read) -> Hearing:
    def look(entry: str) -> Logged | None:
        """A finding of this place, or what a desk wrote."""
        here = [one for one in read([entry]) if isinstance(one.entry, Finding) and context.place(one.entry) == place]
        desk = [one for one in context.kept.get(entry, ()) if isinstance(one.entry, Ruling | Work)]
        settled = [one for one in context.settled(place) if one.entry.id == entry]
        return min([*here, *desk, *settled], key=canonical, default=None)

    heard.loud.sort(key=written_order)
    heard.voided.sort(key=written_order)
    return hear(place, heard, context, look)


def _judged(hearing: Hearing, memory: Memory, loud: list[Statement], context: Context) -> FoldedPlace:
    judged = judge(hearing, context)
    left = msgspec.structs.replace(memory, sounds=judged.sounds, loud=loud)
    return FoldedPlace(
        place=hearing.place, defects=judged.defects, conflicts=judged.conflicts, memory=write_memory(left)
    )


def _extends(entry: AnyEntry, memory: Memory, context: Context) -> bool:
    """Whether an entry is simply the newest of its device here, and nothing was said of it yet."""
    if not isinstance(entry, Finding) or entry.corrects is not None or entry.device in context.cloned:
        return False
    spoken_of = (context.corrections, context.voids, context.about, context.chosen, memory.waiting)
    if any(entry.id in those for those in spoken_of):
        return False
    if entry.seq <= memory.lasts.get(entry.device, (0, ""))[0]:
        return False
    return all(entry.seq > statement.seq for statement in memory.statements if statement.device == entry.device)


def _names_others(heard: Heard) -> bool:
    """Whether a verdict names an entry that this place does not remember: it may be a sound of long ago."""
    here = {statement.entry for statement in (*heard.loud, *heard.voided)}
    return any(name not in here for statement in heard.loud for name in statement.names)
