"""The command line, root of `driptray`: which commands there are, and how an end is told."""

import importlib
import importlib.util
import os
import sys
from collections.abc import Sequence

import click

from builder.errors import DriptrayError
from sync import mishaps

#: Command -> (module, name in it). Each is imported when it is asked for: starting stays quick, and a part that is not
#: installed is missed only by its own command.
COMMANDS = {
    "demo": ("sync.commands_demo", "demo"),
    "check": ("builder.commands", "check"),
    "build": ("builder.commands", "build"),
    "labels": ("builder.commands", "labels"),
    "serve": ("sync.commands_serve", "serve"),
    "take-in": ("sync.commands_backlog", "take_in"),
    "conflicts": ("sync.commands_backlog", "conflicts"),
    "settle": ("sync.commands_backlog", "settle"),
    "backlog": ("sync.commands_backlog", "backlog"),
    "plan": ("sync.plan.command", "plan"),
    "export": ("sync.exports.command", "export"),
    "carry": ("sync.commands_keep", "carry"),
    "exchange": ("sync.commands_exchange", "exchange"),
    "reckon": ("sync.reckon", "reckon"),
    "verify": ("sync.commands_keep", "verify"),
    "backup": ("sync.commands_keep", "backup"),
}


class Root(click.Group):
    """The group of all commands."""

    def list_commands(self, ctx: click.Context) -> list[str]:  # noqa: ARG002 - click's own signature
        """In the order of a season's work; those whose module is there."""
        return [name for name in COMMANDS if _found(COMMANDS[name][0])]

    def get_command(self, ctx: click.Context, cmd_name: str) -> click.Command | None:  # noqa: ARG002 - as above
        if cmd_name not in COMMANDS or not _found(COMMANDS[cmd_name][0]):
            return None
        module, name = COMMANDS[cmd_name]
        command: click.Command = getattr(importlib.import_module(module), name)
        return command


@click.group(cls=Root, name="driptray", context_settings={"help_option_names": ["-h", "--help"]})
@click.version_option(package_name="driptray", prog_name="driptray")
def main() -> None:
    """Walk-round inspection on phones without a signal, merged into one workshop backlog."""


def run(arguments: Sequence[str] | None = None) -> None:
    """`driptray`: exit 0 done; 1 the input is at fault, said in a line; 2 usage. Nobody ever sees a traceback."""
    sys.exit(ended(arguments))


def ended(arguments: Sequence[str] | None = None) -> int:
    """Run a command line; its exit code."""
    try:
        done = main.main(
            args=None if arguments is None else list(arguments), prog_name="driptray", standalone_mode=False
        )
    except click.ClickException as error:
        error.show()
        return error.exit_code
    except BrokenPipeError:  # whoever was reading has heard enough
        _let_go_of_stdout()
        return 0
    except (Exception, KeyboardInterrupt) as error:
        click.echo(f"driptray: {_told(error)}", err=True)
        return 1
    return done if isinstance(done, int) else 0


def _told(error: BaseException) -> str:
    if isinstance(error, (click.Abort, KeyboardInterrupt)):
        return "stopped; what was said to be taken is kept"
    if isinstance(error, DriptrayError):
        return str(error)
    if isinstance(error, OSError):
        where = f"{error.filename}: " if error.filename else ""
        return f"{where}{error.strerror or error}"
    return mishaps.told(error, " ".join(sys.argv))


def _let_go_of_stdout() -> None:
    """So that the interpreter does not try to flush it once more on its way out."""
    os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _found(module: str) -> bool:
    try:
        return importlib.util.find_spec(module) is not None
    except ModuleNotFoundError:
        return False
