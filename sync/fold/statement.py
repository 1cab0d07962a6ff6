"""A statement: what one entry says of one fault, who said it, and what its writer knew."""

from collections.abc import Mapping
from typing import Literal

import msgspec

from builder.fleet import ROUND_ORDER
from sync.entries import Finding, Reading
from sync.state import Severity, Sighting

#: sound: absent, with every other fault there. gone: absent, this fault alone. put right: seen and mended at once.
#: settled, unsettled: a settlement says present, absent. closed, reopened, severity: rulings. signed off: work.
Says = Literal[
    "present", "sound", "gone", "put right", "settled", "unsettled", "closed", "reopened", "severity", "signed off"
]


class Via(msgspec.Struct, frozen=True, array_like=True):
    """A ruling that placed a finding. Who did not know of the ruling knew of nothing at that place."""

    entry: str
    device: str
    seq: int
    knows: dict[str, int] = {}
    names: tuple[str, ...] = ()


class Statement(msgspec.Struct, frozen=True, kw_only=True, array_like=True, omit_defaults=True):
    """`fault` None speaks of every fault at the place. `seen` is what a person reads of it."""

    seen: Sighting
    says: Says
    fault: str | None
    knows: dict[str, int]
    edition: str
    names: tuple[str, ...] = ()
    station: str = ""
    via: Via | None = None
    own: dict[str, int] = {}  # knowledge of its own beside its walk's

    @property
    def entry(self) -> str:
        return self.seen.entry

    @property
    def device(self) -> str:
        return self.seen.device

    @property
    def seq(self) -> int:
        return self.seen.seq

    @property
    def on(self) -> tuple[str, int]:
        return occasion_order(self.seen.day, self.seen.round)

    @property
    def severity(self) -> Severity | None:
        return self.seen.severity

    @property
    def reading(self) -> Reading | None:
        return self.seen.reading

    @property
    def absent(self) -> bool:
        return self.says in ABSENT

    @property
    def present(self) -> bool:
        return self.says in PRESENT

    @property
    def finding(self) -> bool:
        return self.says in FINDINGS


def occasion_order(day: str, round_: str) -> tuple[str, int]:
    """Sorts by occasion; what is on none comes last."""
    return (day or "~", ROUND_ORDER.get(round_, len(ROUND_ORDER)))


def written_order(statement: Statement) -> tuple[str, int, str, str]:
    """By device and seq: an order that no arrival changes."""
    return (statement.device, statement.seq, statement.entry, statement.says)


ABSENT = frozenset({"sound", "gone", "unsettled", "closed", "signed off"})
PRESENT = frozenset({"present", "put right", "settled", "reopened"})
FINDINGS = frozenset({"present", "sound", "gone", "put right"})


def says_of(finding: Finding) -> Says | None:
    """What a finding states; None for `unchecked`, which counts against coverage alone."""
    if finding.verdict == "gone":
        return "gone"
    if finding.verdict is not None or finding.result == "defect":
        return "put right" if finding.put_right else "present"
    return "sound" if finding.result == "sound" else None


def known_with(walk: Mapping[str, int], own: Mapping[str, int]) -> dict[str, int]:
    """A walk's knowledge and an entry's own together."""
    if not own:
        return walk if isinstance(walk, dict) else dict(walk)
    return {device: max(walk.get(device, 0), own.get(device, 0)) for device in (*walk, *own)}
