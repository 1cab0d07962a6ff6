"""One fault at one place: everything said of it, who knew what, and from that its episodes and what is open."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field

from builder.fleet import SEVERITIES
from sync.fold.authority import gravity
from sync.fold.awareness import bits, order
from sync.fold.statement import ABSENT, FINDINGS, PRESENT, Statement
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

    `number[i]`: the episode that a statement belongs to, 0 for none; `episodes`: the mask of each. `closing`: mask of
    those that close what they knew. `outweighed`: mask of those that would have closed it, had they known how grave it
    was. `idle`: mask of those without effect: settlements that lower without authority. `closed`: presents closed.
    `newer`: mask of those that make older what they knew.
    """

    said: list[Statement]
    knew: list[int]
    powers: Powers
    number: list[int] = field(default_factory=list)
    severity: list[Severity | None] = field(default_factory=list)
    episodes: dict[int, int] = field(default_factory=dict)
    closing: int = 0
    outweighed: int = 0
    idle: int = 0
    closed: int = 0
    newer: int = 0
    _order: list[int] = field(default_factory=list)
    _says: dict[str, int] = field(default_factory=dict)
    _past: list[int] = field(default_factory=list)
    _known_by: list[int] = field(default_factory=list)
    _as_grave: dict[Severity, int] = field(default_factory=dict)
    _words: int = 0

    def __post_init__(self) -> None:
        self._order = order(self.knew)
        for i, said in enumerate(self.said):
            self._says[said.says] = self._says.get(said.says, 0) | 1 << i
            if said.says in ("severity", "settled") and said.severity is not None:
                self._words |= 1 << i
        self._words &= self.powers.leads
        self._look_back()
        self._weigh_all()
        while more := self._unaware():  # a closing that goes makes earlier and later episodes one
            self.outweighed |= more
            self._weigh_all()
        self.closed = self._shut(-1)
        self.newer = self.mask(FINDINGS | {"settled", "unsettled"}) | self.closing

    @property
    def shutting(self) -> int:
        """Those that close, or mean to: to be compared with what they did not know."""
        return (self.closing | self.outweighed) & ~self.idle

    def mask(self, says: Iterable[str]) -> int:
        """Those that say one of these and have effect."""
        found = 0
        for one in says:
            found |= self._says.get(one, 0)
        return found & ~self.idle

    def aware(self, i: int, j: int) -> bool:
        """Whether i knew j."""
        return bool(self.knew[i] >> j & 1)

    def known_by(self, i: int, among: int) -> bool:
        """Whether any of `among` knew i."""
        return bool(self._known_by[i] & among)

    def authority(self, i: int) -> bool:
        """Whether a closing is more than a look: a settlement, a ruling, a sign-off."""
        return bool(self.shutting >> i & 1) and not self.said[i].finding

    def in_force(self, mask: int) -> Severity | None:
        """The gravest severity in `mask`; a lead's word stands for those that the lead knew, until graver is seen."""
        mask &= ~self.idle
        covered = 0
        for j in bits(mask & self._words):
            covered |= self.knew[j]
        counted = mask & ~covered
        return self.powers.heavier(next((s for s in SEVERITIES if counted & self._as_grave.get(s, 0)), None))

    def _look_back(self) -> None:
        """What each one's knowledge reaches back to; and who knew it."""
        self._past, self._known_by = list(self.knew), [0] * len(self.said)
        for i in self._order:
            for j in bits(self.knew[i]):
                self._past[i] |= self._past[j]
                self._known_by[j] |= 1 << i

    def _weigh_all(self) -> None:
        self.number = [0] * len(self.said)
        self.severity = [None] * len(self.said)
        self.episodes, self._as_grave = {}, {}
        self.closing = self.idle = 0
        absent = self.mask(ABSENT)
        for i in self._order:
            self._weigh(i, absent)

    def _weigh(self, i: int, absent: int) -> None:
        says, down = self.said[i].says, self.knew[i] & ~self.idle
        episode = self._latest(down & ~absent)
        shut = self._latest(down & self.closing)
        if says in ("present", "put right"):
            self._belongs(i, max(episode, shut + 1))
            self._name_severity(i, down)
            if says == "put right":
                self._close(i, self._with_past(down) | 1 << i)
        elif not absent >> i & 1:
            self._belongs(i, max(episode, shut, 1))
            self._name_severity(i, down)
            if says == "settled" and self._lowering(i, down):
                self._dismiss(i)
        elif episode:
            self._belongs(i, episode)
            if not self._close(i, self._with_past(down)) and says == "unsettled":
                self._dismiss(i)

    def _name_severity(self, i: int, down: int) -> None:
        """Who names none means what they knew of the episode; who knew of none, the fault's own."""
        severity = self.said[i].severity
        if severity is None and self.in_force(self.episodes[self.number[i]] & self._with_past(down)) is None:
            severity = self.powers.usual
        if severity is not None:
            self.severity[i] = severity
            self._as_grave[severity] = self._as_grave.get(severity, 0) | 1 << i

    def _close(self, i: int, view: int) -> bool:
        """Whether it may close what it knew: a sign-off and a lead's word any; a look, even a lead's, and the word of
        anybody else only what is advisory or minor as far as they knew. It does, unless it is outweighed."""
        may = self._entitled(i) or self._light(view, self.number[i])
        if may and not self.outweighed >> i & 1:
            self.closing |= 1 << i
        return may

    def _entitled(self, i: int) -> bool:
        said = self.said[i]
        return said.says == "signed off" or (bool(self.powers.leads >> i & 1) and not said.finding)

    def _light(self, view: int, episode: int) -> bool:
        """Whether an episode, with earlier ones still open, is advisory or minor, and not only repaired for now; as far
        as a view reaches."""
        mine = self.episodes.get(episode, 0) & view
        earlier = [number for number, those in self.episodes.items() if number < episode and those & view]
        if earlier:
            still = self.mask(PRESENT) & view & ~self._shut(view)
            first = min((number for number in earlier if self.episodes[number] & still), default=episode)
            for number in range(first, episode):
                mine |= self.episodes.get(number, 0) & view
        if gravity(self.in_force(mine)) > gravity("minor"):
            return False
        return not self.powers.held(self.said[j].entry for j in bits(mine & self.mask(PRESENT)))

    def _unaware(self) -> int:
        """Closings without authority that did not know how grave it was: not to know gives no authority. All counts but
        what was said by those who knew of the closing."""
        found = 0
        for i in bits(self.closing):
            if not self._entitled(i) and not self._light(~self._known_by[i] & ~self.idle, self.number[i]):
                found |= 1 << i
        return found

    def _lowering(self, i: int, down: int) -> bool:
        severity = self.said[i].severity
        if severity is None or self.powers.leads >> i & 1:
            return False
        mine = self.episodes[self.number[i]] & self._with_past(down)
        return gravity(self.powers.heavier(severity)) < gravity(self.in_force(mine))

    def _latest(self, mask: int) -> int:
        return max((number for number, those in self.episodes.items() if those & mask), default=0)

    def _with_past(self, down: int) -> int:
        """What is known, with what those in turn had known: nobody sheds a severity by forgetting."""
        found = down
        for j in bits(down):
            found |= self._past[j]
        return found & ~self.idle

    def _belongs(self, i: int, episode: int) -> None:
        self.number[i] = episode
        self.episodes[episode] = self.episodes.get(episode, 0) | 1 << i

    def _dismiss(self, i: int) -> None:
        self.idle |= 1 << i
        self.episodes[self.number[i]] &= ~(1 << i)
        self.number[i] = 0

    def _shut(self, view: int) -> int:
        """Presents that a closing knew, and those that a closed one had replaced, as far as a view reaches."""
        presents, shut = self.mask(PRESENT) & view, self.closing & view
        for i in reversed(self._order):
            if presents >> i & 1 and self._known_by[i] & shut:
                shut |= 1 << i
        return shut & presents
