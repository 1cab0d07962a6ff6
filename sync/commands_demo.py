"""demo: the whole job on the sample collection, then its desk and phone app served to this PC."""

import os
import shutil
from pathlib import Path

import click

from sync.commands_common import now
from sync.demo import SAMPLE, Places, build_sample, take_in_day, told, write_exports
from sync.errors import StoreError
from sync.printing import print_line, say
from sync.serve import Open, Opened, Wanted
from sync.service import Service
from sync.store import Store

_PORT = click.IntRange(0, 65535)
_MARK = ".driptray-demo"


@click.command()
@click.option("--out", type=click.Path(path_type=Path, file_okay=False), default=Path("driptray-demo"),
              show_default=True, help="Folder for app, backlog and exports; a demo's own is made anew.")  # fmt: skip
@click.option("--no-serve", is_flag=True, help="Make everything, tell what happened, and stop.")
@click.option("--port", type=_PORT, default=8460, show_default=True, help="The phone app, for this PC alone.")
@click.option("--desk-port", type=_PORT, default=8461, show_default=True, help="The desk, for this PC alone.")
def demo(out: Path, port: int, desk_port: int, *, no_serve: bool) -> None:
    """Show the main job: the sample fleet's app built, its display day taken in, exports written, all served."""
    places = Places(out)
    _clear(out)
    say("Building the phone app and taking in the sample's display day ...")
    edition = build_sample(places)
    with Store(places.backlog) as store:
        service = Service(store, now, os.urandom)
        service.adopt(edition)
        receipts = take_in_day(service)
        write_exports(store, places)
        for line in told(store, receipts, places):
            print_line(line)
    if not no_serve:
        wanted = Wanted(SAMPLE, places.backlog, port=port, desk_port=desk_port, lan=False, plain=True)
        door = Open(wanted, now, os.urandom)
        door.run(_tell)
        print_line("Stopped.")


def _clear(out: Path) -> None:
    """An earlier demo's folder is made anew; any other that holds something is left alone."""
    if out.exists() and any(out.iterdir()) and not (out / _MARK).exists():
        raise StoreError(f"{out}: the folder holds something that is no demo's; name another with --out")
    if out.exists():
        shutil.rmtree(out)
    out.mkdir(parents=True)
    (out / _MARK).write_text("Made by driptray demo, which makes this folder anew each time.\n", "utf-8")


def _tell(opened: Opened) -> None:
    print_line(f"Desk:      {opened.desk}")
    print_line(f"Phone app: {opened.app}  (make the window narrow, or open it in your browser's phone view)")
    print_line("Ctrl-C stops it.")
