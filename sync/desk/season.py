"""Season: what broke most, open against closed, hours, what could be used, what a display day left behind."""

from datetime import date, timedelta
from typing import Any

from starlette.datastructures import QueryParams
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sync.desk.page import Desk, desk_of, render
from sync.desk.season_chart import BAR_WIDE, bar, lines
from sync.errors import DeskError
from sync.season import Material, Period, counts
from sync.season_use import ASKED, available, between

FAULTS = 12
SYSTEMS = 20
#: How many seasons' figures are kept at once.
KEPT = 4


def show(request: Request) -> Response:
    desk = desk_of(request)
    period = period_of(request.query_params, desk.today())
    this_year = desk.today().replace(month=1, day=1).isoformat()
    shown = {"period": period, "this_year": this_year, "bar": bar, "bar_wide": BAR_WIDE}
    return render(request, "season.html", {**shown, **_kept_figures(desk, period)})


def _kept_figures(desk: Desk, period: Period) -> dict[str, Any]:
    """The figures of the last few seasons asked for are kept until the log moves on: ten years of it take a second."""
    key = (desk.store.path, desk.store.setting("device"), desk.store.setting("revision"), period, desk.today())
    if key not in _kept:
        while len(_kept) >= KEPT:
            _kept.pop(next(iter(_kept)), None)
        _kept[key] = figures(period, material(desk, period))
    return _kept[key]


_kept: dict[tuple[object, ...], dict[str, Any]] = {}


def figures(period: Period, given: Material) -> dict[str, Any]:
    """What the page shows of a season."""
    found = counts(period, given)
    states = {v.id: given.states.get(v.id, v.state) for v in given.edition.vehicles}
    return {
        "all": found,
        "systems": found.systems[:SYSTEMS],
        "faults": [fault for fault in found.faults if fault.total > 1][:FAULTS],
        "lines": lines(found.flow),
        "use": available(period, given),
        "between": between(period, given),
        "unasked": [v.name for v in given.edition.vehicles if states[v.id] not in ASKED],
    }


def period_of(given: QueryParams, today: date) -> Period:
    """The days that the address names; without them the twelve months up to today."""
    until = _day(given.get("to", "")) or today
    since = _day(given.get("from", "")) or _year_before(until) + timedelta(days=1)
    return Period(since, until)


def _day(text: str) -> date | None:
    try:
        return date.fromisoformat(text.strip()) if text.strip() else None
    except ValueError as error:
        raise DeskError(f"{text!r} is no day; write it as 2026-10-18") from error


def _year_before(day: date) -> date:
    return day.replace(year=day.year - 1, day=28 if (day.month, day.day) == (2, 29) else day.day)


def material(desk: Desk, period: Period) -> Material:
    """What the figures are made from, as it stands in the store now."""
    store = desk.store
    with store.reading():
        return Material(
            edition=store.edition(),
            spells=store.spells(period.since.isoformat(), period.until.isoformat()),
            joined=[(pair.first, pair.second) for pair in store.pair_page("", True, -1).rows],
            worked=store.worked_on(),
            tasks=store.tasks(),
            booked=store.hours_booked(),
            runs=store.runs(),
            walks=store.walks(),
            states={row.vehicle: row.state for row in store.standing(desk.today())},
        )


ROUTES = [Route("/season", show)]
