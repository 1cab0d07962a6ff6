"""A sheet of QR labels, one a vehicle: the label's address opens that vehicle's walk-round. Pure."""

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlsplit

import segno
from markupsafe import Markup

from builder.edition import Edition, EditionVehicle
from builder.errors import BuildError
from builder.render import environment_of, fill

SHEET = "labels.html"


@dataclass(frozen=True)
class Label:
    """One vehicle's label; `code` is an inline SVG with its own quiet zone."""

    id: str
    name: str
    kind: str
    location: str
    address: str
    code: Markup


def label_sheet(edition: Edition, base: str, templates: Mapping[str, str]) -> bytes:
    """The sheet as one HTML file for A4, vehicles in order of id.

    `base` is the address the app is opened from; `templates` is name -> text of the print folder.
    Raises BuildError for a base that is no such address.
    """
    folder = _base(base)
    labels = [_label(vehicle, folder) for vehicle in edition.vehicles]
    values = {"fleet": edition.name, "language": edition.language, "base": folder, "labels": labels}
    return fill(environment_of(templates), SHEET, values)


def _base(base: str) -> str:
    parts = urlsplit(base.strip())
    if parts.scheme not in ("https", "http") or not parts.hostname or parts.query or parts.fragment:
        raise BuildError(f'"{base}": expected the address phones open the app from, like https://host/folder/')
    return base.strip().removesuffix("index.html").rstrip("/") + "/"


def _label(vehicle: EditionVehicle, base: str) -> Label:
    address = f"{base}#/v/{vehicle.id}"
    # Level Q: a quarter may be lost under oil and scratches and it still reads.
    svg = segno.make(address, error="q", micro=False).svg_inline(border=4, omitsize=True, dark="#000", light="#fff")
    return Label(vehicle.id, vehicle.name, vehicle.kind, vehicle.location, address, Markup(svg))  # noqa: S704 segno's own SVG
