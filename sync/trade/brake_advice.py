"""Brake measurements in words: verdict, scope, what to do; the formulas and limits are in brakes.py."""

from dataclasses import dataclass, replace

from sync.trade.brakes import (
    BUILD_UP_MOST,
    FLUID_VERDICT,
    PSI,
    FluidLevel,
    G,
    Scope,
    System,
    allowed_distance,
    deceleration,
    grade_lining,
    grade_parking,
    grade_reserve,
    leak_down_most,
    leak_down_rate,
)
from sync.trade.cautions import BY_SYSTEM, GUIDES
from sync.trade.facts import missing
from sync.trade.reckoning import NO_SOURCE, Figure, Reckoning, Verdict, need, number, positive

MOT = "UK MOT inspection manual, section 1 (OGL v3)"
_FIX = ("Do not drive it until it is mended, adjusted and tested by a second person.",)


def _blank(subject: str, formula: str, source: str) -> Reckoning:
    return Reckoning(subject, "", "not judged", formula, source, cautions=BY_SYSTEM["brakes"])


def _todo(verdict: Verdict, look: str) -> tuple[str, ...]:
    return (look, *_FIX) if verdict in {"dangerous", "major"} else ()


_BUILD_UP = _blank("brake build-up", "seconds from empty until the warning goes off, against the most allowed", MOT)


def advise_build_up(seconds: float, system: System, scope: Scope) -> Reckoning:
    """Time from empty until the warning is off: 3 min for air, 1 min for vacuum, at most.

    seconds: above 0. A vehicle first used before 1 October 1937 is exempt and not judged.
    Source: UK MOT inspection manual, section 1. Raises TradeError for an impossible time.
    """
    positive("time to build up", seconds, "s")
    most = BUILD_UP_MOST[system]
    slow = seconds > most
    verdict: Verdict = "not judged" if scope.exempt else "major" if slow else "sound"
    words = "longer than" if slow else "within"
    tail = "; the rule does not bind this vehicle, the lead decides" if scope.exempt else ""
    mark = f"Without a mark on the gauge the warning counts as off at 45 psi ({number(45 * PSI)} kPa)."
    return replace(
        _BUILD_UP,
        headline=f"{number(seconds, 0)} s to build up, {words} the {number(most, 0)} s of the test{tail}.",
        verdict=verdict,
        inputs=(Figure("time", seconds, "s", 0), Figure("stored energy", system), Figure("most", most, "s", 0)),
        assumptions=("From empty, engine at the speed its manual gives.", mark, *scope.build_up_notes),
        todo=_todo(verdict, "Look at compressor or exhauster, its drive and filter, the governor, then for leaks."),
    )


_LEAK_DOWN = _blank(
    "brake leak-down",
    "pressure drop / minutes, against the most allowed",
    "US road practice after 49 CFR 393 and 396 (3 psi/min applied, 2 released; combination 4 and 3), second hand",
)


@dataclass(frozen=True, slots=True)
class LeakDown:
    """Engine off, reservoirs full: the pressure lost in kPa over minutes, brakes applied or released."""

    drop: float
    minutes: float
    applied: bool
    combination: bool = False


def advise_leak_down(seen: LeakDown, scope: Scope) -> Reckoning:
    """Loss of air with the engine off. Raises TradeError for an impossible drop or time."""
    rate = leak_down_rate(seen.drop, seen.minutes)
    most = leak_down_most(seen.applied, seen.combination)
    verdict: Verdict = "major" if rate > most * (1 + 1e-9) else "sound"
    return replace(
        _LEAK_DOWN,
        headline=f"{number(rate)} kPa a minute lost, {'over' if verdict == 'major' else 'within'} "
        f"{number(most)} kPa ({number(most / PSI)} psi).",
        verdict=verdict,
        figures=(Figure("loss a minute", rate, "kPa", 2), Figure("most", most, "kPa", 2)),
        inputs=(
            Figure("drop", seen.drop, "kPa"),
            Figure("time", seen.minutes, "min"),
            Figure("brakes", "applied" if seen.applied else "released"),
            Figure("vehicle", "combination" if seen.combination else "single"),
        ),
        assumptions=("Engine off, reservoirs full, the gauge left a minute to settle first.", *scope.notes),
        todo=_todo(verdict, "Listen, then brush soapy water on: pipes, hoses, chambers, valves, drains."),
    )


_RESERVE = _blank("brake reserve", "full applications after the low-air warning: under 4 major, under 2 dangerous", MOT)


def advise_reserve(applications: int, scope: Scope) -> Reckoning:
    """Full brake applications left after the warning came on. Raises TradeError below nought."""
    verdict = grade_reserve(applications)
    return replace(
        _RESERVE,
        headline=f"{applications} full applications after the warning: {verdict}.",
        verdict=verdict,
        inputs=(Figure("applications", applications, "", 0),),
        assumptions=("Engine off; each application full and fully released.", *scope.notes),
        todo=_todo(verdict, "Look at reservoir size and water in it, check valves, leaks, slack adjusters."),
    )


