"""The fleet files as models: what a person may write in fleet.toml, templates/ and vehicles/."""

import re
from datetime import date
from typing import Annotated, Literal, get_args

from pydantic import AfterValidator, BaseModel, ConfigDict, Field

SLUG = re.compile(r"[a-z0-9]+(-[a-z0-9]+)*")


def _slug(value: str) -> str:
    if not SLUG.fullmatch(value) or len(value) > 60:
        raise ValueError("expected lower-case letters and digits joined by single hyphens, at most 60")
    return value


def _said(value: str) -> str:
    if not value.strip():
        raise ValueError("expected some text")
    return value


Slug = Annotated[str, AfterValidator(_slug)]
Text = Annotated[str, AfterValidator(_said), Field(max_length=2000)]
Severity = Literal["dangerous", "major", "minor", "advisory"]
Round = Literal["before", "hot", "cold", "full"]
Barred = Literal["start", "drive", "show", "carry people", "lift", "tow"]
VehicleState = Literal["runner", "laid up", "revival", "static", "away", "on loan"]
#: Which trade calculation a check's reading goes into (sync/trade/checks.py).
Reckon = Literal[
    "track sag",
    "adjuster travel",
    "track pitch",
    "oil level",
    "oil pressure",
    "cell gravity",
    "electrolyte temperature",
    "rest volts",
    "cranking volts",
    "compression",
    "odd one out",
    "brake build-up",
    "brake leak-down",
    "brake applications",
    "roll test",
    "brake lining",
    "parking brake",
    "tread missing",
    "path rubber",
]
Weekday = Literal["mon", "tue", "wed", "thu", "fri", "sat", "sun"]
#: Monday first, as Python counts them.
WEEKDAYS: tuple[Weekday, ...] = get_args(Weekday)
Share = Annotated[float, Field(ge=0, le=1)]
Hours = Annotated[float, Field(ge=0, le=2000)]
Months = Annotated[int, Field(ge=1, le=600)]
Fact = int | float | str

#: Gravest first.
SEVERITIES: tuple[Severity, ...] = ("dangerous", "major", "minor", "advisory")
#: Systems without which it neither stops nor steers behind a rope: a rigid bar at least (common practice, no source).
NEEDS_BAR = ("brakes", "steering")
#: Systems without which it does not roll (common practice, no source).
NEEDS_LIFT = ("tracks", "wheels", "running gear")
#: Work on these is signed off by a second person, and so is whatever was dangerous.
SECOND_PERSON_SYSTEMS = ("brakes", "steering", "tracks", "fuel", "lifting")
#: All that a rule goes by.
RULED_SYSTEMS = tuple(dict.fromkeys((*NEEDS_BAR, *NEEDS_LIFT, *SECOND_PERSON_SYSTEMS)))
#: In the order of an occasion; `full` goes with any round of its day.
ROUNDS: tuple[Round, ...] = ("before", "hot", "cold", "full")
ROUND_ORDER: dict[str, int] = {name: place for place, name in enumerate(ROUNDS)}
HOT_MOST_CHECKS = 15
COLD_MOST_CHECKS = 25


class Strict(BaseModel):
    """Frozen; an unknown key is a mistake."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True, allow_inf_nan=False)


class Person(Strict):
    """One helper; `signs_off` names the systems whose work they may sign off."""

    name: Text
    initials: Annotated[str, Field(pattern=r"^[A-Z][A-Z0-9]{1,3}$")]
    lead: bool = False
    signs_off: tuple[str, ...] = ()


class Workshop(Strict):
    """What the workshop can do in a week; hours are person-hours: 30 with three people at once is ten hours each."""

    hours_per_week: Annotated[float, Field(gt=0, le=500)] = 10
    people_at_once: Annotated[int, Field(ge=1, le=100)] = 2
    resources: dict[Slug, Annotated[int, Field(ge=1, le=100)]] = {}
    open_days: tuple[Weekday, ...] = ("sat",)


class DisplayDay(Strict):
    name: Text
    date: date


class Door(Strict):
    """Static hosts whose app may use the door, as origins ("https://host")."""

    origins: tuple[Annotated[str, Field(pattern=r"^https://[a-z0-9.-]+(:\d+)?$")], ...] = ()


class FleetFile(Strict):
    """fleet.toml"""

    name: Text
    code: Slug
    language: Literal["en", "de"] = "en"
    units: Literal["metric", "imperial"] = "metric"
    people: tuple[Person, ...] = ()
    workshop: Workshop = Workshop()
    display_day: tuple[DisplayDay, ...] = ()
    door: Door = Door()


class ReadingLimits(Strict):
    """What is measured: fine from `low` to `high`, plausible at all from `least` to `most`; all in `unit`.

    `tolerance` is how far two people's readings may lie apart and still agree.
    """

    quantity: str
    unit: str
    low: float | None = None
    high: float | None = None
    tolerance: Annotated[float, Field(ge=0)] = 0
    least: float | None = None
    most: float | None = None


class ReadingOverride(Strict):
    """A vehicle's own limits, laid over the template's field by field."""

    quantity: str | None = None
    unit: str | None = None
    low: float | None = None
    high: float | None = None
    tolerance: Annotated[float, Field(ge=0)] | None = None
    least: float | None = None
    most: float | None = None


class Fault(Strict):
    """A usual way for a check to fail, and what mending it needs. `hours` is least and most."""

    id: Slug
    name: Text
    severity: Severity
    bars: tuple[Barred, ...] | None = None
    hours: tuple[Hours, Hours] | Hours | None = None
    parts: tuple[Text, ...] = ()
    people: Annotated[int, Field(ge=1, le=20)] = 1
    needs: tuple[Slug, ...] = ()
    holds: tuple[Slug, ...] = ()
    uses: tuple[Slug, ...] = ()


class Check(Strict):
    """One thing to look at. `spots` is a number, a list of names, or the name of one of the vehicle's facts."""

    id: Slug
    ask: Text
    rounds: tuple[Round, ...] = ("full",)
    condition: Text | None = None
    system: Text | None = None
    area: Annotated[int, Field(ge=0, le=9)] | None = None
    seconds: Annotated[int, Field(ge=1, le=3600)] = 20
    how: Text | None = None
    spots: Annotated[int, Field(ge=1, le=60)] | tuple[Text, ...] | str | None = None
    formerly: tuple[str, ...] = ()
    reading: ReadingLimits | None = None
    leak: Text | None = None
    reckon: Reckon | None = None
    caution: Text | None = None
    fault: tuple[Fault, ...] = ()


