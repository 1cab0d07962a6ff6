"""What stands on each printed paper: frozen, in words, ready for the templates; nothing is decided there any more."""

import msgspec

from builder.fleet import ReadingLimits


class Paper(msgspec.Struct, frozen=True, kw_only=True):
    pass


class Head(Paper, frozen=True, kw_only=True):
    """The vehicle a paper is about, as it stands. `ask` are the initials of the leads."""

    fleet: str
    vehicle: str
    name: str
    kind: str
    location: str
    standing: str
    barred: tuple[str, ...] = ()
    moves: tuple[str, ...] = ()
    permits: tuple[str, ...] = ()
    tags: tuple[str, ...] = ()
    ask: tuple[str, ...] = ()
    as_of: str
    edition: str


class CardFigures(Paper, frozen=True, kw_only=True):
    """What the figures of a defect come to: `says` in words, `do` is what to do, `sure` what it rests on."""

    verdict: str
    says: tuple[str, ...]
    do: tuple[str, ...] = ()
    sure: tuple[str, ...] = ()
    care: str = ""  # the line that stands beside every number: whose word comes first


class CardOrder(Paper, frozen=True, kw_only=True):
    """Where a card stands in the plan; each a line of words, empty where there is nothing to say."""

    when: str
    why: str = ""
    after: tuple[str, ...] = ()
    before: tuple[str, ...] = ()
    together: tuple[str, ...] = ()


class CardDefect(Paper, frozen=True, kw_only=True):
    """One defect on a card. `photos` are data addresses; `limits` is "15 to 35 mm"."""

    code: str
    link: str  # what its QR symbol says
    place: str
    check: str
    fault: str
    severity: str
    severity_why: str = ""
    status: str = ""
    seen: str = ""
    note: str = ""
    reading: str = ""
    limits: str = ""
    conflicts: tuple[str, ...] = ()
    found: str = ""  # the diagnosis, in words
    temporary: str = ""
    waiting: str = ""
    owner: str = ""
    photos: tuple[str, ...] = ()
    figures: CardFigures | None = None


class CardStep(Paper, frozen=True, kw_only=True):
    """An access step in the order it comes out; it goes back the other way round."""

    name: str
    hours_out: float
    hours_back: float
    people: int
    uses: tuple[str, ...] = ()
    held_by: tuple[str, ...] = ()  # the defects that stop it
    open: bool = False  # it is out already


class CardPart(Paper, frozen=True, kw_only=True):
    name: str
    state: str = ""
    where: str = ""


class JobCard(Paper, frozen=True, kw_only=True):
    """Work to be done and signed off together: one defect, or a job of several."""

    head: Head
    title: str
    job: str = ""
    severity: str
    defects: tuple[CardDefect, ...]
    steps: tuple[CardStep, ...] = ()
    tasks: tuple[str, ...] = ()
    parts: tuple[CardPart, ...] = ()
    cautions: tuple[str, ...] = ()
    hours: str = ""
    people: int = 1
    uses: tuple[str, ...] = ()
    second_person: tuple[str, ...] = ()  # why somebody else must sign it off; empty where nobody must
    may_sign: tuple[str, ...] = ()
    order: CardOrder | None = None


class Reason(Paper, frozen=True, kw_only=True):
    code: str
    severity: str
    place: str
    fault: str
    conflict: bool = False


class Notice(Paper, frozen=True, kw_only=True):
    """Why a vehicle must not be moved, how it may be, and whom to ask."""

    head: Head
    link: str
    reasons: tuple[Reason, ...]
    why: tuple[str, ...] = ()


class SheetCheck(Paper, frozen=True, kw_only=True):
    """One check to tick; `number` finds it again at the desk ("4.2")."""

    number: str
    ask: str
    spots: tuple[str, ...] = ()
    condition: str = ""
    caution: str = ""
    reading: ReadingLimits | None = None
    limits: str = ""
    leak: str = ""
    faults: tuple[str, ...] = ()


class SheetStation(Paper, frozen=True, kw_only=True):
    number: int
    name: str
    at: tuple[float, float]
    checks: tuple[SheetCheck, ...]


class Known(Paper, frozen=True, kw_only=True):
    code: str
    place: str
    fault: str
    severity: str


class WalkSheet(Paper, frozen=True, kw_only=True):
    """A blank walk-round on paper for one vehicle and round."""

    head: Head
    round: str
    asks: str  # what the round is, in words
    minutes: int
    stations: tuple[SheetStation, ...]
    known: tuple[Known, ...] = ()
