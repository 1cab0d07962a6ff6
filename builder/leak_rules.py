"""The published leak decision table and the never-rules, as plain data for the phone and the workshop alike.

Rules are read in order and the first that matches decides; an empty field matches anything. Leak classes are
those of the US Army manuals (TM 10-3930-671-10 section 3-3, TM 10-6640-233-10): 1 wetness or discolouration
without drops, 2 drops form and do not fall, 3 drops fall. A stream is class 3 whatever class was marked.
"""

from typing import Literal

from pydantic import BaseModel, ConfigDict

from builder.fleet import SEVERITIES, Barred, Round, Severity

Group = Literal["fuel", "brake fluid", "brake air", "other"]
LeakClass = Literal[1, 2, 3]
Found = Literal["before", "during", "after"]
Flow = Literal["drops", "stream"]
Level = Literal["in range", "low", "not looked at"]

#: Classes 1, 2 and 3 in words.
CLASSES = ("wet or discoloured, no drops", "drops form and do not fall", "drops fall")

#: Fluid as a check's `leak` names it -> the group it is judged in.
FLUIDS: dict[str, Group] = {
    "fuel": "fuel",
    "petrol": "fuel",
    "diesel": "fuel",
    "paraffin": "fuel",
    "brake fluid": "brake fluid",
    "hydraulic brake fluid": "brake fluid",
    "steering brake fluid": "brake fluid",
    "brake air": "brake air",
    "engine oil": "other",
    "gearbox oil": "other",
    "transfer box oil": "other",
    "final drive oil": "other",
    "axle oil": "other",
    "hub oil": "other",
    "steering oil": "other",
    "steering fluid": "other",
    "hydraulic oil": "other",
    "suspension oil": "other",
    "clutch fluid": "other",
    "grease": "other",
    "electrolyte": "other",
    "coolant": "other",
    "water": "other",
    "oil": "other",
    "other": "other",
}

#: When a leak was found, by the round it was found on; "during" comes from a driver's report.
FOUND_ON: dict[Round, Found] = {"before": "before", "hot": "after", "cold": "after", "full": "after"}


