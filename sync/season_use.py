"""How far each vehicle could be used in a season: availability with waiting counted, and time between failures. Pure.

Availability: MTBM / (MTBM + MMT + MLDT), so that waiting for parts, people and places counts (sync/trade/season.py).
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from itertools import pairwise

from sync.entries import Run
from sync.season import Material, Period
from sync.state import Defect
from sync.store_rows import Spell
from sync.trade.reckoning import number
from sync.trade.season import laplace, mtbf_lower_bound, operational_availability

#: Fewer days say nothing of how available a vehicle is (common practice, no source).
LEAST_DAYS = 28
#: Fewer failures, or fewer different times, are no trend (common practice, no source).
LEAST_FAILURES = 4
LEAST_TIMES = 3
#: Laplace's statistic beyond which a trend is told, 95 % both sides.
TREND = 1.96
#: Vehicles of these states are asked to run.
ASKED = ("runner", "on loan")
_HANDS_ON = ("in hand", "mended", "tested", "signed off")


@dataclass(frozen=True, slots=True)
class Available:
    """One vehicle's days. `share` and `unwaited` are per cent; None where `why_not` says why there is none."""

    vehicle: str
    name: str
    observed: int = 0
    up: int = 0
    mending: int = 0
    waiting: int = 0
    stoppages: int = 0
    share: float | None = None
    unwaited: float | None = None
    why_not: str = ""


@dataclass(frozen=True, slots=True)
class Between:
    """One vehicle's failures over its running hours. `bound`: hours between them that are reached at least, 95 %."""

    vehicle: str
    name: str
    hours: float
    failures: int
    bound: float | None
    each: float | None
    trend: str
    without: int  # runs that say no hours


def available(period: Period, given: Material) -> tuple[Available, ...]:
    """Every vehicle that is asked to run, the least available first; those that cannot be told last."""
    work = _work_by_opening(given.worked, given.joined)
    spells = _by_vehicle(given.counted)
    seen: dict[str, str] = {}
    for vehicle, day in [(s.vehicle, s.first_day) for s in given.counted] + [(w.vehicle, w.day) for w in given.looks]:
        seen[vehicle] = min(seen.get(vehicle, day), day)
    found = [
        _available(period, Available(v.id, v.name), spells.get(v.id, ()), seen.get(v.id, ""), work)
        for v in given.edition.vehicles
        if given.states.get(v.id, v.state) in ASKED
    ]
    return tuple(sorted(found, key=lambda a: (a.share is None, a.share or 0.0, a.name)))


def _available(period: Period, bare: Available, spells: Sequence[Spell], seen: str, work: "Work") -> Available:
    if not seen or seen > period.until.isoformat():
        return replace(bare, why_not="not enough: never walked")
    first = max(period.since, date.fromisoformat(seen))
    observed = (period.until - first).days + 1
    waiting, mending = down_days(Period(first, period.until), spells, work)
    down = sorted(waiting | mending)
    days = replace(
        bare,
        observed=observed,
        up=observed - len(down),
        mending=len(mending),
        waiting=len(waiting),
        stoppages=bool(down) + sum(b - a > 1 for a, b in pairwise(down)),
    )
    if observed < LEAST_DAYS:
        return replace(days, why_not=f"not enough: {observed} of {LEAST_DAYS} days")
    if not days.stoppages:
        return replace(days, share=100.0, unwaited=100.0)
    if not days.up:
        return replace(days, share=0.0)
    up, hands, waits = (n / days.stoppages for n in (days.up, days.mending, days.waiting))
    return replace(
        days,
        share=100 * operational_availability(up, hands, waits),
        unwaited=100 * operational_availability(up, hands, 0),
    )


def _by_vehicle(spells: Iterable[Spell]) -> dict[str, list[Spell]]:
    found: dict[str, list[Spell]] = {}
    for spell in spells:
        found.setdefault(spell.vehicle, []).append(spell)
    return found


#: Opening id -> (day, state) of the work on it, in the order in which it was written.
Work = Mapping[str, Sequence[tuple[str, str]]]


