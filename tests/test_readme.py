"""What the README and the contributors' guide tell people to type is there and takes those options."""

import re
import shlex
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from sync.cli import main

ROOT = Path(__file__).resolve().parent.parent
TEXTS = ("README.md", "DEVELOPERS.md")
COMMAND = re.compile(r"driptray ([a-z][a-z-]*)([^\n`#]*)")


def told() -> list[tuple[str, list[str]]]:
    """(command, words after it) of every driptray command in the guides."""
    found = [match for name in TEXTS for match in COMMAND.finditer((ROOT / name).read_text("utf-8"))]
    return sorted({(m[1], tuple(shlex.split(m[2].split(";")[0].strip().rstrip(",.")))) for m in found})


@pytest.mark.parametrize(
    ("name", "words"), told(), ids=lambda value: value if isinstance(value, str) else " ".join(value)
)
def test_a_command_that_is_told_exists_and_has_the_options_told(name: str, words: tuple[str, ...]) -> None:
    with click.Context(main) as context:
        command = main.get_command(context, name)
    assert command is not None
    known = {option for parameter in command.params for option in (*parameter.opts, *parameter.secondary_opts)}
    assert {word for word in words if word.startswith("--")} <= known | {"--help"}


def test_every_command_is_told_in_the_readme() -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    with click.Context(main) as context:
        assert [name for name in main.list_commands(context) if f"driptray {name}" not in text] == []


def test_every_command_says_what_it_does() -> None:
    with click.Context(main) as context:
        names = main.list_commands(context)
    assert [name for name in names if CliRunner().invoke(main, [name, "--help"]).exit_code != 0] == []


def test_every_picture_and_link_of_the_guides_leads_somewhere() -> None:
    text = "".join((ROOT / name).read_text("utf-8") for name in TEXTS)
    paths = re.findall(r'src="([^"]+)"', text) + re.findall(r"\]\(([^)#:]+)\)", text)
    assert [path for path in paths if not (ROOT / path).exists()] == []
