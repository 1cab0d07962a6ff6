"""How good any plan can be at best: bounds that need no search.

The workshop is taken as one machine that works at the rate of all its people and may drop one piece of work for
another. On it the least weighted sum of mean busy times (the moment at which, on average, a piece of work is being
done) is reached by always doing what is worth most for its load among what can have begun (Goemans and others 2002;
from memory).
In a real plan a vehicle's end lies behind the mean busy time of each piece of its work by half that piece and by the
longest chain that must still follow, and behind that of all of it by half its load; whichever is more. So the two
together bound the sum of ends.

Two things sharpen it, and each keeps it true. A vehicle that waits long for something is better bounded by its own
longest chain, and is then left out of the machine: any choice of which gives a bound, so it may be made greedily. And
what an earlier goal has fixed (the sum of the ends of dangerous work) is kept as a price on it (Lagrange): every price
gives a bound.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from heapq import heappop, heappush
from itertools import pairwise
from math import ceil, inf


@dataclass(frozen=True)
class Piece:
    """One activity: the earliest slot it can begin, its length, its person-slots, and the longest chain after it.

    Terms that count the same activity know it by the same name, and the machine works it off once.
    """

    name: str
    begin: int
    slots: int
    load: int
    tail: int


@dataclass(frozen=True)
class Term:
    """One end that counts, by its weight: of some pieces of work, and no earlier than `earliest`."""

    weight: float
    pieces: tuple[Piece, ...]
    earliest: int

    @property
    def load(self) -> int:
        return sum(piece.load for piece in self.pieces)

    def behind(self, people: int) -> float:
        """How far the end lies behind the mean busy time of all pieces, at least."""
        chain = sum(piece.load * (piece.slots / 2 + piece.tail) for piece in self.pieces) / self.load
        return max(chain, self.load / people / 2)


Taken = tuple[int, int, int]  # first slot, how many slots, how many people


def weighted_ends(terms: Sequence[Term], people: int, taken: Sequence[Taken] = (), paid: float = 0.0) -> int:
    """A lower bound on the sum of weight times end over all terms.

    `taken` is when some of the people are not to be had. `paid` is taken off: what the prices among the weights may
    have been paid for at most.
    """
    rates = _rates(people, taken)
    machine = {number: term for number, term in enumerate(terms) if term.weight > 0 and term.load}
    alone = sum(term.weight * term.earliest for term in terms if not term.load)
    ends = _ends(machine, rates)
    best = alone + _total(machine, ends)
    for number in sorted(machine, key=lambda number: -terms[number].earliest):
        term = terms[number]
        if term.earliest <= ends[number]:
            continue
        rest = {other: term for other, term in machine.items() if other != number}
        without = _ends(rest, rates)
        trial = alone + term.weight * term.earliest + _total(rest, without)
        if trial > best:
            best, machine, ends, alone = trial, rest, {**ends, **without}, alone + term.weight * term.earliest
    return max(0, ceil(round(best - paid, 6)))


def idle_before(deadline: int, terms: Sequence[Term], people: int, taken: Sequence[Taken] = ()) -> float:
    """Person-slots before a deadline that stay idle on the machine, whatever is done first: nothing has begun yet."""
    rates = _rates(people, taken)
    work = {piece.name: (piece.begin, piece.load) for term in terms for piece in term.pieces}
    marks = sorted({0, deadline, *(begin for begin, _ in work.values()), *(at for at, _ in rates)})
    idle = left = 0.0
    for now, until in pairwise(mark for mark in marks if mark <= deadline):
        left += sum(load for begin, load in work.values() if begin == now)
        room = (until - now) * next(rate for at, rate in reversed(rates) if at <= now)
        idle += max(room - left, 0.0)
        left = max(left - room, 0.0)
    return idle


def _total(machine: Mapping[int, Term], ends: Mapping[int, float]) -> float:
    return sum(term.weight * ends[number] for number, term in machine.items())


def _rates(people: int, taken: Sequence[Taken]) -> list[tuple[float, int]]:
    """From when on how many people are there; the last of them for ever."""
    change: dict[int, int] = {0: 0}
    for first, slots, fewer in taken:
        change[first] = change.get(first, 0) - fewer
        change[first + slots] = change.get(first + slots, 0) + fewer
    rates: list[tuple[float, int]] = []
    for at in sorted(change):
        people += change[at]
        rates.append((at, max(people, 0)))
    return rates


def _ends(machine: Mapping[int, Term], rates: Sequence[tuple[float, int]]) -> dict[int, float]:
    """The ends whose weighted sum is least: each mean busy time on the machine, and how far its end lies behind."""
    worth: dict[str, float] = {}
    for term in machine.values():
        for piece in term.pieces:
            worth[piece.name] = worth.get(piece.name, 0.0) + term.weight / term.load
    pieces = {piece.name: piece for term in machine.values() for piece in term.pieces if piece.load}
    work = sorted((piece.begin, -worth[name], name, piece.load) for name, piece in pieces.items())
    busy = dict.fromkeys(pieces, 0.0)
    ready: list[tuple[float, str, float]] = []
    now, place, leg = 0.0, 0, 0
    while place < len(work) or ready:
        if not ready:
            now = max(now, work[place][0])
        while leg + 1 < len(rates) and rates[leg + 1][0] <= now:
            leg += 1
        turn = rates[leg + 1][0] if leg + 1 < len(rates) else inf
        rate = rates[leg][1]
        if not rate:
            now = turn
            continue
        while place < len(work) and work[place][0] <= now:
            heappush(ready, work[place][1:])
            place += 1
        value, name, load = heappop(ready)
        until = min(turn, work[place][0] if place < len(work) else inf)
        done = min(load, (until - now) * rate)
        busy[name] += done * (now + done / rate / 2)
        now = until if done < load else now + done / rate
        if load - done > 1e-9:
            heappush(ready, (value, name, load - done))
    most = max(people for _, people in rates)
    return {
        number: sum(busy[piece.name] for piece in term.pieces if piece.load) / term.load + term.behind(most)
        for number, term in machine.items()
    }
