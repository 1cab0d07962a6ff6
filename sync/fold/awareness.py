"""Awareness: who knew what when writing. The only order there is; clocks have no say.

A set of statements is a list, and what each one knew is a bit mask over that list: bit i set, item i was known.
"""

import re
from bisect import bisect_right
from collections.abc import Iterator, Mapping, Sequence
from typing import Protocol

import networkx

from sync.entries import UUID7


class Written(Protocol):
    """What awareness needs of a statement. `knows` is {device: highest seq its writer's state included}.

    `names` are entries it knows by id: those it speaks of (a ruling's `about`, a settlement's choice), and those that
    its `knows` names, because a number does not reach or does not tell them.
    """

    @property
    def entry(self) -> str: ...
    @property
    def device(self) -> str: ...
    @property
    def seq(self) -> int: ...
    @property
    def knows(self) -> Mapping[str, int]: ...
    @property
    def names(self) -> tuple[str, ...]: ...


#: Cloned devices and the first seq under which they wrote two things. From there on a number tells no one entry.
Cloned = Mapping[str, int]


def by_id(knows: Mapping[str, int]) -> tuple[str, ...]:
    """The entries that a `knows` names by id: {entry id: seq} among {device: seq}."""
    return tuple(name for name in knows if len(name) == _ID_LENGTH and _ID.fullmatch(name))


_ID, _ID_LENGTH = re.compile(UUID7), 36


def bits(mask: int) -> Iterator[int]:
    """The places of the bits that are set, lowest first."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask ^= low


def claims(later: Written, earlier: Written, cloned: Cloned) -> bool:
    """Whether `later`'s writer says it knew `earlier`; a device always knows its own earlier entries."""
    if earlier.entry in later.names:
        return True
    if cloned and earlier.seq >= cloned.get(earlier.device, earlier.seq + 1):
        return False
    if later.device == earlier.device:
        return earlier.seq < later.seq
    return earlier.seq <= later.knows.get(earlier.device, 0)


def known(written: Sequence[Written], cloned: Cloned) -> list[int]:
    """For each item the mask of those it knew. Two that claim to know each other know nothing of each other."""
    masks = _claimed(written, cloned)
    if _ordered(masks):
        return masks
    masks = [_without_mutual(i, masks) for i in range(len(masks))]
    return masks if _ordered(masks) else _without_rings(masks)


def order(masks: Sequence[int]) -> list[int]:
    """The items so that each comes after all it knew; the same for the same masks."""
    by_count = sorted(range(len(masks)), key=lambda i: (masks[i].bit_count(), i))
    return by_count if _follows(by_count, masks) else _layers(masks)


def _claimed(written: Sequence[Written], cloned: Cloned) -> list[int]:
    by_entry: dict[str, int] = {}
    for i, item in enumerate(written):
        by_entry[item.entry] = by_entry.get(item.entry, 0) | 1 << i
    prefixes = prefix_masks(written, cloned)
    return [_claims_of(item, prefixes, by_entry) & ~(1 << i) for i, item in enumerate(written)]


def prefix_masks(written: Sequence[Written], cloned: Cloned) -> dict[str, tuple[list[int], list[int]]]:
    """For each device its seqs in order and the masks of the first none, one, two ... of them; no cloned tails."""
    chains: dict[str, list[tuple[int, int]]] = {}
    for i, item in enumerate(written):
        if not cloned or item.seq < cloned.get(item.device, item.seq + 1):
            chains.setdefault(item.device, []).append((item.seq, 1 << i))
    return {device: _prefixes(chain) for device, chain in chains.items()}


def _prefixes(chain: list[tuple[int, int]]) -> tuple[list[int], list[int]]:
    """Seqs in order, and the mask of everything up to each."""
    chain.sort()
    masks, mask = [0], 0
    for _, bit in chain:
        mask |= bit
        masks.append(mask)
    return [seq for seq, _ in chain], masks


def _claims_of(item: Written, prefixes: Mapping[str, tuple[list[int], list[int]]], by_entry: Mapping[str, int]) -> int:
    mask, knows = 0, item.knows
    for device, (seqs, masks) in prefixes.items():
        upto = item.seq - 1 if device == item.device else knows.get(device, 0)
        if upto >= seqs[0]:
            mask |= masks[bisect_right(seqs, upto)]
    for entry in item.names:
        mask |= by_entry.get(entry, 0)
    return mask


def _follows(sequence: Sequence[int], masks: Sequence[int]) -> bool:
    seen = 0
    for i in sequence:
        if masks[i] & ~seen:
            return False
        seen |= 1 << i
    return True


def _layers(masks: Sequence[int]) -> list[int]:
    """What knows nothing left goes first; stops short where a ring of claims is left."""
    result: list[int] = []
    left = (1 << len(masks)) - 1
    while ready := [i for i in bits(left) if not masks[i] & left]:
        result += ready
        for i in ready:
            left ^= 1 << i
    return result


def _ordered(masks: Sequence[int]) -> bool:
    return len(order(masks)) == len(masks)


def _without_mutual(i: int, masks: Sequence[int]) -> int:
    return masks[i] & ~sum(1 << j for j in bits(masks[i]) if masks[j] >> i & 1)


def _without_rings(masks: Sequence[int]) -> list[int]:
    """A ring of claims over three or more: those on it know nothing of each other either."""
    graph = networkx.DiGraph((i, j) for i, mask in enumerate(masks) for j in bits(mask))
    ring = {i: sum(1 << j for j in part) for part in networkx.strongly_connected_components(graph) for i in part}
    return [mask & ~ring.get(i, 0) for i, mask in enumerate(masks)]
