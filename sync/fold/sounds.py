"""Of many `sound`s at a place, those that matter beside what else was said there.

A place is mostly looked at and found well. A `sound` matters in two ways only:
- it disagrees with something, neither writer knowing of the other. A device that looks again is compared by its newer
  look, so of each device only its last look unaware of that something matters;
- it closes, or casts doubt on, what its writer knew. All those whose writers knew the same, and that the same writers
  knew of, say the same: the first and the last of them by occasion stand for all.
Keeping them from those kept and newer ones gives the same as keeping them from all.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from itertools import groupby
from typing import Protocol, TypeVar

from sync.fold.awareness import Cloned, Written, prefix_masks

#: Day and round, then device and seq: an order among sounds that no arrival changes.
When = tuple[str, int, str, int]


class Dated(Written, Protocol):
    """A sound: what awareness needs, and its occasion as something that sorts."""

    @property
    def when(self) -> When: ...


Sound = TypeVar("Sound", bound=Dated)


def kept_sounds(sounds: Sequence[Sound], loud: Sequence[Written], cloned: Cloned) -> list[Sound]:
    """Those that matter beside `loud`, everything else that was said, by device and seq."""
    ordered = sorted(sounds, key=lambda sound: (sound.device, sound.seq))
    if cloned and any(sound.device in cloned for sound in sounds):
        return ordered
    view = _View(loud, cloned)
    kept: set[str] = {sound.entry for sound in ordered if sound.entry in view.named}
    classes: dict[tuple[int, int], tuple[Sound, Sound]] = {}
    for _, chain in groupby(reversed(ordered), key=lambda sound: sound.device):
        compared = 0  # with what the device's newer looks are compared already
        for sound in chain:
            knew, known_by = view.knew(sound), view.known_by(sound)
            if knew & known_by:
                return ordered  # two that claim to know each other: here everything is compared
            if view.all & ~knew & ~known_by & ~compared:
                kept.add(sound.entry)
            compared |= view.all & ~knew
            if knew:
                first, last = classes.get((knew, known_by), (sound, sound))
                classes[knew, known_by] = (min(first, sound, key=_when), max(last, sound, key=_when))
    kept.update(sound.entry for pair in classes.values() for sound in pair)
    return [sound for sound in ordered if sound.entry in kept]


def _when(sound: Dated) -> When:
    return sound.when


class _View:
    """What a sound knew of the rest, and which of the rest knew it, as claimed; masks over `loud`."""

    def __init__(self, loud: Sequence[Written], cloned: Cloned) -> None:
        self.loud = loud
        self.cloned = cloned
        self.all = (1 << len(loud)) - 1
        self.prefixes = [(device, *prefix) for device, prefix in prefix_masks(loud, cloned).items()]
        self.named: dict[str, int] = {}
        for i, item in enumerate(loud):
            for name in item.names:
                self.named[name] = self.named.get(name, 0) | 1 << i
        self._tails = [(i, w) for i, w in enumerate(loud) if cloned and w.seq >= cloned.get(w.device, w.seq + 1)]
        self._back: dict[str, tuple[list[int], list[int]]] = {}

    def knew(self, sound: Written) -> int:
        mask, own, knows = 0, sound.device, sound.knows
        for device, seqs, masks in self.prefixes:
            upto = sound.seq - 1 if device == own else knows.get(device, 0)
            if upto >= seqs[0]:
                mask |= masks[-1] if upto >= seqs[-1] else masks[bisect_right(seqs, upto)]
        for i, item in self._tails:
            if item.entry in knows:
                mask |= 1 << i
        return mask

    def known_by(self, sound: Written) -> int:
        back = self._back.get(sound.device)
        if back is None:
            back = self._back[sound.device] = self._claims_on(sound.device)
        seqs, masks = back
        return masks[bisect_left(seqs, sound.seq)] | self.named.get(sound.entry, 0)

    def _claims_on(self, device: str) -> tuple[list[int], list[int]]:
        """Up to which seq each claims to have known the device, in order; the masks of those from each on."""
        upto = sorted(
            (item.seq - 1 if item.device == device else item.knows.get(device, 0), 1 << i)
            for i, item in enumerate(self.loud)
        )
        masks, mask = [0], 0
        for _, bit in reversed(upto):
            mask |= bit
            masks.append(mask)
        masks.reverse()
        return [seq for seq, _ in upto], masks
