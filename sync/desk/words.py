"""Names for what entries call by ids, as the edition in force has them."""

from builder.edition import Edition
from sync.state import Conflict


def subject_words(edition: Edition, conflict: Conflict) -> str:
    """ "Left track, Sag of the top run, spot 2: Slack", as far as the edition knows it."""
    view = edition.by_vehicle.get(conflict.vehicle)
    check = view.checks.get(conflict.check) if view else None
    if view is None or check is None:
        return " ".join(filter(None, (conflict.check, conflict.spot, conflict.fault, conflict.field)))
    fault = check.fault(conflict.fault)
    place = ", ".join(filter(None, (
        view.stations[check.station].name, check.ask, f"spot {conflict.spot}" if conflict.spot else ""
    )))  # fmt: skip
    what = fault.name if fault else conflict.fault
    return f"{place}: {what}" if what else place


def vehicle_name(edition: Edition, vehicle: str) -> str:
    view = edition.by_vehicle.get(vehicle)
    return view.name if view else vehicle
