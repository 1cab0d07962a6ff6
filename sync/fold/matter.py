"""One fault at one place, judged: its case with what authority makes of it, and its open disagreements."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property

from builder.edition import EditionFault
from sync.fold.authority import graver, gravest
from sync.fold.awareness import claims, known
from sync.fold.case import Case, Powers
from sync.fold.conflicts import disputes
from sync.fold.context import Context
from sync.fold.log import Place
from sync.fold.placing import Known, floor_of, known_fault
from sync.fold.readings import Limits, limits_of
from sync.fold.ruled import Rulings
from sync.fold.speech import Ruled
from sync.fold.statement import Statement, written_order
from sync.state import Severity


@dataclass(frozen=True)
class Matter:
    """`aliases`: entry ids that stand for a sighting's (those it took back), by its id."""

    place: Place
    fault: str
    known: Known
    case: Case
    context: Context
    limits: Limits
    floor: Severity | None
    aliases: dict[str, tuple[str, ...]]
    disputes: list[tuple[int, int, str]]
    usual: EditionFault | None

    @cached_property
    def index(self) -> dict[int, int]:
        """Where in its case each of its statements is."""
        return {id(statement): i for i, statement in enumerate(self.case.said)}

    @property
    def system(self) -> str:
        return (self.known.check.system or "") if self.known.check else ""

    def ids(self, entries: Iterable[str]) -> list[str]:
        """These entries and those they stand for."""
        return [name for entry in entries for name in (entry, *self.aliases.get(entry, ()))]


@dataclass(frozen=True, slots=True)
class Spoken:
    """What is said of one fault: by findings and settlements, by rulings; and which ids its sightings stand for."""

    fault: str
    findings: Sequence[Statement]
    ruled: Sequence[Ruled]
    aliases: dict[str, tuple[str, ...]]


def matter(place: Place, known_place: Known, spoken: Spoken, context: Context) -> Matter:
    """One fault judged."""
    fault, aliases = spoken.fault, spoken.aliases
    ruled = [item.statement for item in spoken.ruled if not item.contested]
    said = sorted([*spoken.findings, *ruled], key=written_order)
    floor = floor_of(known_place)
    knew = _through_placing(said, known(said, context.cloned), context)
    usual = known_fault(place, fault, known_place, context.editions, (s.edition for s in said))
    case = Case(said, knew, _powers(said, spoken, usual, floor, context))
    limits = limits_of(known_place.edition, known_place.check)
    open_disputes = list(disputes(case, limits))
    return Matter(place, fault, known_place, case, context, limits, floor, aliases, open_disputes, usual)


def _through_placing(said: Sequence[Statement], knew: list[int], context: Context) -> list[int]:
    """Who knew of a finding before a ruling placed it here did not know it as a sighting of this fault; unless they
    speak of that very one."""
    for j, placed in enumerate(said):
        if placed.via is not None:
            for i, other in enumerate(said):
                if placed.entry not in other.names and not claims(other, placed.via, context.cloned):
                    knew[i] &= ~(1 << j)
    return knew


def _powers(
    said: Sequence[Statement], spoken: Spoken, usual: EditionFault | None, floor: Severity | None, context: Context
) -> Powers:
    aliases = spoken.aliases
    by_statement = {id(item.statement): item for item in spoken.ruled}
    leads = 0
    for i, statement in enumerate(said):
        item = by_statement.get(id(statement))
        lead = context.is_lead(statement.edition, statement.seen.by) if item is None else item.lead
        leads |= lead << i
    names = [name for s in said for name in (s.entry, *aliases.get(s.entry, ()))] if context.about else []
    raised = bool(names) and Rulings(names, context, "", ())["escalated"] is not None

    def heavier(severity: Severity | None) -> Severity | None:
        if severity is None:
            return floor
        return gravest(floor, graver(severity) if raised else severity)

    def held(entries: Iterable[str]) -> bool:
        if not context.about:
            return False
        ids = [name for entry in entries for name in (entry, *aliases.get(entry, ()))]
        return Rulings(ids, context, "", ())["temporary"] is not None

    return Powers(leads, usual.severity if usual else "major", heavier, held)
