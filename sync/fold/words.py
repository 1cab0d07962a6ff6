"""Conflicts and statements in words, as a lead reads them."""

from collections.abc import Sequence

from sync.entries import Reading
from sync.fold.statement import Statement
from sync.state import Sighting


def number(value: float) -> str:
    """61, not 61.0; 12.5 as it is."""
    return f"{value:.6g}"


def reading_words(reading: Reading | None) -> str:
    return "" if reading is None else f"{number(reading.value)} {reading.unit}"


def occasion_words(seen: Sighting) -> str:
    """ "the cold round of 2026-10-18"; empty where the walk has not arrived."""
    return f"the {seen.round} round of {seen.day}" if seen.day else ""


def says_words(said: Statement, fault: str) -> str:
    """What one statement says, after its person's initials."""
    seen = said.seen
    extras = [text for text in (seen.severity or "", reading_words(seen.reading)) if text]
    detail = f" ({', '.join(extras)})" if extras else ""
    name = fault.lower() if fault else "faulty"
    return {
        "present": f"saw it {name}{detail}",
        "put right": f"saw it {name}{detail} and put it right",
        "sound": "saw it sound" + (f" ({reading_words(seen.reading)})" if seen.reading else ""),
        "gone": f"saw it no longer {name}",
        "settled": f"settled that it is {name}{detail}",
        "unsettled": "settled that it is sound",
        "closed": "closed it",
        "reopened": "opened it again",
        "severity": f"ruled it {seen.severity}",
        "signed off": "signed the work off",
    }[said.says]


def why(kind: str, sides: Sequence[Statement], fault: str) -> str:
    """Why it is a conflict: who said what on which occasion, and that neither knew of the other."""
    parts = []
    for i, side in enumerate(sides):
        parts.append(f"{side.seen.by} {says_words(side, fault)}{_when(side, sides[0] if i else None)}")
    unaware = "neither knew of the other" if len(sides) == 2 else "not all knew of all the others"
    text = f"{', '.join(parts)}; {unaware}"
    return text + _ENDINGS.get(kind, "")


_ENDINGS = {
    "before or after mending": ": was it seen before or after mending?",
    "closing": ": whoever saw it sound did not know that it was open, so that closes nothing",
    "changed": ": the safer one stands",
}


def _when(side: Statement, first: Statement | None) -> str:
    occasion = occasion_words(side.seen)
    if not occasion:
        return " on a walk that has not come in" if side.finding else ""
    if first is not None and occasion_words(first.seen) == occasion:
        return " at the same round"
    return f" at {occasion}"


def plain(text: str) -> str:
    """A text without case and double spaces, to compare."""
    return " ".join(text.casefold().split())
