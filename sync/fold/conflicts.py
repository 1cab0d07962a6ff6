"""Disagreement: which two statements are in conflict, of what kind, and whether somebody has ended it.

A disagreement between two statements, neither aware of the other, stands until a settlement (or a closing with
authority) that knew one of them and is itself compared with the other; or until the same device looked again,
still unaware of the other, so that its newer statement is compared instead. A look by somebody who knew both ends
nothing: disagreement is settled by a person who says why.
"""

from collections.abc import Iterator

from sync.fold.awareness import bits
from sync.fold.case import Case
from sync.fold.readings import Limits
from sync.fold.statement import ABSENT, FINDINGS, PRESENT, Statement

_ROUNDS = {"before": 0, "hot": 1, "cold": 2}
#: The gravest kind of a conflict's pairs names it.
KINDS = ("result", "before or after mending", "closing", "severity", "reading", "changed")


def occasion(one: Statement, other: Statement) -> int | None:
    """-1 where `one` was on an earlier occasion, 0 on the same, 1 on a later; None where either has none."""
    first, second = one.seen, other.seen
    if not (first.day and second.day):
        return None
    if first.day != second.day:
        return -1 if first.day < second.day else 1
    if "full" in (first.round, second.round) or first.round == second.round:
        return 0
    return -1 if _ROUNDS[first.round] < _ROUNDS[second.round] else 1


def disputes(case: Case, limits: Limits) -> Iterator[tuple[int, int, str]]:
    """Each open disagreement: two statements, the one that says present first, and its kind."""
    claims = case.mask(FINDINGS | {"settled", "unsettled", "reopened"}) | case.shutting
    words = case.mask({"severity"})
    enders = case.mask({"settled", "unsettled"}) | sum(1 << i for i in bits(case.shutting) if case.authority(i))
    presents = case.mask(PRESENT) | words
    for i in bits(presents):
        rivals = (claims | words) & ~case.knew[i] & ~(1 << i)
        for j in bits(rivals):
            if case.aware(j, i) or (presents >> j & 1 and j < i):
                continue
            kind = _kind(case, i, j, limits)
            if kind and not _ended(case, i, j, enders, words if presents >> j & 1 else 0):
                yield (j, i, kind) if _gone(case, i) else (i, j, kind)


def _kind(case: Case, i: int, j: int, limits: Limits) -> str:
    one, other = case.said[i], case.said[j]
    gone_one, gone_other = _gone(case, i), _gone(case, j)
    if "severity" in (one.says, other.says):
        differ = not (gone_one or gone_other) and _severity_differs(one, other) and case.number[i] == case.number[j]
        return "severity" if differ else ""
    if gone_one and gone_other:
        return ""
    if gone_one:
        return _against(case, j, i)
    if gone_other:
        return _against(case, i, j)
    return _between(case, i, j, limits)


def _gone(case: Case, i: int) -> bool:
    """Says that it is not there now: absent, or put right with effect."""
    return case.said[i].says in ABSENT or (case.said[i].says == "put right" and bool(case.shutting >> i & 1))


def _against(case: Case, present: int, absent: int) -> str:
    """A present and an absent."""
    when = occasion(case.said[absent], case.said[present])
    if case.shutting >> absent & 1:
        if case.number[present] > case.number[absent]:
            return ""
        same_look = when == 0 and case.said[absent].says != "put right"
        return "result" if same_look else "before or after mending"
    if when is None or when == 0:
        return "result"
    return "closing" if when > 0 else ""


def _between(case: Case, i: int, j: int, limits: Limits) -> str:
    """Two presents."""
    one, other = case.said[i], case.said[j]
    if case.number[i] != case.number[j]:
        return ""
    apart = one.reading is not None and other.reading is not None and not limits.agree(one.reading, other.reading)
    severity = _severity_differs(one, other)
    if not (apart or severity):
        return ""
    if occasion(one, other) in (-1, 1):
        return "changed"
    return "severity" if severity else "reading"


def _severity_differs(one: Statement, other: Statement) -> bool:
    return None not in (one.severity, other.severity) and one.severity != other.severity


def _ended(case: Case, i: int, j: int, enders: int, words: int) -> bool:
    if any((case.knew[e] >> i | case.knew[e] >> j) & 1 for e in bits((enders | words) & ~(1 << i | 1 << j))):
        return True
    return _looked_again(case, i, j) or _looked_again(case, j, i)


def _looked_again(case: Case, i: int, other: int) -> bool:
    """Whether i's own device said something newer, still unaware of the other."""
    device = case.said[i].device
    return any(
        later.device == device and later.finding and case.aware(k, i) and not case.aware(k, other) and k != other
        for k, later in enumerate(case.said)
    )
