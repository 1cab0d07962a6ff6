"""What every trade calculation hands back: the answer in words, its numbers, and all it rests on."""

import math
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field
from typing import Any, Literal

from sync.errors import TradeError

Verdict = Literal["dangerous", "major", "minor", "advisory", "sound", "not judged"]

#: Gravest first; "not judged" is no verdict and stands last.
VERDICTS: tuple[Verdict, ...] = ("dangerous", "major", "minor", "advisory", "sound", "not judged")
MANUAL_FIRST = "Local rules, the maker's manual and licensed practice come first; this is a guide beside them."
NO_SOURCE = "common practice, no source"


@dataclass(frozen=True, slots=True)
class Figure:
    """One number of a calculation with its unit; `digits` is how many decimals are shown."""

    name: str
    value: float | str
    unit: str = ""
    digits: int = 1

    @property
    def text(self) -> str:
        """The value as a person reads it: "3.9 mm"; gravities keep their noughts, as hydrometers have them."""
        if isinstance(self.value, str):
            shown = self.value
        else:
            keep = self.unit == "SG"
            shown = f"{self.value:.{self.digits}f}" if keep else number(self.value, self.digits)
        return f"{shown} {self.unit}".strip()


@dataclass(frozen=True, slots=True)
class Missing:
    """A fact that the vehicle file lacks: its key under [facts], and what it would tell."""

    key: str
    what: str

    @property
    def text(self) -> str:
        return f"Add {self.key} under [facts] in the vehicle's file: {self.what}."


@dataclass(frozen=True)
class Reckoning:
    """One calculation, whole. `verdict` proposes; a person's severity stands above it.

    `cautions` always ends with the line that the maker's manual comes first, so that no page can show a
    number without it. `missing` names facts without which a part of the answer is left open.
    """

    subject: str
    headline: str
    verdict: Verdict
    formula: str
    source: str
    figures: tuple[Figure, ...] = ()
    inputs: tuple[Figure, ...] = ()
    assumptions: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()
    todo: tuple[str, ...] = ()
    missing: tuple[Missing, ...] = field(default=())

    def __post_init__(self) -> None:
        said = tuple(line for line in self.cautions if line != MANUAL_FIRST)
        object.__setattr__(self, "cautions", (*said, MANUAL_FIRST))

    def as_json(self) -> dict[str, Any]:
        """Plain values for `--json` and exports; figures keep full precision beside their text."""
        plain = asdict(self)
        for name in ("figures", "inputs", "missing"):
            plain[name] = [{**asdict(item), "text": item.text} for item in getattr(self, name)]
        return plain

    def lines(self) -> list[str]:
        """The calculation in plain lines, for the terminal and for Markdown."""
        parts = [self.headline, f"Verdict: {self.verdict}"]
        parts += [f"  {figure.name}: {figure.text}" for figure in self.figures]
        parts += _listed("From", [f"{figure.name}: {figure.text}" for figure in self.inputs])
        parts += [f"Formula: {self.formula}", f"Source: {self.source}"]
        parts += _listed("Assumed", self.assumptions)
        parts += _listed("Caution", self.cautions)
        parts += _listed("To do", self.todo)
        return parts + _listed("Missing", [fact.text for fact in self.missing])


def _listed(title: str, lines: Sequence[str]) -> list[str]:
    return [f"{title}:", *(f"  - {line}" for line in lines)] if lines else []


def number(value: float, digits: int = 1) -> str:
    """A number as people write it: at most `digits` decimals, no needless zeros, no minus before nought."""
    text = f"{value:.{digits}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text in {"-0", ""} else text


def gravest(verdicts: Sequence[Verdict]) -> Verdict:
    """The gravest of several verdicts; "not judged" only where nothing was judged."""
    return min(verdicts, key=VERDICTS.index, default="not judged")


def need(what: str, value: float, unit: str, least: float, most: float = math.inf) -> float:
    """The value itself where it is possible at all, bounds included.

    Raises TradeError that names the input, what was found and what is possible.
    """
    if math.isfinite(value) and least <= value <= most:
        return value
    tail = f" {unit}" if unit else ""
    possible = f"{least:g}{tail} or more" if math.isinf(most) else f"{least:g} to {most:g}{tail}"
    raise TradeError(f"{what} is {value:g}{tail}; possible is {possible}. Measure again.")


def positive(what: str, value: float, unit: str) -> float:
    """The value itself where it is above nought. Raises TradeError otherwise."""
    if math.isfinite(value) and value > 0:
        return value
    raise TradeError(f"{what} is {value:g} {unit}".rstrip() + "; possible is more than 0. Measure again.")
