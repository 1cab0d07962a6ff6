"""Today: what came in, what must not move, what waits for a decision, what is due."""

from datetime import timedelta

from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from sync.desk.page import desk_of, render
from sync.store_rows import Query

DUE_DAYS = 14
DUE_SHOWN = 60
BATCHES = 8
#: How many of each are listed; the rest are counted, and lead to their own pages.
CONFLICTS, CONFIRM, REPORTS, STOPPED = 12, 12, 12, 30


def show(request: Request) -> Response:
    desk = desk_of(request)
    today, store = desk.today(), desk.store
    standing, reports = store.standing(today), store.reports()
    given = {
        "batches": store.batches(BATCHES),
        "standing": standing,
        "counts": {name: sum(row.standing == name for row in standing) for name in ("stopped", "limited", "fit")},
        "stopped": [row for row in standing if row.standing == "stopped"][:STOPPED],
        "not_walked": [row for row in standing if row.not_walked],
        "conflicts": [c for c in store.conflict_page("", CONFLICTS).rows if c.kind != "changed"],
        "conflict_count": store.conflict_counts()[0],
        "to_confirm": store.backlog(today, Query(status="to confirm"), CONFIRM),
        "reports": reports[:REPORTS],
        "report_count": len(reports),
        "pairs": store.pair_page("", None, 0).total,
        "aside": store.count("set_aside"),
        "first": store.backlog(today, Query(revivals=False), 8),
        "apart": store.open_revivals(),
        "due": store.due((today + timedelta(days=DUE_DAYS)).isoformat(), DUE_SHOWN),
        "days": [d for d in store.edition().display_days if d.date >= today][:3],
        "until": {d.date: (d.date - today).days for d in store.edition().display_days},
    }
    return render(request, "today.html", given)


ROUTES = [Route("/", show)]
