"""The code people read for a defect: `badger-7k3qd`, derived from its opening entry's id alone."""

import hashlib
from collections.abc import Iterable

#: Letters and digits without 0 O 1 I L: 31 of them.
ALPHABET = "23456789abcdefghjkmnpqrstuvwxyz"
LENGTH = 5


def code(vehicle: str, opening: str, length: int = LENGTH) -> str:
    """The code of one opening entry, of as many letters as asked for."""
    number = int.from_bytes(hashlib.sha256(opening.encode()).digest(), "big")
    letters = []
    for _ in range(length):
        number, place = divmod(number, len(ALPHABET))
        letters.append(ALPHABET[place])
    return f"{vehicle}-{''.join(letters)}"


def codes(vehicle: str, openings: Iterable[str]) -> dict[str, str]:
    """A code for each opening id of one vehicle; those that collide are longer, all of them, until none does."""
    found: dict[str, str] = {}
    waiting, length = sorted(set(openings)), LENGTH
    while waiting:
        by_code: dict[str, list[str]] = {}
        for opening in waiting:
            by_code.setdefault(code(vehicle, opening, length), []).append(opening)
        found.update({same[0]: text for text, same in by_code.items() if len(same) == 1})
        waiting = [opening for same in by_code.values() if len(same) > 1 for opening in same]
        length += 1
    return found


def longer(vehicle: str, short: Iterable[tuple[str, str]]) -> dict[str, str]:
    """Of (opening id, its code of five letters) those that need a longer one, and which: ids that share a code do."""
    by_code: dict[str, set[str]] = {}
    for opening, text in short:
        by_code.setdefault(text, set()).add(opening)
    return codes(vehicle, (opening for same in by_code.values() if len(same) > 1 for opening in same))


def conflict_code(vehicle: str, *subject: str) -> str:
    """A conflict's id: its vehicle and seven letters of its subject and field."""
    return "c-" + code(vehicle, "\0".join((vehicle, *subject)), 7)
