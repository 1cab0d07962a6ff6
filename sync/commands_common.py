"""What several commands share: their options, and a backlog opened by its path."""

import os
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import date, datetime
from pathlib import Path
from typing import Any

import click

from builder.edition import compile_edition
from builder.load import load_fleet
from sync.service import Service
from sync.store import Store

Wrapped = Callable[..., Any]


class Day(click.ParamType):  # type: ignore[type-arg]  # older releases of click have no argument for it
    """A day as YYYY-MM-DD."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> date:
        if isinstance(value, date):
            return value
        try:
            return date.fromisoformat(str(value))
        except ValueError:
            self.fail(f"{value!r} is no day; write it as 2026-10-18", param, ctx)


_FILE = click.Path(path_type=Path, dir_okay=False)
backlog_option = click.option("--backlog", "backlog_path", type=_FILE, required=True, help="The backlog file.")
as_of_option = click.option(
    "--as-of", type=Day(), default=date.today, show_default="today", metavar="DATE", help="The day taken as today."
)
json_option = click.option("--json", "as_json", is_flag=True, help="The list as JSON.")
by_option = click.option("--by", required=True, metavar="WHO", help="Initials of the person who says so.")


def fleet_option(*, required: bool) -> Callable[[Wrapped], Wrapped]:
    """FLEET's files; a newer edition than the backlog's is adopted."""
    return click.option(
        "--fleet",
        type=click.Path(path_type=Path, file_okay=False),
        required=required,
        help="Folder of the fleet files; a newer edition is adopted.",
    )


@contextmanager
def opened(path: Path, *, create: bool = False) -> Iterator[Store]:
    """A backlog to read."""
    store = Store(path, create=create)
    try:
        yield store
    finally:
        store.close()


@contextmanager
def serving(path: Path, fleet: Path | None = None) -> Iterator[Service]:
    """A backlog to write, its fleet's newer edition adopted; made where there is none and a fleet is named."""
    edition = compile_edition(load_fleet(fleet)) if fleet is not None else b""
    with opened(path, create=fleet is not None) as store:
        service = Service(store, now, os.urandom)
        if edition:
            service.adopt(edition)
        yield service


def now() -> datetime:
    """This PC's clock, with its offset."""
    return datetime.now().astimezone()
