"""take-in, conflicts, settle, backlog: hand-ins in, the list out."""

import os
import sys
from collections.abc import Iterable, Iterator
from datetime import date
from pathlib import Path

import click
from rich.console import Console
from rich.progress import Progress, TaskID

from builder.fleet import SEVERITIES
from sync.commands_common import as_of_option, backlog_option, by_option, fleet_option, json_option, opened, serving
from sync.errors import IntakeError
from sync.printing import counted, listed, print_json, print_line, print_table, say
from sync.service_take import Receipt
from sync.state import Sighting
from sync.store_rows import Query

_PIECE = 1024 * 1024
_COLUMNS = ("rank", "defect", "severity", "status", "station", "check_name", "spot", "fault", "last_seen", "seen_by",
            "conflict", "note")  # fmt: skip


@click.command("take-in")
@click.argument("files", nargs=-1, required=True, metavar="FILE...", type=click.Path(path_type=Path))
@fleet_option(required=False)
@backlog_option
@json_option
def take_in(files: tuple[Path, ...], fleet: Path | None, backlog_path: Path, as_json: bool) -> int:
    """Merge hand-in files. Given twice, in any order, late: nothing is lost and nothing counts twice."""
    with serving(backlog_path, fleet) as service, _progress() as progress:
        sources = ((path.name, _pieces(path, progress, task)) for path, task in _tasks(files, progress))
        receipts = service.take_in_all(sources)
        conflicts = len(service.store.conflicts())
    if as_json:
        print_json(receipts)
    else:
        for receipt in receipts:
            _print_receipt(receipt)
        print_line(f"{counted(conflicts, 'conflict')} open." if conflicts else "No conflict is open.")
    return 0 if all(receipt.useful for receipt in receipts) else 1


@click.command()
@backlog_option
@click.option("--vehicle", default="", help="Of one vehicle only.")
@json_option
def conflicts(backlog_path: Path, vehicle: str, as_json: bool) -> None:
    """List what people saw differently: each side whole, and what stands meanwhile."""
    with opened(backlog_path) as store:
        found = store.conflicts(vehicle)
    if as_json:
        print_json(found)
        return
    if not found:
        say("No conflict is open.")
    rows = [
        (c.id, c.kind, c.vehicle, c.check, c.spot, c.fault or c.field, _says(side),
         "stands meanwhile" if side.entry == c.stands else "", side.by, f"{side.day} {side.round}".strip(), side.entry)
        for c in found
        for side in c.sides
    ]  # fmt: skip
    names = ("conflict", "kind", "vehicle", "check", "spot", "fault", "says", "stands", "by", "occasion", "entry")
    print_table(names, rows)


@click.command()
@click.argument("conflict")
@click.option("--choose", required=True, metavar="ENTRY", help="The entry, of those in conflict, that is right.")
@click.option("--reason", required=True, metavar="TEXT", help="Why; those who saw it otherwise will read it.")
@by_option
@backlog_option
def settle(conflict: str, choose: str, reason: str, by: str, backlog_path: Path) -> int:
    """End a conflict with one of its sides. It is an entry like any other: a later one can take it back."""
    with serving(backlog_path) as service:
        entry = service.settle(conflict, choose=choose, reason=reason, by=by)
        still = next((c for c in service.store.conflicts() if c.id == conflict), None)
    if still is not None:
        say(f"{conflict}: written ({entry}), but it stays open: {still.why}")
        return 1
    print_line(f"{conflict}: settled by {by} ({entry}).")
    return 0


@click.command()
@backlog_option
@click.option("--vehicle", default="", help="Of one vehicle only.")
@click.option("--severity", default="", type=click.Choice(["", *SEVERITIES]), help="Of one severity only.")
@click.option("--search", default="", metavar="TEXT", help="Words in names and notes; the last may be a beginning.")
@as_of_option
@json_option
def backlog(  # noqa: PLR0913, PLR0917 - an argument for each option
    backlog_path: Path, vehicle: str, severity: str, search: str, as_of: date, as_json: bool
) -> None:
    """List the open defects, ranked."""
    query = Query(vehicle=vehicle, severity=severity, search=search)
    with opened(backlog_path) as store:
        rows = store.backlog(as_of, query).rows
        standing = {row.vehicle: row for row in store.standing(as_of)}
    if as_json:
        print_json(rows)
        return
    if not rows:
        say("Nothing is open." if query == Query() else "Nothing open is found by that.")
    print_table(_COLUMNS, ([getattr(row, name) for name in _COLUMNS] for row in rows))
    if sys.stdout.isatty():
        stopped = [row.name for row in standing.values() if row.standing == "stopped"]
        if stopped:
            say(f"Stopped: {', '.join(stopped)}.")


def _says(side: Sighting) -> str:
    if side.present is None:
        return side.said
    what = (side.severity or "defect") if side.present else "sound"
    return f"{what}, {side.reading.value:g} {side.reading.unit}" if side.reading else what


def _print_receipt(receipt: Receipt) -> None:
    if receipt.refused:
        say(f"{receipt.source}: {receipt.refused}")
        return
    who = f"{receipt.device_name} ({receipt.device})" if receipt.device_name else receipt.device
    parts = [counted(receipt.taken, "entry", "entries") + " new"]
    if receipt.already:
        parts.append(f"{receipt.already} here already")
    if receipt.photos:
        parts.append(counted(receipt.photos, "photo"))
    print_line(f"{receipt.source}: {who}: {', '.join(parts)}.")
    if receipt.later:
        say(f"{receipt.source}: {receipt.later} of a later version's kinds are kept and read after an upgrade.")
    for trouble in receipt.trouble:
        say(f"{receipt.source}: {trouble}.")
    for aside in receipt.set_aside[:20]:
        say(f"{receipt.source}: line {aside.line} set aside: {aside.why}.")
    if receipt.aside > 20:
        say(f"{receipt.source}: {receipt.aside - 20} more lines set aside; the desk lists them all.")
    if receipt.missing:
        say(f"{receipt.source}: entries {listed(receipt.missing)} of {receipt.device} still to come.")
    if receipt.want_photos:
        say(f"{receipt.source}: {counted(len(receipt.want_photos), 'photo')} of it still to come.")


def _pieces(path: Path, progress: Progress, task: TaskID) -> Iterator[bytes]:
    """A file in pieces. One that cannot be read is told as a hand-in of which nothing could be taken."""
    try:
        with path.open("rb") as file:
            while piece := file.read(_PIECE):
                yield piece
                progress.update(task, advance=len(piece))
    except OSError as error:
        raise IntakeError(f"it cannot be read: {error.strerror or error}") from error


def _progress() -> Progress:
    return Progress(console=Console(stderr=True), transient=True, disable=not sys.stderr.isatty())


def _tasks(files: Iterable[Path], progress: Progress) -> Iterator[tuple[Path, TaskID]]:
    for path in files:
        size = path.stat().st_size if os.access(path, os.R_OK) else None
        yield path, progress.add_task(path.name, total=size)