_STOP = replace(
    _blank(
        "stopping distance",
        "d = v t + v²/2a; allowed at another speed with the rule's own lag (0.15 s) and 14 ft/s²",
        "49 CFR 393.52: 35 ft from 20 mph, 14 ft/s²; at other speeds by mechanics",
    ),
    cautions=(GUIDES, *BY_SYSTEM["brakes"]),
)


def advise_stop(speed: float, distance: float, scope: Scope) -> Reckoning:
    """A roll test: `speed` m/s when the pedal was pressed, `distance` m to rest. Raises TradeError outside > 0."""
    braking = deceleration(speed, distance)
    most = allowed_distance(speed)
    verdict: Verdict = "major" if distance > most * (1 + 1e-9) else "sound"
    return replace(
        _STOP,
        headline=f"Stopped in {number(distance)} m, {'more than' if verdict == 'major' else 'within'} the "
        f"{number(most)} m allowed; {number(100 * braking / G, 0)} % of gravity on average.",
        verdict=verdict,
        figures=(
            Figure("allowed", most, "m", 2),
            Figure("mean deceleration", braking, "m/s²", 2),
            Figure("of gravity", 100 * braking / G, "%", 0),
        ),
        inputs=(Figure("speed", speed * 3.6, "km/h"), Figure("distance", distance, "m", 2)),
        assumptions=(
            "Hard, dry, level ground; warm brakes; distance from where the pedal was pressed.",
            "Note whether it pulled to a side: that is a defect by itself.",
            *scope.notes,
        ),
        todo=_todo(verdict, "Feel each drum for the cold one, then adjustment, lining, contamination, servo."),
    )


_PARKING = _blank(
    "parking brake",
    "efficiency = 100 x brake force / weight, or 100 sin(atan(gradient)) of a slope it held; "
    "below what is required, below half of it",
    MOT,
)


def advise_parking(efficiency: float, required: float | None, scope: Scope) -> Reckoning:
    """Parking-brake efficiency against what is required, both percent; required None: not known.

    Raises TradeError for impossible values.
    """
    need("efficiency", efficiency, "%", 0, 150)
    known = () if required is None else (Figure("required", required, "%"),)
    verdict: Verdict = "not judged" if required is None else grade_parking(efficiency, required)
    against = "what is required is not known" if required is None else f"required is {number(required)} %"
    return replace(
        _PARKING,
        headline=f"Parking brake {number(efficiency)} %; {against}.",
        verdict=verdict,
        inputs=(Figure("efficiency", efficiency, "%"), *known),
        assumptions=("Lever at its usual notch.", *scope.notes),
        todo=_todo(verdict, "Chock it wherever it stands. Look at cable, ratchet, adjustment, lining."),
        missing=(missing("parking_brake_percent"),) if required is None else (),
    )


_LINING = _blank("brake lining", "thinnest place: under 1.5 mm; at the wear indicator; oil or grease on it", MOT)


def advise_lining(thickness: float, *, at_indicator: bool, contaminated: bool, scope: Scope) -> Reckoning:
    """Lining at its thinnest, mm. Raises TradeError for an impossible thickness."""
    verdict = grade_lining(thickness, at_indicator=at_indicator, contaminated=contaminated)
    marks = (("at its wear indicator", at_indicator), ("contaminated", contaminated))
    seen = [words for words, holds in marks if holds]
    return replace(
        _LINING,
        headline=f"Lining {', '.join([f'{number(thickness)} mm', *seen])}: {verdict}.",
        verdict=verdict,
        inputs=(Figure("thickness", thickness, "mm"), Figure("marks", ", ".join(seen) or "none")),
        assumptions=scope.notes,
        todo=_todo(verdict, "Reline both sides of the axle; find where the oil or grease comes from."),
    )


_FLUID = _blank("brake fluid level", "below minimum minor, well below major, not visible dangerous", MOT)


def advise_fluid(level: FluidLevel, scope: Scope) -> Reckoning:
    """Brake-fluid level as seen in the reservoir."""
    verdict = FLUID_VERDICT[level]
    return replace(
        _FLUID,
        headline=f"Brake fluid {level}: {verdict}.",
        verdict=verdict,
        inputs=(Figure("level", level),),
        assumptions=("Fluid does not vanish: linings wear, or it leaks.", *scope.notes),
        todo=()
        if verdict == "sound"
        else (
            "Find out where it went before topping up, with the fluid named on the vehicle.",
            *_todo(verdict, f"Look behind every wheel cylinder boot ({NO_SOURCE})."),
        ),
    )
