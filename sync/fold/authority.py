"""Authority: who is a lead, who signs off what; judged by the edition under which the entry was written."""

from collections.abc import Mapping

from builder.edition import Edition, EditionPerson
from builder.fleet import SEVERITIES, Severity

Editions = Mapping[str, Edition]


def person(editions: Editions, edition: str, by: str) -> EditionPerson | None:
    """None where that edition is not at hand or does not name them: no authority."""
    found = editions.get(edition)
    return found.by_initials.get(by) if found else None


def is_lead(editions: Editions, edition: str, by: str) -> bool:
    who = person(editions, edition, by)
    return who is not None and who.lead


def signs_off(editions: Editions, edition: str, by: str, system: str) -> bool:
    """A lead signs off anything; others the systems they are named for."""
    who = person(editions, edition, by)
    return who is not None and (who.lead or (system != "" and system in who.signs_off))


def gravity(severity: Severity | None) -> int:
    """4 dangerous, 3 major, 2 minor, 1 advisory, 0 where nothing was said."""
    return 0 if severity is None else len(SEVERITIES) - SEVERITIES.index(severity)


def gravest(*severities: Severity | None) -> Severity | None:
    return max(severities, key=gravity, default=None)


def graver(severity: Severity) -> Severity:
    """One category up; dangerous stays."""
    return SEVERITIES[max(0, SEVERITIES.index(severity) - 1)]