class _Frozen(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid")


class LeakRule(_Frozen):
    """One row of the table. `id` is stable, so that a phone can keep the instruction in another language."""

    id: str
    severity: Severity
    instruction: str
    source: str
    groups: tuple[Group, ...] = ()
    classes: tuple[LeakClass, ...] = ()
    found: tuple[Found, ...] = ()
    flows: tuple[Flow, ...] = ()
    levels: tuple[Level, ...] = ()
    bars: tuple[Barred, ...] = ()


class NeverRule(_Frozen):
    """A floor under the severity of a leak of these groups: no helper can go below it."""

    id: str
    groups: tuple[Group, ...]
    floor: Severity
    words: str
    source: str


def fluid_name(written: str) -> str:
    """A fluid as the table names it, however a person writes it."""
    return written.strip().lower()


class LeakRules(_Frozen):
    """The whole table as the edition carries it."""

    classes: tuple[str, str, str]
    fluids: dict[str, Group]
    found_on: dict[Round, Found]
    rules: tuple[LeakRule, ...]
    never: tuple[NeverRule, ...]

    def floor(self, fluid: str | None) -> Severity | None:
        """The gravest severity that a never-rule holds for a check's `leak`; None where there is no such rule."""
        group = self.fluids.get(fluid_name(fluid or ""))
        held = [rule.floor for rule in self.never if group in rule.groups]
        return min(held, key=SEVERITIES.index, default=None)


_FUEL = "TM 5-3805-290-23-2: running is allowed with class I and II leaks, except fuel, where no leak is"
_BRAKES = "UK MOT inspection manual, section 1: leaking hydraulic pipe, hose or master cylinder: dangerous"
_AIR = "UK MOT inspection manual, section 1: an air leak, noticeable drop or audible, is major"
_MINOR = "TM 10-3930-671-10 section 3-3: class I and II are minor, running goes on, level looked at regularly"
_BEFORE = "TM 10-3930-671-10 section 3-3 (1): class III found before running"
_DURING = "TM 10-3930-671-10 section 3-3 (2): class III found while running"
_AFTER = "TM 10-3930-671-10 section 3-3 (3): class III found after running"
_SAFER = "; the safer side taken by us where it is silent (common practice, no source)"

_STOPS: tuple[Barred, ...] = ("start", "drive")

RULES: tuple[LeakRule, ...] = (
    LeakRule(
        id="fuel",
        groups=("fuel",),
        severity="dangerous",
        bars=_STOPS,
        instruction="Do not start or run it: no fuel leak of any class is allowed. No flames, no sparks, "
        "battery off, shut the fuel tap, catch what drips, fire extinguisher at hand. Move it only by hand "
        "or under tow.",
        source=_FUEL,
    ),
    LeakRule(
        id="brake-fluid",
        groups=("brake fluid",),
        severity="dangerous",
        bars=_STOPS,
        instruction="Do not drive it: a hydraulic brake that leaks can fail at the next press. Chock it. "
        "Move it only on a rigid bar behind a vehicle that can brake both.",
        source=_BRAKES,
    ),
    LeakRule(
        id="brake-air",
        groups=("brake air",),
        severity="major",
        instruction="Mend it before it goes on a road or among people. Watch the gauge through build-up and "
        "leak-down, and do not move it below the warning pressure.",
        source=_AIR,
    ),
    LeakRule(
        id="seep",
        classes=(1,),
        flows=("drops",),
        levels=("in range",),
        severity="advisory",
        instruction="It may run. Wipe it dry, so that the next look shows what is new, and look at the level "
        "more often.",
        source=_MINOR,
    ),
    LeakRule(
        id="seep-level",
        classes=(1,),
        flows=("drops",),
        severity="minor",
        instruction="Look at the level and top up to between the marks before it runs; then look more often. "
        "A seep does not empty anything: find out where the rest went.",
        source=_MINOR + _SAFER,
    ),
    LeakRule(
        id="hanging-drops",
        classes=(2,),
        flows=("drops",),
        levels=("in range",),
        severity="minor",
        instruction="It may run, with the level looked at more often. Plan the repair.",
        source=_MINOR,
    ),
    LeakRule(
        id="hanging-drops-level",
        classes=(2,),
        flows=("drops",),
        severity="major",
        instruction="Look at the level and top up to between the marks before it runs; not to run below "
        "the mark. Look again at every stop. Plan the repair.",
        source=_MINOR + _SAFER,
    ),
    LeakRule(
        id="falling-before",
        found=("before",),
        flows=("drops",),
        levels=("in range",),
        severity="major",
        instruction="Tell the lead. It may run only while the level is between the marks: look again at "
        "every stop, and shut down when it is not.",
        source=_BEFORE,
    ),
    LeakRule(
        id="falling-before-low",
        found=("before",),
        flows=("drops",),
        severity="dangerous",
        bars=_STOPS,
        instruction="Do not run it: the level is low, or was not looked at. Tell the lead.",
        source=_BEFORE + _SAFER,
    ),
    LeakRule(
        id="falling-during",
        found=("during",),
        flows=("drops",),
        levels=("in range",),
        severity="major",
        instruction="It may finish this run while only drops fall and the level stays in range; then it "
        "stands until the lead has seen it.",
        source=_DURING,
    ),
    LeakRule(
        id="falling-during-low",
        found=("during",),
        flows=("drops",),
        severity="dangerous",
        bars=_STOPS,
        instruction="Shut it down now, where it can stand safely: the level is below its range, or nobody knows it.",
        source=_DURING + _SAFER,
    ),
    LeakRule(
        id="stream-during",
        found=("during",),
        flows=("stream",),
        severity="dangerous",
        bars=_STOPS,
        instruction="Shut it down now, where it can stand safely: it is running out in a stream.",
        source=_DURING,
    ),
    LeakRule(
        id="falling-after",
        found=("after",),
        flows=("drops",),
        levels=("in range",),
        severity="major",
        instruction="Tell the lead. Mend it before it runs at the next display day; look at the level before "
        "every start until then.",
        source=_AFTER + _SAFER,
    ),
    LeakRule(
        id="falling-after-low",
        found=("after",),
        flows=("drops",),
        severity="dangerous",
        bars=_STOPS,
        instruction="Not to run until it is mended: drops fall and the level is below the mark, or was not looked at.",
        source=_AFTER + _SAFER,
    ),
    LeakRule(
        id="stream",
        flows=("stream",),
        severity="dangerous",
        bars=_STOPS,
        instruction="Not to run until it is mended: it runs out in a stream. Catch it, and keep it out of the drains.",
        source=_DURING + _SAFER,
    ),
)

NEVER: tuple[NeverRule, ...] = (
    NeverRule(
        id="fuel",
        groups=("fuel",),
        floor="dangerous",
        words="no fuel leak of any class",
        source=_FUEL,
    ),
    NeverRule(
        id="brake-fluid",
        groups=("brake fluid",),
        floor="dangerous",
        words="no leak of hydraulic brake fluid of any class",
        source=_BRAKES,
    ),
)


def leak_rules() -> LeakRules:
    """The table as one frozen model, for the edition."""
    return LeakRules(classes=CLASSES, fluids=FLUIDS, found_on=FOUND_ON, rules=RULES, never=NEVER)
