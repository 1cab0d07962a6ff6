"""What a scenario says: walks and what is found on them, by the ids of the fleet files."""

from collections.abc import Mapping
from dataclasses import dataclass, field

Place = str  # "station/check", or "station/check#spot"


@dataclass(frozen=True)
class Bad:
    """A defect. `slip`: marked sound first, then put right; `leak`: class and level ("ok", "low", "unseen")."""

    fault: str
    note: str = ""
    reading: str = ""
    severity: str = ""
    leak: tuple[int, str] | None = None
    photo: str = ""
    put_right: bool = False
    slip: bool = False


@dataclass(frozen=True)
class Good:
    """Sound, with this reading; `slip`: marked, taken back, and marked again."""

    reading: str = ""
    slip: bool = False


@dataclass(frozen=True)
class Skip:
    """Not looked at, and why (one of the app's reasons)."""

    why: str


@dataclass(frozen=True)
class Known:
    """The answer to a known defect, and what the form then adds."""

    answer: str
    note: str = ""
    reading: str = ""
    severity: str = ""


@dataclass(frozen=True)
class Else:
    """Something else at a station."""

    station: str
    note: str
    severity: str
    photo: str = ""


@dataclass(frozen=True)
class Walk:
    """One walk-round; places that it does not name are sound, or left for `left_why`."""

    at: str
    vehicle: str
    round: str
    finds: Mapping[Place, Bad | Good | Skip | Known] = field(default_factory=dict)
    extras: tuple[Else, ...] = ()
    left_why: str = ""


@dataclass(frozen=True)
class Report:
    at: str
    vehicle: str
    source: str
    symptom: str
    conditions: str = ""
    photo: str = ""


@dataclass(frozen=True)
class Run:
    at: str
    vehicle: str
    hours: str
    laps: str
    driver: str


@dataclass(frozen=True)
class TopUp:
    at: str
    vehicle: str
    fluid: str
    litres: str
    before: str
    after: str


Event = Walk | Report | Run | TopUp


@dataclass(frozen=True)
class Phone:
    """One person's phone; `slow_days` is how far its clock is behind."""

    by: str
    slow_hours: float
    file: str
    events: tuple[Event, ...]
