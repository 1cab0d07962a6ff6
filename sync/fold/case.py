"""One fault at one place: everything said of it, who knew what, and from that its episodes and what is open."""

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field

from sync.fold.authority import gravest, gravity
from sync.fold.awareness import bits, order
from sync.fold.statement import ABSENT, PRESENT, Statement
from sync.state import Severity


@dataclass(frozen=True, slots=True)
class Powers:
    """What authority makes of a case, asked of the context once.

    `leads`: mask of statements by a lead. `usual`: the fault's own severity, for who names
    none and knew of none. `heavier`: severity -> that with a published floor and an escalation laid over it. `held`:
    whether one of these openings is only repaired for now.
    """

    leads: int = 0
    usual: Severity | None = None
    heavier: Callable[[Severity | None], Severity | None] = lambda severity: severity
    held: Callable[[Iterable[str]], bool] = lambda _: False


@dataclass(slots=True)
class Case:
    """`knew[i]` is the mask of those that `said[i]` knew; acyclic.

    `number[i]`: the episode that a statement belongs to, 0 for none. `closing`: mask of those that close what they
    knew. `outweighed`: mask of those closings, made without authority, that did not know how grave it was: they close
    nothing after all. `idle`: mask of those without effect: settlements that lower without authority. `closed`:
    presents closed.
    """

    said: list[Statement]
    knew: list[int]
    powers: Powers
    number: list[int] = field(default_factory=list)
    severity: list[Severity | None] = field(default_factory=list)
    closing: int = 0
    outweighed: int = 0
    idle: int = 0
    closed: int = 0

    def __post_init__(self) -> None:
        self.number = [0] * len(self.said)
        self.severity = [said.severity for said in self.said]
        for i in order(self.knew):
            self._weigh(i)
        self.outweighed = self._outweighed()
        self.closed = self._closed()

    def mask(self, says: Iterable[str]) -> int:
        """Those that say one of these and have effect."""
        wanted = frozenset(says)
        return sum(1 << i for i, s in enumerate(self.said) if s.says in wanted) & ~self.idle

    def aware(self, i: int, j: int) -> bool:
        """Whether i knew j."""
        return bool(self.knew[i] >> j & 1)

    def known_by(self, i: int, among: int) -> bool:
        """Whether any of `among` knew i."""
        return any(self.knew[j] >> i & 1 for j in bits(among))

    def authority(self, i: int) -> bool:
        """Whether a closing was made with authority: a settlement, a lead's ruling, a sign-off; not by a look alone."""
        return bool(self.closing >> i & 1) and not self.said[i].finding

    def in_force(self, mask: int) -> Severity | None:
        """The gravest severity in `mask`; a lead's word stands for those that the lead knew, until graver is seen."""
        words = [j for j in bits(mask & ~self.idle) if self._lowers(j)]
        covered = 0
        for j in words:
            covered |= self.knew[j]
        counted = mask & ~self.idle & ~covered
        severities = [self.severity[j] for j in bits(counted) if self.said[j].says not in ABSENT]
        return self.powers.heavier(gravest(*severities) if severities else None)

    def _lowers(self, i: int) -> bool:
        said = self.said[i]
        return said.says in ("severity", "settled") and said.severity is not None and bool(self.powers.leads >> i & 1)

    def _weigh(self, i: int) -> None:
        says, down = self.said[i].says, self.knew[i] & ~self.idle
        if self.severity[i] is None and says not in ABSENT and self.in_force(self._with_past(down)) is None:
            self.severity[i] = self.powers.usual
        episode = max((self.number[j] for j in bits(down) if self.said[j].says not in ABSENT), default=0)
        shut = max((self.number[j] for j in bits(down & self.closing)), default=0)
        if says in ("present", "put right"):
            self.number[i] = max(episode, shut + 1)
            if says == "put right" and self._light(down | 1 << i, self.number[i]):
                self.closing |= 1 << i
        elif says not in ABSENT:
            self.number[i] = max(episode, shut, 1)
            if says == "settled" and self._lowering(i, down):
                self._dismiss(i)
        else:
            self._weigh_absent(i, down, episode)

    def _weigh_absent(self, i: int, down: int, episode: int) -> None:
        """A sign-off and a lead's word close any; a look, even a lead's, closes only what is advisory or minor."""
        self.number[i] = episode
        said = self.said[i]
        if episode and (self._entitled(i) or self._light(down, episode)):
            self.closing |= 1 << i
        elif episode and said.says == "unsettled":
            self._dismiss(i)

    def _entitled(self, i: int) -> bool:
        """Whether it may close whatever it knew."""
        said = self.said[i]
        return said.says == "signed off" or (bool(self.powers.leads >> i & 1) and not said.finding)

    def _light(self, down: int, episode: int) -> bool:
        return self._mild(self._of_episode(down, episode))

    def _mild(self, mine: int) -> bool:
        """Whether these together are advisory or minor, and what they saw is not only repaired for now."""
        if gravity(self.in_force(mine)) > gravity("minor"):
            return False
        return not self.powers.held(self.said[j].entry for j in bits(mine) if self.said[j].says in PRESENT)

    def _lowering(self, i: int, down: int) -> bool:
        severity = self.said[i].severity
        if severity is None or self.powers.leads >> i & 1:
            return False
        return gravity(self.powers.heavier(severity)) < gravity(self.in_force(self._of_episode(down, self.number[i])))

    def _of_episode(self, down: int, episode: int) -> int:
        return sum(1 << j for j in bits(self._with_past(down)) if self.number[j] == episode)

    def _with_past(self, down: int) -> int:
        """What is known, with what those in turn had known: nobody sheds a severity by forgetting."""
        found = left = down
        while left:
            for j in bits(left):
                found |= self.knew[j]
            left, down = found & ~down, found
        return found & ~self.idle

    def _dismiss(self, i: int) -> None:
        self.idle |= 1 << i
        self.number[i] = 0

    def _outweighed(self) -> int:
        """Not knowing that it is grave gives no authority: all that was said of the episode counts, but for what was
        said by those who knew of the closing."""
        mask = 0
        for i in bits(self.closing):
            if not self._entitled(i):
                mine = (j for j, number in enumerate(self.number) if number == self.number[i] and not self.aware(j, i))
                mask |= (not self._mild(sum(1 << j for j in mine) & ~self.idle)) << i
        return mask

    def _closed(self) -> int:
        """Presents that a closing knew, and those that a closed one had replaced."""
        closed, closing = 0, self.closing & ~self.outweighed
        for i in reversed(order(self.knew)):
            shut = closing >> i & 1 or self.known_by(i, closing | closed)
            if shut and self.said[i].says in PRESENT:
                closed |= 1 << i
        return closed


def numbered(case: Case, mask: int) -> Mapping[int, int]:
    """Episode -> mask of those in `mask` that belong to it."""
    found: dict[int, int] = {}
    for i in bits(mask):
        found[case.number[i]] = found.get(case.number[i], 0) | 1 << i
    return found