def down_days(period: Period, spells: Iterable[Spell], work: Work) -> tuple[set[int], set[int]]:
    """(waiting, mending): the days, as ordinals, on which a dangerous defect stood open, each in one of the two.

    The day it was found counts, the day it was closed does not, unless they are one. A day is spent mending where
    work on one of them was in hand, or was said to be mended, tested or signed off that day; else it waits.
    """
    waiting: set[int] = set()
    mending: set[int] = set()
    for spell in spells:
        if spell.severity != "dangerous":
            continue
        found, past = date.fromisoformat(spell.first_day), period.until + timedelta(days=1)
        closed = date.fromisoformat(spell.closed) if spell.closed else past
        first, after = max(period.since, found), min(max(closed, found + timedelta(days=1)), past)
        days = set(range(first.toordinal(), after.toordinal()))
        hands = days & _in_hand(work.get(spell.opening, ()), after)
        mending |= hands
        waiting |= days - hands
    return waiting - mending, mending


def _in_hand(work: Sequence[tuple[str, str]], after: date) -> set[int]:
    """Ordinals of days on which hands were on it."""
    days: set[int] = set()
    steps = sorted((date.fromisoformat(day).toordinal(), n, state) for n, (day, state) in enumerate(work))
    for (day, _, state), (until, _, _) in pairwise([*steps, (after.toordinal(), 0, "")]):
        if state == "in hand":
            days.update(range(day, max(until, day + 1)))
        elif state in _HANDS_ON:
            days.add(day)
    return days


def _work_by_opening(worked: Iterable[Defect], joined: Iterable[tuple[str, str]]) -> dict[str, list[tuple[str, str]]]:
    """Work under every opening id it may be asked by: a joined defect's work is the other's too."""
    found: dict[str, list[tuple[str, str]]] = {d.opening: [(w.at[:10], w.said) for w in d.work] for d in worked}
    for one, other in joined:
        both = [*found.get(one, []), *found.get(other, [])]
        if both:
            found[one] = found[other] = both
    return found


def between(period: Period, given: Material) -> tuple[Between, ...]:
    """Every vehicle with running hours in the season: its failures, the bound, and their trend.

    A failure is a dangerous or major defect first seen in the season, at the running hours that were kept until its
    day. A run without hours makes the time observed too short, and so the bound too low: it stays a lower bound.
    """
    spells = _by_vehicle(given.counted)
    found = []
    for vehicle in given.edition.vehicles:
        runs = [r for r in given.runs if r.vehicle == vehicle.id and period.holds(r.day.isoformat())]
        if not runs:
            continue
        failures = [
            s.first_day
            for s in spells.get(vehicle.id, ())
            if s.severity in ("dangerous", "major") and period.holds(s.first_day)
        ]
        found.append(_between(vehicle.id, vehicle.name, runs, failures))
    return tuple(sorted(found, key=lambda b: (b.bound is None, b.bound or 0.0, b.name)))


def _between(vehicle: str, name: str, runs: Sequence[Run], failures: Sequence[str]) -> Between:
    without = sum(not r.hours for r in runs)
    hours = sum(r.hours or 0.0 for r in runs)
    if not hours:
        return Between(vehicle, name, 0.0, len(failures), None, None, "not enough: no hours were kept", without)
    times = [sum(r.hours or 0.0 for r in runs if r.day.isoformat() <= day) for day in failures]
    return Between(
        vehicle,
        name,
        hours,
        len(failures),
        bound=mtbf_lower_bound(hours, len(failures)),
        each=hours / len(failures) if failures else None,
        trend=_trend(times, hours),
        without=without,
    )


def _trend(times: Sequence[float], hours: float) -> str:
    if len(times) < LEAST_FAILURES or len(set(times)) < LEAST_TIMES:
        return (
            f"not enough: {len(times)} {'failure' if len(times) == 1 else 'failures'} at {len(set(times))} times; "
            f"{LEAST_FAILURES} at {LEAST_TIMES} are needed"
        )
    found = laplace(times, hours)
    said = f"Laplace {number(found, 2)}"
    if abs(found) <= TREND:
        return f"no trend can be told ({said})"
    return f"they come {'more' if found > 0 else 'less'} often ({said})"
