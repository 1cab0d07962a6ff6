"""Today: what came in and what it changed, what must not move, what waits for a decision, what is due."""

from collections.abc import Mapping, Sequence
from datetime import timedelta
from typing import NamedTuple

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sync.desk.page import Desk, desk_of, render
from sync.desk.words import subject_words
from sync.rows import StandingRow
from sync.store_arrived import Arrived
from sync.store_rows import BatchRow, Query

DUE_DAYS = 14
DUE_SHOWN = 60
BATCHES = 200
#: How many of each are listed; the rest are counted, and lead to their own pages.
CONFLICTS, CONFIRM, REPORTS, STOPPED, PHONES, PHONE_VEHICLES = 8, 8, 8, 30, 9, 12
#: Of how many entries the newest arrivals are counted; a display day brings some thousand.
ARRIVED_MOST = 5_000


_GRAVEST = ("stopped", "limited", "fit")


class FromPhone(NamedTuple):
    """What one phone brought on the newest day on which anything came."""

    name: str
    at: str
    taken: int
    photos: int
    vehicles: tuple[Arrived, ...]


class Moved(NamedTuple):
    """Vehicles, as (id, name), whose standing is another than before that day, and the same way."""

    was: str
    unknown: bool  # nobody had walked round them
    now: str
    vehicles: tuple[tuple[str, str], ...]


def show(request: Request) -> Response:
    desk = desk_of(request)
    today, store = desk.today(), desk.store
    standing, reports, edition = store.standing(today), store.reports(), store.edition()
    given = {
        **came_in(desk, standing),
        "counts": {name: sum(row.standing == name for row in standing) for name in _GRAVEST},
        "unknown": sum(row.standing == "fit" and bool(row.not_walked) for row in standing),
        "stopped": [row for row in standing if row.standing == "stopped"][:STOPPED],
        "not_walked": [row for row in standing if row.not_walked],
        "conflicts": [c for c in store.conflict_page("", CONFLICTS).rows if c.kind != "changed"],
        "subject": lambda conflict: subject_words(edition, conflict),
        "conflict_count": store.conflict_counts()[0],
        "to_confirm": store.backlog(today, Query(status="to confirm"), CONFIRM),
        "reports": reports[:REPORTS],
        "report_count": len(reports),
        "names": {row.vehicle: row.name for row in standing},
        "pairs": store.pair_page("", None, 0),
        "aside": sum(store.aside_counts().values()),
        "first": store.backlog(today, Query(revivals=False), 8),
        "apart": store.open_revivals(),
        "due": store.due((today + timedelta(days=DUE_DAYS)).isoformat(), DUE_SHOWN),
        "days": [d for d in edition.display_days if d.date >= today][:3],
        "until": {d.date: (d.date - today).days for d in edition.display_days},
    }
    return render(request, "today.html", given)


def came_in(desk: Desk, standing: Sequence[StandingRow]) -> dict[str, object]:
    """The newest day's hand-ins, by phone and vehicle, and the standings that changed since before them."""
    recent = desk.store.batches(BATCHES)
    if not recent:
        return {"day": "", "phones": [], "phone_count": 0, "moved": [], "phone_vehicles": PHONE_VEHICLES}
    day = recent[0].at[:10]
    batches = [batch for batch in recent if batch.at[:10] == day]
    first = batches[-1].batch
    phones = from_phones(batches, desk.store.arrived(first, ARRIVED_MOST))
    return {
        "day": day,
        "phones": phones[:PHONES],
        "phone_count": len(phones),
        "phone_vehicles": PHONE_VEHICLES,
        "moved": moved(standing, desk.store.standings_before(first, desk.today())),
    }


def from_phones(batches: Sequence[BatchRow], arrived: Sequence[Arrived]) -> list[FromPhone]:
    """By device, the latest to hand in first; `batches` come newest first."""
    by_device: dict[str, list[BatchRow]] = {}
    for batch in batches:
        by_device.setdefault(batch.device, []).append(batch)
    return [
        FromPhone(
            mine[0].device_name or device or mine[0].source,
            mine[0].at,
            sum(batch.taken for batch in mine),
            sum(batch.photos for batch in mine),
            tuple(sorted((one for one in arrived if one.device == device), key=_most_found)),
        )
        for device, mine in by_device.items()
    ]


def _most_found(one: Arrived) -> tuple[int, str]:
    return (-one.defects, one.vehicle)


def moved(standing: Sequence[StandingRow], before: Mapping[str, tuple[str, str]]) -> list[Moved]:
    """The gravest first; what was not walked and is fit has not moved."""
    found: dict[tuple[str, bool, str], list[tuple[str, str]]] = {}
    for row in standing:
        was, unknown = before.get(row.vehicle, (row.standing, row.not_walked))
        if was != row.standing:
            found.setdefault((was, bool(unknown), row.standing), []).append((row.vehicle, row.name))
    ways = sorted(found, key=lambda way: (_GRAVEST.index(way[2]), _GRAVEST.index(way[0]), way[1]))
    return [Moved(*way, tuple(found[way])) for way in ways]


ROUTES = [Route("/", show)]