class Station(Strict):
    """A place where one stands; `at` is on the plan view: nose at x = 0, left side at y = 0.

    A template that adds checks to another template's station gives its id alone.
    """

    id: Slug
    name: Text | None = None
    order: int | None = None
    at: tuple[Share, Share] | None = None
    mirror: Slug | None = None
    check: tuple[Check, ...] = ()


class Access(Strict):
    """Strip-down needed to reach other work."""

    id: Slug
    name: Text
    needs: tuple[Slug, ...] = ()
    hours_out: Hours
    hours_back: Hours
    people: Annotated[int, Field(ge=1, le=20)] = 1
    uses: tuple[Slug, ...] = ()
    caution: Text | None = None


class WhileOpen(Strict):
    """Preventive work worth doing only while an access step is open anyway."""

    id: Slug
    name: Text
    access: Slug
    hours: Hours
    every_months: Months | None = None
    parts: tuple[Text, ...] = ()
    people: Annotated[int, Field(ge=1, le=20)] = 1


class Service(Strict):
    """Due by months, running hours or display days, whether or not anything is open."""

    id: Slug
    name: Text
    hours: Hours
    every_months: Months | None = None
    every_hours: Annotated[float, Field(gt=0, le=100_000)] | None = None
    every_events: Annotated[int, Field(ge=1, le=1000)] | None = None
    parts: tuple[Text, ...] = ()


class FirstStart(Strict):
    """One gated step of a revival's first start; closed until those before it are signed off."""

    id: Slug
    name: Text
    how: Text | None = None
    caution: Text | None = None


class Template(Strict):
    """templates/NAME.toml"""

    name: Text
    station: tuple[Station, ...] = ()
    access: tuple[Access, ...] = ()
    while_open: tuple[WhileOpen, ...] = ()
    service: tuple[Service, ...] = ()
    first_start: tuple[FirstStart, ...] = ()


class FaultOverride(Strict):
    """A vehicle's own severity, bars or hours for one usual fault."""

    severity: Severity | None = None
    bars: tuple[Barred, ...] | None = None
    hours: tuple[Hours, Hours] | Hours | None = None
    parts: tuple[Text, ...] | None = None
    needs: tuple[Slug, ...] | None = None


class CheckOverride(Strict):
    """What one vehicle has otherwise than its templates, field by field."""

    ask: Text | None = None
    rounds: tuple[Round, ...] | None = None
    condition: Text | None = None
    seconds: Annotated[int, Field(ge=1, le=3600)] | None = None
    how: Text | None = None
    caution: Text | None = None
    spots: Annotated[int, Field(ge=1, le=60)] | tuple[Text, ...] | str | None = None
    reading: ReadingOverride | None = None
    fault: dict[Slug, FaultOverride] = {}


class Drop(Strict):
    """What one vehicle does not have: full check ids ("station/check") or station ids."""

    checks: tuple[str, ...] = ()


class VehicleFile(Strict):
    """vehicles/NAME.toml"""

    id: Slug
    name: Text
    kind: Text
    location: Text
    templates: tuple[Slug, ...] = Field(min_length=1)
    display_weight: Annotated[float, Field(ge=0, le=100)] = 1
    state: VehicleState = "runner"
    first_used: date | None = None
    owner: Text | None = None
    fluids: dict[Text, Text] = {}
    facts: dict[str, Fact] = {}
    check: dict[str, CheckOverride] = {}
    drop: Drop = Drop()


class Fleet(BaseModel):
    """The fleet files together: templates by file name, vehicles in the order of their ids."""

    model_config = ConfigDict(frozen=True)

    file: FleetFile
    templates: dict[str, Template]
    vehicles: tuple[VehicleFile, ...]
