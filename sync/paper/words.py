"""Places, limits, hours and days in words, as papers and exports say them alike."""

from builder.edition import EditionCheck, VehicleView
from builder.fleet import ReadingLimits
from sync.entries import Temporary
from sync.state import Defect


def number(value: float) -> str:
    """61.0 -> "61", 2.50 -> "2.5"."""
    return f"{value:.10g}"


def limits(reading: ReadingLimits | None) -> str:
    """ "15 to 35 mm", "at least 40 mm", "at most 75 °C"; empty without limits."""
    if reading is None or (reading.low is None and reading.high is None):
        return ""
    if reading.high is None:
        return f"at least {number(reading.low or 0)} {reading.unit}"
    if reading.low is None:
        return f"at most {number(reading.high)} {reading.unit}"
    return f"{number(reading.low)} to {number(reading.high)} {reading.unit}"


def hours(span: tuple[float, float] | None) -> str:
    """ "2 to 4 h", "2 h"; empty where nobody knows."""
    if span is None:
        return ""
    low, high = span
    return f"{number(low)} h" if low == high else f"{number(low)} to {number(high)} h"


def place(station: str, spot: str) -> str:
    """ "Left track, spot 2"; a named spot is its own word."""
    if not spot:
        return station
    return f"{station}, spot {spot}" if spot.isdigit() else f"{station}, {spot}"


def temporary(held: Temporary) -> str:
    """ "wire, until 2026-11-30; to undo: cut it off"."""
    undo = f"; to undo: {held.undo}" if held.undo else ""
    return f"{held.what}, until {held.until.isoformat()}{undo}"


def seen(defect: Defect) -> str:
    """ "2026-10-17 to 2026-10-18, 2 sightings, RM and TA"."""
    days = " to ".join(dict.fromkeys(day for day in (defect.first_day, defect.last_day) if day))
    count = len(defect.sightings)
    times = f"{count} sightings" if count > 1 else "seen once"
    return ", ".join(part for part in (days, times, " and ".join(defect.seen_by)) if part)


def reading_of(defect: Defect) -> str:
    return f"{number(defect.reading.value)} {defect.reading.unit}" if defect.reading else ""


def limits_of(check: EditionCheck | None) -> str:
    return limits(check.reading) if check else ""


def task_name(task: str, view: VehicleView) -> str:
    """A task is "vehicle/kind/id"; its name where the edition has it."""
    _, _, rest = task.partition("/")
    kind, _, task_id = rest.partition("/")
    if kind == "while-open" and task_id in view.while_open:
        return view.while_open[task_id].name
    if kind == "service" and task_id in view.service:
        return view.service[task_id].name
    if kind == "first-start" and task_id in view.first_start:
        return view.first_start[task_id].name
    return task
