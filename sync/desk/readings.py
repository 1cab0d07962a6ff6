"""Readings for the pages: the newest that stand, what a calculation says of them, a check's readings over time."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple

from builder.edition import EditionCheck, VehicleView
from sync.entries import Fluid, Reading
from sync.errors import TradeError
from sync.state import Defect
from sync.store import Store
from sync.store_desk import Look
from sync.trade.places import Dated, Latest, Sighted, said_of, series_of
from sync.trade.reckoning import Reckoning
from sync.trade.trends import Line, Series, advise, evidence, fit

#: How many walks back the newest readings are looked for.
WALKS_BACK = 12
#: And those that stand beside one defect's.
BESIDE = 6
_ROUNDS = {"before": 0, "hot": 1, "cold": 2, "full": 3}
_MENDED = frozenset({"signed off", "closed by lead", "put right"})


class Trend(NamedTuple):
    """One check and spot over time: its readings, the line through them where there is one, and what it means."""

    spot: str
    series: Series
    line: Line | None
    said: Reckoning


def recent(store: Store, vehicle: str, back: int = WALKS_BACK) -> tuple[Look, ...]:
    """The findings of a vehicle's latest walks, oldest first."""
    walks = [walk.walk for walk in store.walks(vehicle)[:back]]
    return tuple(sorted(store.looks_of(vehicle, walks), key=occasion)) if walks else ()


def occasion(look: Look) -> tuple[str, int]:
    return (look.day, _ROUNDS.get(look.round, 4))


def newest(looks: Iterable[Look]) -> dict[tuple[str, str], Reading]:
    """(check, spot) -> the reading taken last, of looks in order."""
    return {
        (look.finding.check or "", look.finding.spot or ""): look.finding.reading
        for look in looks
        if look.finding.reading is not None
    }


def latest_for(defect: Defect, looks: Sequence[Look]) -> Latest:
    """The newest readings as they were on the walk that measured this defect, its own reading as it stands."""
    walks = [s.walk for s in defect.sightings if s.reading is not None]
    with_it = [look for look in looks if walks and look.finding.walk == walks[-1]]
    found = {**newest(looks), **newest(with_it)}
    if defect.reading is not None:
        found[defect.check, defect.spot] = defect.reading
    return found


def reckoned(store: Store, view: VehicleView, defect: Defect) -> tuple[Reckoning, ...]:
    """What the trade's calculations say of a defect's check; empty where nothing was measured."""
    check = view.checks.get(defect.check)
    leak = next((s.leak for s in reversed(defect.sightings) if s.leak is not None), None)
    if check is None or (check.reading is None and leak is None):
        return ()
    looks = recent(store, view.id, BESIDE)
    sighting = defect.sightings[-1] if defect.sightings else None
    earlier = _earlier(looks, defect)
    added = _added(store.fluids(view.id), check, earlier, defect) if check.reckon == "oil level" else 0.0
    sighted = Sighted(
        leak=leak,
        round=sighting.round if sighting else "",
        fault=defect.fault,
        earlier=earlier.finding.reading if earlier else None,
        added=added,
    )
    return said_of(view, check, latest_for(defect, looks), sighted)


def trends(store: Store, view: VehicleView, check: EditionCheck) -> tuple[Trend, ...]:
    """A measured check's readings over time, spot by spot, since each was last mended."""
    limits = check.reading
    if limits is None:
        return ()
    since = _mended_days(store.at_check(view.id, check.id))
    found = []
    for spot in check.spots or ("",):
        looks = [x for x in store.looks_at(view.id, check.id, spot) if x.day > since.get(spot, "")]
        dated = [Dated(date.fromisoformat(x.day), x.finding.reading) for x in looks if x.day and x.finding.reading]
        trend = _trend(f"{check.ask}, {spot}" if spot else check.ask, spot, dated, check)
        if trend is not None:
            found.append(trend)
    return tuple(found)


def _trend(name: str, spot: str, dated: Sequence[Dated], check: EditionCheck) -> Trend | None:
    assert check.reading is not None  # noqa: S101 asked before
    try:
        series = series_of(name, dated, check.reading)
        line = None if evidence(series) else fit(series.points)
        return Trend(spot, series, line, advise(series)) if series.points else None
    except TradeError:
        return None


def _mended_days(defects: Iterable[Defect]) -> dict[str, str]:
    """Spot -> the last day on which something there was mended: readings from before are another part's."""
    days: dict[str, str] = {}
    for defect in defects:
        if defect.closed is not None and defect.closed.how in _MENDED:
            days[defect.spot] = max(days.get(defect.spot, ""), defect.closed.day)
    return days


def _earlier(looks: Sequence[Look], defect: Defect) -> Look | None:
    """The reading before those of this defect, at its own place."""
    mine = {s.entry for s in defect.sightings}
    first = min((s.day for s in defect.sightings if s.day), default="")
    before = [
        look
        for look in looks
        if look.finding.check == defect.check
        and (look.finding.spot or "") == defect.spot
        and look.finding.reading is not None
        and look.finding.id not in mine
        and look.day <= first
    ]
    return before[-1] if before else None


def _added(fluids: Iterable[Fluid], check: EditionCheck, earlier: Look | None, defect: Defect) -> float:
    """Litres of engine oil topped up since the earlier reading."""
    if earlier is None:
        return 0.0
    names = {"engine oil", check.leak or "engine oil"}
    dated = (((f.day or f.at.date()).isoformat(), f.litres) for f in fluids if f.fluid in names)
    return sum(litres for day, litres in dated if earlier.day <= day <= (defect.last_day or "9"))
