"""Keeps what people wrote from being run by a spreadsheet, or from breaking the file that carries it.

Spreadsheets run a cell that begins with one of these characters, quoted or not; an apostrophe before it makes it
text. The full-width forms count too where the spreadsheet speaks Japanese or Chinese. (OWASP, "CSV Injection";
from memory.)
"""

import re

_LAST_TWO = "".join(chr(plane << 16 | low) for plane in range(17) for low in (0xFFFE, 0xFFFF))
#: What XML or HTML may not hold: controls but tab and line ends, lone surrogates, the planes' non-characters.
UNPRINTABLE = re.compile(f"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\ufdd0-\ufdef\ud800-\udfff{_LAST_TWO}]")
FORMULA_STARTS = ("=", "+", "-", "@", "\t", "\r", "\n", "＝", "＋", "－", "＠")


def as_text(value: str) -> str:
    """`value`, with an apostrophe before it where a spreadsheet would run it; leading blanks do not hide a formula."""
    if not value or value[0].isalnum():  # nearly every cell
        return value
    runs = value.startswith(FORMULA_STARTS) or value.lstrip().startswith(FORMULA_STARTS)
    return f"'{value}" if runs else value


def printable(text: str) -> str:
    """`text` with a replacement character for each one that a file for people cannot hold."""
    return text if text.isprintable() else UNPRINTABLE.sub("\ufffd", text)
