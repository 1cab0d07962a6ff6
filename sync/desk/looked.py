"""What was looked at on a vehicle, when, and what was not: for its page and for one check's page."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import NamedTuple

from builder.edition import EditionCheck, VehicleView
from sync.desk.charts import Spark, spark
from sync.desk.readings import WALKS_BACK
from sync.entries import Reading
from sync.state import WalkState
from sync.store import Store
from sync.store_desk import Look
from sync.trade.judge import plausible
from sync.trade.units import Amount, convert


class Unseen(NamedTuple):
    """A check that nobody has looked at for a while; `spots` are those of it, empty for all."""

    check: EditionCheck
    station: str
    spots: tuple[str, ...]
    day: str  # when last, "" for never
    ago: int  # days; 0 for never
    why: str  # what the newest walk said about it


class Measured(NamedTuple):
    """A measured check as the latest walks have it."""

    check: EditionCheck
    station: str
    latest: str
    day: str
    spark: Spark


def unseen(
    store: Store, view: VehicleView, looks: Sequence[Look], walks: Sequence[WalkState], today: date
) -> list[Unseen]:
    """Checks not looked at since the last display day, those never looked at first, then the longest ago."""
    days = [day.date for day in view.edition.display_days if day.date <= today]
    since = max(days, default=today).isoformat()
    seen = newest_days(looks)
    lacking = {check.id for check in view.checks.values() if _stale(check, seen, since)}
    older = store.last_looks(view.id, sorted(lacking)) if len(walks) > WALKS_BACK and lacking else {}
    whys = {(check, spot): why for walk in walks[:1] for check, spot, why in walk.unchecked}
    found = []
    for check in (view.checks[name] for name in view.checks if name in lacking):
        last = {spot: older.get((check.id, spot)) or seen.get((check.id, spot), "") for spot in check.spots or ("",)}
        stale = [spot for spot, day in last.items() if day < since]
        day = min(last[spot] for spot in stale)
        ago = (today - date.fromisoformat(day)).days if day else 0
        why = next((whys[check.id, spot] for spot in stale if (check.id, spot) in whys), "")
        spots = tuple(stale) if check.spots and len(stale) < len(check.spots) else ()
        found.append(Unseen(check, view.stations[check.station].name, spots, day, ago, why))
    return sorted(found, key=lambda one: one.day)


def newest_days(looks: Iterable[Look]) -> dict[tuple[str, str], str]:
    """(check, spot) -> the newest day of a look that said something."""
    days: dict[tuple[str, str], str] = {}
    for look in looks:
        if look.finding.result != "unchecked" and look.finding.check:
            key = (look.finding.check, look.finding.spot or "")
            days[key] = max(days.get(key, ""), look.day)
    return days


def measured(view: VehicleView, looks: Sequence[Look]) -> list[Measured]:
    """Measured checks in walking order: over time where it is one spot, side by side where they are several."""
    taken: dict[str, list[tuple[str, str, Reading]]] = {}
    for look in looks:
        finding = look.finding
        if finding.check in view.checks and finding.reading is not None:
            taken.setdefault(finding.check or "", []).append((look.day, finding.spot or "", finding.reading))
    return [
        row for check in view.checks.values() if check.id in taken if (row := _measured(view, check, taken[check.id]))
    ]


def _measured(view: VehicleView, check: EditionCheck, taken: Sequence[tuple[str, str, Reading]]) -> Measured | None:
    limits = check.reading
    if limits is None:
        return None
    values = [
        (day, spot, convert(reading.value, reading.unit, limits.unit, limits.quantity))
        for day, spot, reading in taken
        if plausible(Amount(reading.value, reading.unit), limits)
    ]
    if not values:
        return None
    by_spot: Mapping[str, tuple[str, float]] = {spot: (day, value) for day, spot, value in values}
    if len(check.spots) > 1:
        ordered = [(spot, by_spot[spot][1]) for spot in check.spots if spot in by_spot]
        latest = ", ".join(f"{spot}: {value:.6g}" for spot, value in ordered) + f" {limits.unit}"
        day = max(day for day, _ in by_spot.values())
    else:
        ordered = [(day, value) for day, _, value in values]
        latest, day = f"{ordered[-1][1]:.6g} {limits.unit}", ordered[-1][0]
    drawn = spark(ordered, limits.unit, limits.low, limits.high, over_time=len(check.spots) < 2)
    return Measured(check, view.stations[check.station].name, latest, day, drawn)


def _stale(check: EditionCheck, seen: Mapping[tuple[str, str], str], since: str) -> bool:
    return any(seen.get((check.id, spot), "") < since for spot in check.spots or ("",))
