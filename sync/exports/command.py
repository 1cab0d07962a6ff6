"""`driptray export`: the backlog as a file for a spreadsheet, a calendar, a mail, a program or a reader."""

import os
from collections.abc import Callable
from contextlib import suppress
from datetime import date
from pathlib import Path
from typing import BinaryIO

import click

from sync.commands_common import as_of_option, backlog_option, opened
from sync.errors import StoreError
from sync.exports import as_csv, as_html, as_ics, as_json, as_md, as_xlsx
from sync.exports.gather import gather
from sync.exports.snapshot import Snapshot
from sync.store import Store

WRITERS: dict[str, Callable[[Snapshot, BinaryIO], None]] = {
    "csv": as_csv.write,
    "xlsx": as_xlsx.write,
    "json": as_json.write,
    "ics": as_ics.write,
    "html": as_html.write,
    "md": as_md.write,
}


@click.command()
@backlog_option
@click.option("--as", "form", type=click.Choice(tuple(WRITERS)), required=True, help="What to write.")
@click.option("--out", type=click.Path(path_type=Path, dir_okay=False), required=True, help="The file to write.")
@as_of_option
def export(backlog_path: Path, form: str, out: Path, as_of: date) -> None:
    """Write the backlog as a file: every open defect, every vehicle, and what is in conflict."""
    with opened(backlog_path) as store:
        write_export(store, form, out, as_of)


def write_export(store: Store, form: str, out: Path, as_of: date) -> None:
    """Writes one export; what stood at `out` stays whole until the new file is.

    Raises StoreError where the file cannot be written.
    """
    part = out.with_name(f".{out.name}.part")
    try:
        with part.open("wb") as file:
            with store.reading():  # one state of the backlog, whatever comes in meanwhile
                WRITERS[form](gather(store, as_of, out.absolute().parent), file)
            file.flush()
            os.fsync(file.fileno())
        part.replace(out)
    except OSError as error:
        raise StoreError(
            f"{out}: cannot be written ({error.strerror or error}); name another file with --out"
        ) from error
    finally:
        with suppress(OSError):
            part.unlink(missing_ok=True)
