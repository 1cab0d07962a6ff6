"""The sample collection's display day, taken in and told in about twenty lines."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from pathlib import Path

from builder.commands import WEB_TEMPLATES, app_files
from builder.edition import compile_edition
from builder.load import load_fleet
from builder.write import write_site
from sync.exports.command import WRITERS, write_export
from sync.printing import counted
from sync.rows import StandingRow
from sync.service import Service
from sync.service_take import Receipt
from sync.state import Conflict, Defect
from sync.store import Store

#: Beside the packages, in the checkout as in the wheel.
SAMPLE = WEB_TEMPLATES.parent / "sample_fleet"
#: The morning after the sample's display day: what its exports are as of.
MORNING_AFTER = date(2026, 10, 18)


@dataclass(frozen=True)
class Places:
    """Where a demo's parts go."""

    out: Path

    @property
    def app(self) -> Path:
        return self.out / "app"

    @property
    def backlog(self) -> Path:
        return self.out / "backlog.db"

    @property
    def exports(self) -> Path:
        return self.out / "exports"


def build_sample(places: Places) -> bytes:
    """The sample fleet's app, written; the whole edition's bytes, of which phones carry their part."""
    places.out.mkdir(parents=True, exist_ok=True)
    write_site(places.app, app_files(SAMPLE))
    return compile_edition(load_fleet(SAMPLE))


def take_in_day(service: Service) -> tuple[Receipt, ...]:
    """The hand-ins of the sample's three phones, one of them given twice."""
    days = sorted((SAMPLE / "day").glob("*.txt"))
    return service.take_in_all((path.name, iter([path.read_bytes()])) for path in days)


def write_exports(store: Store, places: Places) -> tuple[Path, ...]:
    places.exports.mkdir(exist_ok=True)
    paths = tuple(places.exports / f"backlog.{form}" for form in WRITERS)
    for form, path in zip(WRITERS, paths, strict=True):
        write_export(store, form, path, MORNING_AFTER)
    return paths


def told(store: Store, receipts: Iterable[Receipt], places: Places) -> Iterator[str]:
    """What happened, line by line."""
    standing = store.standing(MORNING_AFTER)
    defects = store.defects()
    yield f"{store.edition().name}: {counted(len(standing), 'vehicle')}, as of {MORNING_AFTER}."
    yield "What each phone brought:"
    for receipt in receipts:
        yield f"  {_brought(receipt)}"
    yield _agreed(defects)
    yield from _disagreed(store.conflicts(), store)
    yield "Standing:"
    yield from _standing(standing)
    yield f"The phone app is in {places.app}, the backlog in {places.backlog},"
    yield f"the exports in {places.exports}: {', '.join(sorted(WRITERS))}."


def _brought(receipt: Receipt) -> str:
    new = f"{counted(receipt.taken, 'entry', 'entries')}, {counted(receipt.photos, 'photo')}"
    again = f"; {counted(receipt.already, 'entry', 'entries')} were here already" if receipt.already else ""
    aside = f"; {counted(receipt.aside, 'line')} set aside" if receipt.aside else ""
    return f"{receipt.device_name} ({receipt.source}): {new}{again}{aside}"


def _agreed(defects: tuple[Defect, ...]) -> str:
    shared = [d for d in defects if len(d.seen_by) > 1 and not d.conflicts]
    return f"{counted(len(defects), 'defect')} open; {len(shared)} of them were seen by two people or more, who agree."


def _disagreed(conflicts: tuple[Conflict, ...], store: Store) -> Iterator[str]:
    found = [c for c in conflicts if c.kind != "changed"]
    yield f"In conflict: {len(found)}. The safer claim stands meanwhile:" if found else "Nothing is in conflict."
    for conflict in found:
        stands = next((side for side in conflict.sides if side.entry == conflict.stands), None)
        code = store.defect(conflict.defect).code if conflict.defect else conflict.vehicle
        yield f"  {code}: {conflict.why}" + (f"; {stands.by}'s stands" if stands else "")


def _standing(rows: tuple[StandingRow, ...]) -> Iterator[str]:
    for name in ("stopped", "limited", "fit"):
        names = [row.name for row in rows if row.standing == name and not row.not_walked]
        yield f"  {name}: {', '.join(names) or 'none'}"
    unseen = [row.name for row in rows if row.not_walked]
    if unseen:
        yield f"  not walked: {', '.join(unseen)}"
