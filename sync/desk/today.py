"""Today: what came in, what must not move, what waits for a decision, what is due."""

from datetime import date, timedelta

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sync.desk.page import Desk, desk_of, render
from sync.rows import BacklogRow
from sync.store_rows import Query

DUE_DAYS = 14
BATCHES = 8


def show(request: Request) -> Response:
    desk = desk_of(request)
    today, store = desk.today(), desk.store
    standing = store.standing(today)
    conflicts = [c for c in store.conflicts() if c.kind != "changed"]
    given = {
        "batches": store.batches(BATCHES),
        "standing": standing,
        "counts": {name: sum(row.standing == name for row in standing) for name in ("stopped", "limited", "fit")},
        "not_walked": [row for row in standing if row.not_walked],
        "conflicts": conflicts,
        "to_confirm": store.backlog(today, Query(status="to confirm"), 50).rows,
        "reports": [r for r in store.reports() if not r.explained],
        "pairs": sum(pair.joined is None for pair in store.pairs()),
        "aside": len(store.set_aside(1000)),
        "first": store.backlog(today, Query(revivals=False), 8),
        "apart": store.open_revivals(),
        "due": due(desk, today),
        "days": [d for d in store.edition().display_days if d.date >= today][:3],
        "until": {d.date: (d.date - today).days for d in store.edition().display_days},
    }
    return render(request, "today.html", given)


def due(desk: Desk, today: date) -> list[tuple[str, str, BacklogRow]]:
    """(day, what, row) of waits and temporary repairs that end within a fortnight or are over already."""
    until = (today + timedelta(days=DUE_DAYS)).isoformat()
    rows = desk.store.backlog(today).rows
    found = [(row.due, f"waits for {row.waiting_for}", row) for row in rows if row.due and row.due <= until]
    found += [
        (row.temporary_until, "mended for now until then", row)
        for row in rows
        if row.temporary_until and row.temporary_until <= until
    ]
    return sorted(found, key=lambda item: (item[0], item[2].rank))


ROUTES = [Route("/", show)]
