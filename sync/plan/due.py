"""Whether preventive work is due on a day: by months, by hours run, or by days of running, whichever comes first."""

from calendar import monthrange
from collections.abc import Sequence
from datetime import date

from builder.fleet import Service
from sync.entries import Run


def due_by_months(done: str, months: int, as_of: date) -> bool:
    """Whether so many months have passed since a day (as an ISO date)."""
    return months_after(date.fromisoformat(done), months) <= as_of


def months_after(day: date, months: int) -> date:
    """The same day so many months later, or the last of that month."""
    year, month = divmod(day.year * 12 + day.month - 1 + months, 12)
    return date(year, month + 1, min(day.day, monthrange(year, month + 1)[1]))


def service_due(service: Service, signed: Sequence[str], runs: Sequence[Run], as_of: date) -> bool:
    """Whether a service is due. What was never signed off is due by running alone: nobody can say how old it is.

    Args:
        signed: ISO dates on which it was signed off, oldest first.
        runs: the vehicle's runs; those after the last sign-off and up to `as_of` count.
    """
    last = signed[-1] if signed else ""
    since = [run for run in runs if last < run.day.isoformat() <= as_of.isoformat()]
    if last and service.every_months is not None and due_by_months(last, service.every_months, as_of):
        return True
    if service.every_hours is not None and sum(run.hours or 0 for run in since) >= service.every_hours:
        return True
    return service.every_events is not None and len({run.day for run in since}) >= service.every_events
