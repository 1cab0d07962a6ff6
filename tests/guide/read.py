"""The guide's sources as a reader sees them: commands, example files, pictures, links."""

import html
import re
from pathlib import Path

from builder.guide import CHAPTERS, FOLDER
from sync.pages import TEMPLATES

_COMMANDS = re.compile(r'<pre[^>]* class="run"><code>(.*?)</code></pre>', re.DOTALL)
_FILE = re.compile(r'<pre[^>]* class="file" data-file="([^"]+)"><code>(.*?)</code></pre>', re.DOTALL)
_SHOT = re.compile(r'shot\("([a-z-]+)", "([^"]+)"\)')


def source(slug: str) -> str:
    return (TEMPLATES / FOLDER / f"{slug}.html").read_text("utf-8")


def commands(slug: str) -> list[str]:
    """The command lines of a chapter, in the order of reading."""
    found = [line for block in _COMMANDS.findall(source(slug)) for line in html.unescape(block).splitlines()]
    return [line for line in found if line.strip()]


def write_example(folder: Path) -> Path:
    """The template chapter's whole small example, written as it tells its reader to; the fleet's folder."""
    for name, text in _FILE.findall(source("template")):
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(html.unescape(text), "utf-8")
    return folder / "fleet"


def pictures() -> dict[str, str]:
    """Name -> what its reader is told that it shows."""
    return {name: told for chapter in CHAPTERS for name, told in _SHOT.findall(source(chapter.slug))}
