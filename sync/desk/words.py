"""Names for what entries call by ids, as the edition in force has them."""

from collections.abc import Iterable

from builder.edition import Edition, EditionCheck
from sync.entries import Finding, Settle
from sync.paper.words import number
from sync.state import Conflict, Defect
from sync.store import Store


def subject_words(edition: Edition, about: Conflict | Settle) -> str:
    """ "Left track, Sag of the top run, spot 2: Slack", as far as the edition knows it."""
    view = edition.by_vehicle.get(about.vehicle)
    check = view.checks.get(about.check or "") if view else None
    field = about.field if isinstance(about, Conflict) else ""
    if view is None or check is None:
        return " ".join(filter(None, (about.check, about.spot, about.fault, field)))
    fault = check.fault(about.fault)
    spot = f"spot {about.spot}" if about.spot else ""
    place = ", ".join(filter(None, (view.stations[check.station].name, check.ask, spot)))
    what = fault.name if fault else about.fault
    return f"{place}: {what}" if what else place


def vehicle_name(edition: Edition, vehicle: str) -> str:
    view = edition.by_vehicle.get(vehicle)
    return view.name if view else vehicle


def photos_here(store: Store, photos: Iterable[str]) -> frozenset[str]:
    """Those of some photos whose bytes have come."""
    return frozenset(photo for photo in set(photos) if store.photo(photo) is not None)


def fault_notes(store: Store, defect: Defect) -> list[tuple[str, str]]:
    """(by, text) of what is known of a defect's fault and of its access steps, on its vehicle."""
    steps = {f"{defect.vehicle}/access/{step}" for step in defect.needs}
    wanted = {f"{defect.vehicle}/fault/{defect.check}/{defect.fault}", *steps}
    found = [(by, text) for about, by, text in store.rulings(defect.vehicle).know_how if about in wanted]
    return found + ([("", defect.know_how)] if defect.know_how else [])


def look_words(check: EditionCheck, finding: Finding) -> str:
    """ "sound, 49 °C", "Slack, major, 61 mm", "not looked at: mud"."""
    if finding.result == "unchecked":
        return f"not looked at: {finding.why}" if finding.why else "not looked at"
    fault = check.fault(finding.fault)
    what = "sound" if finding.result == "sound" else fault.name if fault else finding.fault or "defect"
    reading = f"{number(finding.reading.value)} {finding.reading.unit}" if finding.reading else ""
    leak = f"leak class {finding.leak.leak_class}" if finding.leak else ""
    right = "put right at once" if finding.put_right else ""
    return ", ".join(
        part for part in (finding.verdict or "", what, finding.severity or "", reading, leak, right) if part
    )
