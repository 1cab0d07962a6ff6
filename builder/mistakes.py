"""One mistake in the fleet files, and how it is told."""

from dataclasses import dataclass
from typing import Any

from pydantic import ValidationError

_LONGEST = 80
_INPUTLESS = {"missing"}


@dataclass(frozen=True, order=True)
class Mistake:
    """A file, a key path in it, what was found and what was expected."""

    file: str
    key: str
    found: str
    expected: str

    def __str__(self) -> str:
        where = f"{self.file}: {self.key}" if self.key else self.file
        return f"{where}: found {self.found}; expected {self.expected}"


def shown(value: object) -> str:
    """A value as a person would recognise it in their file, cut to a line's worth."""
    text = f'"{value}"' if isinstance(value, str) else str(value)
    text = " ".join(text.split())
    return text if len(text) <= _LONGEST else text[: _LONGEST - 1] + "…"


def key_path(data: object, loc: tuple[int | str, ...]) -> str:
    """A pydantic location as a key path; list items are called by their id where they have one."""
    path = ""
    for part in loc:
        if isinstance(part, int) and isinstance(data, (list, tuple)):
            data = data[part] if part < len(data) else None
            name = data.get("id") if isinstance(data, dict) else None
            path += f"[{name}]" if isinstance(name, str) else f"[{part + 1}]"
        elif isinstance(data, dict):
            data = data.get(part)
            path += ("." if path else "") + str(part)
    return path


def from_pydantic(file: str, data: object, error: ValidationError) -> list[Mistake]:
    """Every error of a failed validation as a mistake."""
    told: dict[tuple[str, str], Mistake] = {}
    for item in error.errors(include_url=False):
        key = key_path(data, item["loc"])
        found = "nothing" if item["type"] in _INPUTLESS else shown(item["input"])
        if item["type"] == "extra_forbidden":
            mistake = Mistake(file, key, "an unknown key", "one of the keys that fleet files have")
        else:
            mistake = Mistake(file, key, found, _expected(item["type"], item["msg"], item.get("ctx", {})))
        kept = told.get((file, key))
        # A union complains once for each of its members; one line says it.
        told[(file, key)] = mistake if kept is None else _joined(kept, mistake)
    return list(told.values())


def _expected(kind: str, message: str, context: dict[str, Any]) -> str:
    if kind == "missing":
        return "a value: this key is required"
    if kind == "literal_error":
        return f"one of {context['expected']}"
    text = message.removeprefix("Value error, expected ").removeprefix("Input should be ")
    return text[0].lower() + text[1:]


def _joined(kept: Mistake, also: Mistake) -> Mistake:
    if also.expected in kept.expected:
        return kept
    return Mistake(kept.file, kept.key, kept.found, f"{kept.expected}, or {also.expected}")
