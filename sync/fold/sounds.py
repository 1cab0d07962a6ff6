"""Runs of `sound`: of many looks by one device that knew the same, the first and the last say all there is to say.

A device's later `sound` replaces its earlier one. In a run of them whose writer knew the same of the place, each is
compared with others only through the last (the device looked again), and closes what it knew from the first on.
"""

from bisect import bisect_right
from collections.abc import Sequence
from typing import TypeVar

from sync.fold.awareness import Cloned, Written, bits, claims, prefix_masks

Sound = TypeVar("Sound", bound=Written)


def kept_sounds(sounds: Sequence[Sound], loud: Sequence[Written], cloned: Cloned) -> list[Sound]:
    """Those that matter beside `loud`, everything else that was said at the place.

    Keeping them from those kept and newer ones gives the same as keeping them from all.
    """
    if cloned and any(sound.device in cloned for sound in sounds):
        return list(sounds)
    view = _View(loud, cloned)
    kept: list[Sound] = []
    device, seen, first, last = "", -1, None, None
    for sound in sorted(sounds, key=lambda s: (s.device, s.seq)):
        mask = view.of(sound)
        if sound.device != device or mask != seen:
            _keep(kept, first, last, seen, view.named)
            device, seen, first = sound.device, mask, sound
        elif last is not None and last.entry in view.named and last is not first:
            kept.append(last)
        last = sound
    _keep(kept, first, last, seen, view.named)
    return kept


def _keep(kept: list[Sound], first: Sound | None, last: Sound | None, seen: int, named: set[str]) -> None:
    if last is None or first is None:
        return
    if first is not last and (seen or first.entry in named):
        kept.append(first)
    kept.append(last)


class _View:
    """What each sound knew of the rest, as a mask; two that claim each other know nothing of each other."""

    def __init__(self, loud: Sequence[Written], cloned: Cloned) -> None:
        self.loud = loud
        self.cloned = cloned
        self.prefixes = prefix_masks(loud, {})
        self.named = {name for item in loud for name in item.names}
        self._back: dict[tuple[int, str], int] = {}

    def of(self, sound: Written) -> int:
        mask = 0
        for device, (seqs, masks) in self.prefixes.items():
            upto = sound.seq - 1 if device == sound.device else sound.knows.get(device, 0)
            if upto >= seqs[0]:
                mask |= masks[bisect_right(seqs, upto)]
        if not mask:
            return 0
        if self.cloned or sound.entry in self.named or sound.seq <= self._known_back(mask, sound.device):
            pairs = ((i, self.loud[i]) for i in bits(mask))
            return sum(
                1 << i
                for i, item in pairs
                if claims(sound, item, self.cloned) and not claims(item, sound, self.cloned)
            )
        return mask

    def _known_back(self, mask: int, device: str) -> int:
        """The highest seq of the device that any of these claims to have known; an own later one knows it too."""
        found = self._back.get((mask, device))
        if found is None:
            items = [self.loud[i] for i in bits(mask)]
            found = max(item.seq - 1 if item.device == device else item.knows.get(device, 0) for item in items)
            self._back[mask, device] = found
        return found
