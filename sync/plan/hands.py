"""Who does which piece of a day's work: handed out in the order in which the pieces begin.

The plan never has more people at work than are there, so at every moment enough are free. A piece goes to whoever was
named for it, is on that job already, owns it, may sign it off, or has done least so far. Who was named for a piece but
is on another when it begins hands that over to somebody who is free.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field

from sync.plan.network import Activity
from sync.plan.plan import Plan
from sync.plan.problem import Item
from sync.plan.sessions import Session


@dataclass
class Hand:
    """One person on one day: until when they are busy, how long they work in all, and what they have been on."""

    name: str
    signs_off: frozenset[str]
    meant: tuple[tuple[int, int], ...] = ()
    free_from: int = 0
    worked: int = 0
    on: set[str] = field(default_factory=set)


@dataclass
class Turn:
    """One stretch of a piece of work with the same people; slots as in the plan."""

    piece: Activity
    start: int
    end: int
    hands: list[Hand]


def hands_of(plan: Plan, session: Session, names: Sequence[str], pieces: Sequence[Activity]) -> list[Hand]:
    """As many as are counted on: those named, else the workshop's people, whom work is meant for first; then helpers
    without a name."""
    known = {person.initials: frozenset(person.signs_off) for person in plan.problem.people}
    meant = [name for piece in pieces for name in piece.who]
    wanted = [*dict.fromkeys(names or [*meant, *known])][: session.people]
    wanted += [f"helper {number}" for number in range(1, session.people - len(wanted) + 1)]
    times = {name: tuple((plan.start(p.id), plan.end(p.id)) for p in pieces if name in p.who) for name in wanted}
    return [Hand(name, known.get(name, frozenset()), times[name]) for name in wanted]


def handed_out(plan: Plan, session: Session, pieces: Sequence[Activity], hands: Sequence[Hand]) -> list[Turn]:
    """Every piece of a session's work with who does it, in the order in which they begin."""
    turns: list[Turn] = []
    for piece in pieces:
        start, end = max(plan.start(piece.id), session.first), min(plan.end(piece.id), session.end)
        for hand in hands:
            if hand.name in piece.who and hand.free_from > start:
                turns += _relieved(plan, hand, start, turns, [one for one in hands if one.name not in piece.who])
        free = [hand for hand in hands if hand.free_from <= start]
        turn = Turn(piece, start, end, _fittest(plan, piece, free)[: piece.people])
        for hand in turn.hands:
            _busy(hand, turn)
        turns.append(turn)
    return sorted(turns, key=lambda turn: turn.start)


def _busy(hand: Hand, turn: Turn) -> None:
    hand.free_from = turn.end
    hand.worked += turn.end - turn.start
    hand.on |= {turn.piece.vehicle, turn.piece.bundle or turn.piece.id}


def _relieved(plan: Plan, hand: Hand, at: int, turns: Sequence[Turn], others: Sequence[Hand]) -> list[Turn]:
    """Somebody takes over from a hand at a moment: what is left of that turn, as one of its own."""
    free = [other for other in others if other.free_from <= at]
    if not free:
        return []
    turn = next(turn for turn in turns if hand in turn.hands and turn.end > at)
    stays = [other for other in turn.hands if other is not hand]
    left = Turn(turn.piece, at, turn.end, [*stays, _fittest(plan, turn.piece, free)[0]])
    _busy(left.hands[-1], left)
    hand.worked -= turn.end - at
    hand.free_from = at
    if turn.start == at:
        turn.hands = left.hands
        return []
    turn.end = at
    return [left]


def _fittest(plan: Plan, piece: Activity, hands: Sequence[Hand]) -> list[Hand]:
    item = plan.problem.by_item.get(piece.about)
    time = plan.start(piece.id), plan.end(piece.id)
    return sorted(hands, key=lambda hand: _fitness(hand, piece, item, time))


def _fitness(
    hand: Hand, piece: Activity, item: Item | None, time: tuple[int, int]
) -> tuple[bool, bool, bool, bool, bool, bool, int, str]:
    """Who had best do a piece of work in its time: small is good."""
    return (
        hand.name not in piece.who,
        any(begin < time[1] and time[0] < end for begin, end in hand.meant),  # other work is meant for them then
        item is None or item.owner != hand.name,
        bool(piece.bundle) and piece.bundle not in hand.on,
        piece.vehicle not in hand.on,
        item is None or not item.system or item.system not in hand.signs_off,
        hand.worked,
        hand.name,
    )
