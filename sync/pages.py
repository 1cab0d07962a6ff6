"""The workshop side's one template environment: what is exported, printed and shown at the desk is made with it."""

from functools import cache
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

import builder
from sync.exports.guard import printable
from sync.paper.qr import qr
from sync.paper.stencil import STROKE, TALL, lettering
from sync.paper.words import number

#: Beside the packages, in the checkout as in the wheel.
TEMPLATES = Path(builder.__file__).parent.parent / "web_templates"


@cache
def environment() -> Environment:
    """Templates by their path under web_templates; everything is escaped, and a name that is not given is an error."""
    made = Environment(
        loader=FileSystemLoader(TEMPLATES),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        finalize=_finished,
    )
    made.globals.update(lettering=lettering, stencil_stroke=STROKE, stencil_tall=TALL, qr=qr)
    made.filters["moment"] = moment
    made.filters["figure"] = number
    return made


def moment(at: str) -> str:
    """An RFC 3339 time as people read it, to the minute, in the clock it was written by."""
    return at[:16].replace("T", " ")


def _finished(value: object) -> object:
    return printable(value) if type(value) is str else value
