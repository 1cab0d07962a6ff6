"""serve: the door for phones, the app itself, and the desk, opened by one command."""

import logging
import os
import sys
from pathlib import Path
from typing import Any

import click
import segno

from builder.commands import DOOR_PORT
from sync.commands_common import now
from sync.desk.password import Password, read_password
from sync.door.trust import pairs
from sync.errors import DeskError
from sync.pairing import shown
from sync.serve import DESK_LAN_PORT, DESK_PORT, TRUST_PORT, Open, Opened, Wanted, door_folder

_FOLDER = click.Path(path_type=Path, file_okay=False)
_FILE = click.Path(path_type=Path, dir_okay=False)
_PORT = click.IntRange(0, 65535)


@click.command()
@click.argument("fleet", type=_FOLDER)
@click.option("--backlog", type=_FILE, required=True, help="The backlog file; made where there is none.")
@click.option("--port", type=_PORT, default=DOOR_PORT, show_default=True, help="Where phones open the app, over https.")
@click.option("--http-port", type=_PORT, default=TRUST_PORT, show_default=True, help="Page that helps phones trust it.")
@click.option("--desk-port", type=_PORT, default=DESK_PORT, show_default=True, help="The desk, for this PC alone.")
@click.option("--desk-lan", is_flag=True, help="Open the desk to other machines too: over https, with a password.")
@click.option("--desk-lan-port", type=_PORT, default=DESK_LAN_PORT, show_default=True, help="Where they open it.")
@click.option("--desk-password-file", type=_FILE, help="Sets that password: this file's first line. Else asked once.")
@click.option("--cert", "certificate", type=_FILE, help="The collection's own domain certificate (PEM); with --key.")
@click.option("--key", type=_FILE, help="Its key (PEM).")
@click.option("--name", default="", help="Host name that phones use; default: the fleet's code, as CODE.local.")
@click.option("--lan/--no-lan", default=True, help="Open to the local network, or to this PC alone.")
@click.option("--code/--no-code", default=True, help="Show a first pairing code here.")
def serve(
    fleet: Path, backlog: Path, *, code: bool, desk_lan: bool, desk_password_file: Path | None, **asked: Any
) -> None:
    """Open the door to the phones, and the desk on this PC. Ctrl-C stops it."""
    if desk_password_file is not None and not desk_lan:
        raise click.UsageError("--desk-password-file is for --desk-lan")
    password = _desk_password(backlog, desk_password_file) if desk_lan else None
    wanted = Wanted(fleet, backlog, desk_password=password, **asked)
    if (wanted.certificate is None) != (wanted.key is None):
        raise click.UsageError("--cert and --key go together")
    _log_to_stderr()
    door = Open(wanted, now, os.urandom)
    door.run(lambda opened: _tell(opened, door, code=code))
    click.echo("Stopped; everything that was taken is kept.")


def _desk_password(backlog: Path, file: Path | None) -> Password:
    """As given in a file, as kept, or asked for twice; its hash is kept, and it never stands on a command line."""
    path = door_folder(backlog) / "desk-password.json"
    kept = Password.kept(path) if file is None else None
    if kept is not None:
        return kept
    if file is not None:
        text = read_password(file)
    elif sys.stdin.isatty():
        text = click.prompt("Password for the desk, twelve letters or more", hide_input=True, confirmation_prompt=True)
    else:
        raise DeskError("no password for the desk is kept yet; set one on a terminal, or by --desk-password-file FILE")
    made = Password.made(text, os.urandom)
    made.keep(path)
    return made


def _tell(opened: Opened, door: Open, *, code: bool) -> None:
    lines = [
        f"{opened.fleet}, edition {opened.edition}",
        f"Desk, on this PC:   {opened.desk}",
        *([f"Desk, elsewhere:    {opened.desk_elsewhere}"] if opened.desk_elsewhere else []),
        f"Phones pair at:     {opened.phones}",
        f"Phones open:        {opened.app}",
    ]
    if opened.trust:
        lines.append(f"First, once each:   {opened.trust}  (the page shows these lines, or stop:)")
        lines += [f"                    {line}" for line in pairs(opened.fingerprint)]
    others = [address for address in opened.places.addresses if address != "127.0.0.1"]
    if others:
        lines.append(f"By address, if the name is not found: {', '.join(others)}")
    for line in (*lines, *opened.warnings):
        click.echo(line)
    if code:
        _tell_code(opened, door)
    click.echo("Ctrl-C stops it.")
    sys.stdout.flush()


def _tell_code(opened: Opened, door: Open) -> None:
    made = door.pairing.new_code()
    click.echo(f"Pairing code, for one phone until {made.until:%H:%M}: {shown(made.text)}")
    if sys.stdout.isatty():
        segno.make(f"{opened.app}#/pair/{made.text}", error="m", micro=False).terminal(compact=True)


def _log_to_stderr() -> None:
    """One line an event. Tokens, codes and tracebacks have no place in it."""
    handler = logging.StreamHandler()
    handler.setFormatter(_Line("%(asctime)s %(message)s", "%H:%M:%S"))
    for name, level in (("driptray", logging.INFO), ("uvicorn", logging.ERROR)):
        logger = logging.getLogger(name)
        logger.handlers[:] = [handler]
        logger.propagate = False
        logger.setLevel(level)
    logging.getLogger("asyncio").setLevel(logging.CRITICAL)  # a phone that walks out of reach is no event
    logging.getLogger("zeroconf").setLevel(logging.CRITICAL)


class _Line(logging.Formatter):
    def formatException(self, ei: object) -> str:  # noqa: ARG002 the base's own name
        return ""
