"""Brakes: build-up, leak-down, applications in reserve, stopping distance, parking brake, lining and fluid.

Road rules are used as a guide: track-laying vehicles are outside them, and that is said beside every verdict.
"""

import math
from dataclasses import dataclass
from datetime import date
from typing import Literal

from sync.errors import TradeError
from sync.trade.reckoning import Verdict, need, positive

G = 9.80665
FEET = 0.3048
MPH = 0.44704
PSI = 6.894757

#: 49 CFR 393.52: a stop from 20 mph within 35 ft at 14 ft/s^2; what is left of the 35 ft is brake lag.
RULE_SPEED = 20 * MPH
RULE_DECELERATION = 14 * FEET
RULE_DISTANCE = 35 * FEET

#: Vehicles first used before this day are exempt from the build-up test.
EXEMPT_BEFORE = date(1937, 10, 1)

System = Literal["air", "vacuum"]
BUILD_UP_MOST: dict[System, float] = {"air": 180.0, "vacuum": 60.0}
#: Where the gauge bears no mark, the warning counts as off at this pressure: 45 psi.
UNMARKED_WARNING_KPA = 45 * PSI
#: Most loss of air, psi a minute: (brakes applied, brakes released), by single vehicle or combination.
LEAK_DOWN_MOST_PSI = {(False, True): 3.0, (True, True): 4.0, (False, False): 2.0, (True, False): 3.0}

FluidLevel = Literal["in range", "below minimum", "well below minimum", "not visible"]
FLUID_VERDICT: dict[FluidLevel, Verdict] = {
    "in range": "sound",
    "below minimum": "minor",
    "well below minimum": "major",
    "not visible": "dangerous",
}


def stopping_distance(speed: float, deceleration: float, lag: float = 0) -> float:
    """Distance in m to stop from `speed` m/s at `deceleration` m/s^2 after `lag` s: v t + v^2 / 2a.

    20 mph at 14 ft/s^2 is 30.73 ft. Domain: v >= 0, a > 0, t >= 0. Source: mechanics; 49 CFR 393.52 for the
    example. Raises TradeError outside the domain.
    """
    need("speed", speed, "m/s", 0)
    need("brake lag", lag, "s", 0)
    return speed * lag + speed**2 / (2 * positive("deceleration", deceleration, "m/s²"))


def deceleration(speed: float, distance: float, lag: float = 0) -> float:
    """Mean deceleration in m/s^2 of a stop from `speed` m/s in `distance` m, `lag` s of it unbraked.

    v^2 / 2(d - v t). Domain: v > 0, d > v t. Source: mechanics. Raises TradeError outside.
    """
    positive("speed", speed, "m/s")
    need("brake lag", lag, "s", 0)
    return speed**2 / (2 * positive("braking distance after the lag", distance - speed * lag, "m"))


def allowed_distance(speed: float) -> float:
    """The distance in m the rule of 49 CFR 393.52 allows from another speed: its lag, and 14 ft/s^2.

    35 ft from 20 mph less 30.73 ft of braking leaves 0.1456 s of lag. Domain: v > 0 m/s.
    """
    lag = (RULE_DISTANCE - stopping_distance(RULE_SPEED, RULE_DECELERATION)) / RULE_SPEED
    return stopping_distance(positive("speed", speed, "m/s"), RULE_DECELERATION, lag)


def leak_down_rate(drop: float, minutes: float) -> float:
    """Loss of air in kPa a minute: what the rule of `leak_down_most` limits.

    Domain: drop >= 0 kPa, minutes > 0. Source: by definition. Raises TradeError outside.
    """
    return need("pressure drop", drop, "kPa", 0) / positive("time", minutes, "min")


def leak_down_most(applied: bool, combination: bool) -> float:
    """Most loss of air in kPa a minute: applied 3 psi single, 4 combination; released 2 and 3.

    Source: US road practice after 49 CFR 393/396, at second hand.
    """
    return LEAK_DOWN_MOST_PSI[(combination, applied)] * PSI


def grade_reserve(applications: int) -> Verdict:
    """Full applications left after the low-air warning: fewer than 2 dangerous, fewer than 4 major.

    Domain: 0 or more. Source: UK MOT inspection manual, section 1. Raises TradeError outside.
    """
    need("applications", applications, "", 0)
    if applications < 2:
        return "dangerous"
    return "major" if applications < 4 else "sound"


def grade_lining(thickness: float, *, at_indicator: bool, contaminated: bool) -> Verdict:
    """Brake lining: under 1.5 mm dangerous; at its wear indicator, or oil or grease on it, major.

    thickness: mm at the thinnest. Domain: 0 to 60. Source: UK MOT inspection manual, section 1.
    """
    need("lining thickness", thickness, "mm", 0, 60)
    if thickness < 1.5:
        return "dangerous"
    return "major" if at_indicator or contaminated else "sound"


def parking_efficiency(force: float, weight: float) -> float:
    """Parking-brake efficiency in percent: 100 x sum of brake forces / vehicle weight, in one unit.

    Domain: force >= 0, weight > 0. Source: UK MOT inspection manual. Raises TradeError outside.
    """
    return 100 * need("brake force", force, "", 0) / positive("weight", weight, "")


def holding_efficiency(gradient: float) -> float:
    """Efficiency in percent that a vehicle standing held on a slope has shown: 100 sin(atan(g / 100)).

    gradient: percent (1 in 6 is 16.67). Domain: 0 to 60. Source: mechanics. Raises TradeError outside.
    """
    return 100 * math.sin(math.atan(need("gradient", gradient, "%", 0, 60) / 100))


def grade_parking(efficiency: float, required: float) -> Verdict:
    """Parking brake: below half of what is required dangerous, below it major.

    Both percent. Source: UK MOT inspection manual, section 1. Raises TradeError for impossible values.
    """
    need("efficiency", efficiency, "%", 0, 150)
    positive("required efficiency", required, "%")
    if efficiency < required / 2:
        return "dangerous"
    return "major" if efficiency < required else "sound"


@dataclass(frozen=True, slots=True)
class Scope:
    """Which road rules apply to a vehicle at all: its first use, and whether it runs on tracks."""

    first_used: date | None = None
    tracked: bool = False

    @property
    def exempt(self) -> bool:
        """Whether it was first used before 1 October 1937. Source: UK MOT inspection manual, section 1."""
        return self.first_used is not None and self.first_used < EXEMPT_BEFORE

    @property
    def notes(self) -> tuple[str, ...]:
        """What to say beside every brake verdict about whether road rules bind the vehicle."""
        if not self.tracked:
            return ()
        return ("Track-laying vehicles are outside the road test: its figures are a guide only.",)

    @property
    def build_up_notes(self) -> tuple[str, ...]:
        """What to say besides about the build-up test."""
        if self.first_used is None:
            return (*self.notes, "First use not known: a vehicle from before 1 October 1937 would be exempt.")
        if self.exempt:
            return (*self.notes, "First used before 1 October 1937: exempt from this test.")
        return self.notes


def check_system(name: str) -> System:
    """The kind of stored-energy brake by name. Raises TradeError for another."""
    if name == "air":
        return "air"
    if name == "vacuum":
        return "vacuum"
    raise TradeError(f'"{name}" is no stored-energy brake: expected air or vacuum')
