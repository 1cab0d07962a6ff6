"""Of many `sound`s at a place, those that matter beside what else was said there.

A place is mostly looked at and found well. A `sound` matters in two ways only:
- it disagrees with something, neither writer knowing of the other. A device that looks again is compared by its newer
  look, so of each device only its last look unaware of that something matters;
- it closes, or casts doubt on, what its writer knew. All those whose writers knew the same, and that the same writers
  knew of, say the same: the first of them by occasion stands for all; and the last too, where something is neither
  known to them nor knows of them, since there occasions are compared.
Keeping them from those kept and newer ones gives the same as keeping them from all.
"""

from bisect import bisect_left, bisect_right
from collections.abc import Mapping, Sequence
from operator import itemgetter
from typing import NamedTuple

from sync.fold.awareness import Cloned, Written, prefix_masks
from sync.fold.log import Logged
from sync.fold.statement import Statement

_written = itemgetter(0, 1)


class Sound(NamedTuple):
    """A plain `sound`. `on` sorts by occasion; `whole` is its entry, or the statement made of it."""

    device: str
    seq: int
    entry: str
    knows: Mapping[str, int]
    on: tuple[str, int]
    whole: Logged | Statement
    names: tuple[str, ...] = ()

    @staticmethod
    def of(statement: Statement) -> "Sound":
        s = statement
        return Sound(s.device, s.seq, s.entry, s.knows, s.on, s, s.names)


class Kept(NamedTuple):
    """A sound with masks over the rest: what it knew, and what knew it. `always`: it stands for itself alone, since
    something speaks of it by id, or its device was cloned and has no newer look."""

    sound: Sound
    knew: int
    known_by: int
    always: bool


def kept_sounds(sounds: Sequence[Sound], loud: Sequence[Written], cloned: Cloned) -> list[Kept]:
    """Those that matter beside `loud`, everything else that was said, by device and seq."""
    view = _View(loud, cloned)
    found = [
        Kept(sound, view.knew(sound), view.known_by(sound), sound.entry in view.named or sound.device in cloned)
        for sound in sorted(sounds, key=_written)
    ]
    return choose(found, view.all)


def choose(sounds: Sequence[Kept], beside: int) -> list[Kept]:
    """Of sounds by device and seq, those that matter beside some of the rest, given as a mask."""
    kept: set[int] = set()
    classes: dict[tuple[int, int], list[int]] = {}
    device, compared = "", 0
    for i in range(len(sounds) - 1, -1, -1):
        sound, knew, known_by, always = sounds[i]
        knew &= beside
        known_by &= beside
        if knew & known_by:
            return list(sounds)  # two that claim to know each other: here everything is compared
        if sound.device != device:
            device, compared = sound.device, 0  # what the device's newer looks are compared with already
        unaware = beside & ~knew
        if always or unaware & ~known_by & ~compared:
            kept.add(i)
        compared |= unaware
        if knew:
            classes.setdefault((knew, known_by), []).append(i)
    for (knew, known_by), alike in classes.items():
        kept.add(min(alike, key=lambda i: (sounds[i].sound.on, i)))
        if beside & ~knew & ~known_by:
            kept.add(max(alike, key=lambda i: (sounds[i].sound.on, i)))
    return [sounds[i] for i in sorted(kept)]


class _View:
    """What a sound knew of the rest, and which of the rest knew it, as claimed; masks over `loud`."""

    def __init__(self, loud: Sequence[Written], cloned: Cloned) -> None:
        self.loud = loud
        self.all = (1 << len(loud)) - 1
        self.prefixes = [(device, *prefix) for device, prefix in prefix_masks(loud, cloned).items()]
        self.named: dict[str, int] = {}
        self._ids: dict[str, int] = {}
        for i, item in enumerate(loud):
            self._ids[item.entry] = self._ids.get(item.entry, 0) | 1 << i
            for name in item.names:
                self.named[name] = self.named.get(name, 0) | 1 << i
        self._back: dict[str, tuple[list[int], list[int]]] = {}

    def knew(self, sound: Sound) -> int:
        own, seq, _, knows, _, _, names = sound
        mask = 0
        known = knows.get
        for device, seqs, masks in self.prefixes:
            upto = seq - 1 if device == own else known(device, 0)
            if upto >= seqs[-1]:
                mask |= masks[-1]
            elif upto >= seqs[0]:
                mask |= masks[bisect_right(seqs, upto)]
        for name in names:
            mask |= self._ids.get(name, 0)
        return mask

    def known_by(self, sound: Sound) -> int:
        back = self._back.get(sound.device)
        if back is None:
            back = self._back[sound.device] = self._claims_on(sound.device)
        mask = back[1][bisect_left(back[0], sound.seq)]
        return mask | self.named.get(sound.entry, 0) if self.named else mask

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
