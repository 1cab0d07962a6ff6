"""check, build and labels: the builder's part of the command line, mounted by its root."""

import json
from pathlib import Path

import click

from builder.assets import finish
from builder.edition import Edition, compile_edition, read_edition
from builder.errors import FleetError
from builder.guide import FOLDER, guide_files
from builder.labels import label_sheet
from builder.load import load_fleet
from builder.render import render
from builder.shrink import shrink
from builder.write import write_file, write_site

WEB_TEMPLATES = Path(__file__).resolve().parent.parent / "web_templates"
#: Where `driptray serve` has phones open the app unless told otherwise.
DOOR_PORT = 8443

_FLEET = click.argument("fleet", type=click.Path(path_type=Path))


@click.command()
@_FLEET
@click.option("--json", "as_json", is_flag=True, help="The mistakes as JSON.")
def check(fleet: Path, as_json: bool) -> None:
    """Tell every mistake in the fleet files, at once."""
    try:
        edition = _edition(fleet)[1]
    except FleetError as error:
        if as_json:
            click.echo(json.dumps({"mistakes": list(error.mistakes)}, ensure_ascii=False))
        raise
    if as_json:
        click.echo(json.dumps({"mistakes": []}))
    else:
        click.echo(f"{edition.name}: {_counted(edition)}, no mistakes.")


@click.command()
@_FLEET
@click.option("--out", type=click.Path(path_type=Path), required=True, help="Folder for the app.")
def build(fleet: Path, out: Path) -> None:
    """Build the phone app."""
    files = app_files(fleet)
    write_site(out, files)
    size = sum(map(len, files.values()))
    click.echo(f"{out}: {len(files)} files, {size / 1000:.0f} kB. Any HTTPS host can serve this folder.")


@click.command()
@_FLEET
@click.option("--out", type=click.Path(path_type=Path), required=True, help="HTML file for the sheet, A4.")
@click.option("--base", help="Address that phones open the app from; default: the door's.")
def labels(fleet: Path, out: Path, base: str | None) -> None:
    """Print a sheet of QR labels, one a vehicle."""
    edition = _edition(fleet)[1]
    address = base or f"https://{edition.code}.local:{DOOR_PORT}/"
    write_file(out, label_sheet(edition, address, _texts("print")))
    click.echo(f"{out}: {len(edition.vehicles)} labels for an app opened from {address}", err=True)
    if base is None:
        click.echo("Phones that open it from another address need labels made with --base.", err=True)


def app_files(fleet: Path) -> dict[str, bytes]:
    """The finished app of a fleet's folder, as {path: bytes}. Raises FleetError or BuildError."""
    compiled, edition = _edition(fleet)
    guide = {f"{FOLDER}{path}": data for path, data in _tree(WEB_TEMPLATES / "guide").items()}
    app = render(compiled, edition, _tree(WEB_TEMPLATES / "app"))
    return finish(shrink({**app, **guide_files(guide)}))


def _edition(fleet: Path) -> tuple[bytes, Edition]:
    compiled = compile_edition(load_fleet(fleet))
    return compiled, read_edition(compiled)


def _tree(folder: Path) -> dict[str, bytes]:
    paths = sorted(path for path in folder.rglob("*") if path.is_file())
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in paths}


def _texts(name: str) -> dict[str, str]:
    folder = WEB_TEMPLATES / name
    return {path.name: path.read_text("utf-8") for path in sorted(folder.glob("*.html"))}


def _counted(edition: Edition) -> str:
    return f"{len(edition.vehicles)} vehicles, {len(edition.checks)} checks, edition {edition.fingerprint}"
