"""Lists on a terminal: a table where a person looks, plain lines with tabs where a program does, JSON when asked."""

import sys
from collections.abc import Iterable, Sequence

import msgspec
from rich.console import Console
from rich.table import Table
from rich.text import Text

_STYLES = {"dangerous": "bold red", "stopped": "bold red", "major": "bold", "limited": "bold"}


def print_json(value: object) -> None:
    """One JSON value, indented, in UTF-8."""
    text = msgspec.json.format(msgspec.json.encode(value), indent=2).decode()
    sys.stdout.write(text + "\n")


def print_table(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    """Rows under their columns' names."""
    if sys.stdout.isatty():
        _print_framed(columns, rows)
        return
    print_line("\t".join(columns))
    for row in rows:
        print_line("\t".join(_plain(value) for value in row))


def print_line(text: str) -> None:
    """One line as it stands; what the terminal's own encoding lacks is shown as a question mark."""
    encoding = sys.stdout.encoding or "utf-8"
    sys.stdout.write(text.encode(encoding, "replace").decode(encoding) + "\n")


def say(text: str) -> None:
    """A remark beside the asked-for output."""
    encoding = sys.stderr.encoding or "utf-8"
    sys.stderr.write(text.encode(encoding, "replace").decode(encoding) + "\n")


def counted(number: int, one: str, many: str = "") -> str:
    """1 entry, 2 entries"""
    return f"{number} {one if number == 1 else many or one + 's'}"


def listed(ranges: Iterable[tuple[int, int]]) -> str:
    """3-7, 9"""
    return ", ".join(str(low) if low == high else f"{low}-{high}" for low, high in ranges)


def _print_framed(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> None:
    table = Table(box=None, header_style="bold", pad_edge=False, padding=(0, 2, 0, 0))
    for name in columns:
        table.add_column(name, overflow="fold", no_wrap=name in {"defect", "rank", "vehicle", "conflict", "entry"})
    for row in rows:
        table.add_row(*(Text(str(value), style=_STYLES.get(str(value), "")) for value in row))
    Console().print(table)


def _plain(value: object) -> str:
    return " ".join(str(value).split())
