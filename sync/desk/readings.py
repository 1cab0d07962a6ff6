"""Readings for the pages: a vehicle's latest looks, and a check's readings over time."""

from collections.abc import Iterable, Sequence
from datetime import date
from typing import NamedTuple

from builder.edition import EditionCheck, VehicleView
from sync.errors import TradeError
from sync.measured import occasion
from sync.state import Defect
from sync.store import Store
from sync.store_desk import Look
from sync.trade.places import Dated, series_of
from sync.trade.reckoning import Reckoning
from sync.trade.trends import Line, Series, advise, evidence, fit

#: How many walks back the newest readings are looked for.
WALKS_BACK = 12
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
