"""Edition and templates -> the app's files as {path: bytes}. Pure: reads no disk, knows no clock."""

import re
from collections.abc import Mapping
from posixpath import dirname, join, normpath
from typing import Any

from jinja2 import DictLoader, Environment, StrictUndefined, TemplateError

from builder.edition import Edition
from builder.errors import BuildError

#: What is filled in; every other file goes as it stands.
RENDERED = (".html", ".webmanifest")
EDITION = "edition.json"
START = "js/main.js"
_IMPORT = re.compile(r'^import [^;]*?from "(\.[^"]+)";', re.MULTILINE)


def render(edition: bytes, read: Edition, templates: Mapping[str, bytes]) -> dict[str, bytes]:
    """Every file of the app but the worker's list, which assets.finish() adds.

    `edition` is the compiled bytes and goes in untouched; `read` is the same, read; `templates` is path -> bytes
    of the app's folder. Raises BuildError for a template that cannot be filled in.
    """
    texts = {path: data.decode() for path, data in templates.items() if path.endswith(RENDERED)}
    environment = environment_of(texts)
    values: dict[str, Any] = {
        "name": read.name,
        "code": read.code,
        "language": read.language,
        "edition": read.fingerprint,
    }
    values["modules"] = modules_from(START, templates)
    filled = {path: fill(environment, path, values) for path in texts}
    return {**templates, **filled, EDITION: edition}


def modules_from(path: str, templates: Mapping[str, bytes]) -> list[str]:
    """The modules that one imports at its start, itself first, so that a page can ask for all of them at once."""
    found = [path]
    for module in found:
        if module not in templates:
            raise BuildError(f"{module}: imported, but not among the app's files")
        for target in _IMPORT.findall(templates[module].decode()):
            place = normpath(join(dirname(module), target))
            if place not in found:
                found.append(place)
    return found


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
