"""Edition and templates -> the app's files as {path: bytes}. Pure: reads no disk, knows no clock."""

from collections.abc import Mapping
from typing import Any

from jinja2 import DictLoader, Environment, StrictUndefined, TemplateError

from builder.edition import Edition
from builder.errors import BuildError

#: What is filled in; every other file goes as it stands.
RENDERED = (".html", ".webmanifest")
EDITION = "edition.json"


def render(edition: bytes, read: Edition, templates: Mapping[str, bytes]) -> dict[str, bytes]:
    """Every file of the app but the worker's list, which assets.finish() adds.

    `edition` is the compiled bytes and goes in untouched; `read` is the same, read; `templates` is path -> bytes
    of the app's folder. Raises BuildError for a template that cannot be filled in.
    """
    texts = {path: data.decode() for path, data in templates.items() if path.endswith(RENDERED)}
    environment = environment_of(texts)
    values = {"name": read.name, "code": read.code, "language": read.language, "edition": read.fingerprint}
    filled = {path: fill(environment, path, values) for path in texts}
    return {**templates, **filled, EDITION: edition}


def environment_of(texts: Mapping[str, str]) -> Environment:
    """Autoescape for every file, and no silent blanks for values nobody gave."""
    return Environment(
        loader=DictLoader(texts),
        autoescape=True,
        undefined=StrictUndefined,
        keep_trailing_newline=True,
        trim_blocks=True,
        lstrip_blocks=True,
    )


def fill(environment: Environment, path: str, values: Mapping[str, Any]) -> bytes:
    """One template filled in. Raises BuildError naming it."""
    try:
        return environment.get_template(path).render(values).encode()
    except TemplateError as error:
        raise BuildError(f"{path}: this template cannot be filled in: {error}") from error
