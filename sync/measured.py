"""What a defect's readings come to, read from the store: for the desk's pages, the exports and the papers alike."""

from collections import ChainMap
from collections.abc import Iterable
from functools import lru_cache

from builder.edition import EditionCheck, VehicleView
from builder.fleet import ROUND_ORDER
from sync.entries import Fluid, Reading
from sync.state import Defect
from sync.store import Store
from sync.store_desk import Look
from sync.trade.places import Latest, Sighted, said_of
from sync.trade.reckoning import Reckoning

#: How many walks back the readings that stand beside a defect's are looked for.
BESIDE = 6
#: Vehicles whose readings are kept for the next defect: a long list comes back to each of a collection's vehicles.
KEPT = 1024
Taken = dict[tuple[str, str], Reading]


def occasion(look: Look) -> tuple[str, int]:
    """Sorts looks by day, then round."""
    return (look.day, ROUND_ORDER.get(look.round, len(ROUND_ORDER)))


def newest(looks: Iterable[Look]) -> Taken:
    """(check, spot) -> the reading taken last, of looks in order."""
    return {
        (look.finding.check or "", look.finding.spot or ""): look.finding.reading
        for look in looks
        if look.finding.reading is not None
    }


class Measures:
    """Reckons defects of one store; what their vehicles' walks measured is read once and kept."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._recent = lru_cache(KEPT)(self._read_recent)
        self._walk = lru_cache(KEPT)(self._read_walk)

    def reckoned(self, view: VehicleView, defect: Defect) -> tuple[Reckoning, ...]:
        """What the trade's calculations say of a defect's check; empty where nothing was measured."""
        check = view.checks.get(defect.check)
        leak = next((s.leak for s in reversed(defect.sightings) if s.leak is not None), None)
        if check is None or (leak is None and (check.reading is None or not self._measured(defect))):
            return ()
        earlier = self._earlier(defect) if check.reckon == "oil level" else None
        sighted = Sighted(
            leak=leak,
            round=defect.sightings[-1].round if defect.sightings else "",
            fault=defect.fault,
            earlier=earlier.finding.reading if earlier else None,
            added=_added(self._store.fluids(view.id), check, earlier, defect) if earlier else 0.0,
            spot=defect.spot,
            also=tuple(s.reading for s in defect.sightings if s.reading is not None and s.reading != defect.reading),
        )
        return said_of(view, check, self._latest(defect) if check.reading else {}, sighted)

    def _measured(self, defect: Defect) -> bool:
        return defect.reading is not None or any(s.reading is not None for s in defect.sightings)

    def _latest(self, defect: Defect) -> Latest:
        """The newest readings as they were on the walk that measured this defect, its own reading as it stands."""
        walk = next((s.walk for s in reversed(defect.sightings) if s.reading is not None), "")
        own = {} if defect.reading is None else {(defect.check, defect.spot): defect.reading}
        return ChainMap(own, self._walk(defect.vehicle, walk) if walk else {}, self._recent(defect.vehicle))

    def _read_recent(self, vehicle: str) -> Taken:
        walks = [walk.walk for walk in self._store.walks(vehicle)[:BESIDE]]
        return newest(sorted(self._store.looks_of(vehicle, walks), key=occasion)) if walks else {}

    def _read_walk(self, vehicle: str, walk: str) -> Taken:
        return newest(self._store.looks_of(vehicle, [walk]))

    def _earlier(self, defect: Defect) -> Look | None:
        """The reading before those of this defect, at its own place."""
        mine = {s.entry for s in defect.sightings}
        first = min((s.day for s in defect.sightings if s.day), default="")
        looks = self._store.looks_at(defect.vehicle, defect.check, defect.spot)
        before = [x for x in looks if x.finding.reading is not None and x.finding.id not in mine and x.day <= first]
        return max(before, key=occasion, default=None)


def _added(fluids: Iterable[Fluid], check: EditionCheck, earlier: Look, defect: Defect) -> float:
    """Litres of engine oil topped up since the earlier reading."""
    names = {"engine oil", check.leak or "engine oil"}
    dated = (((f.day or f.at.date()).isoformat(), f.litres) for f in fluids if f.fluid in names)
    return sum(litres for day, litres in dated if earlier.day <= day <= (defect.last_day or "9"))
