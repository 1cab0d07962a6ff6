"""verify, carry, backup: whether the backlog is whole, what the phones take out again, and a copy to go on from."""

from datetime import date
from pathlib import Path

import click

from builder.write import write_file
from sync.backup import back_up
from sync.carry import carry as carried
from sync.commands_common import as_of_option, backlog_option, json_option, now, opened, serving
from sync.printing import counted, print_json, print_line, say
from sync.verifying import verify as verified

_OUT = click.Path(path_type=Path, dir_okay=False)


@click.command()
@backlog_option
@click.option("--rebuild", is_flag=True, help="Make everything that is derived anew from the log.")
@json_option
def verify(backlog_path: Path, rebuild: bool, as_json: bool) -> int:
    """Fold the whole log again and compare; check every entry's and every photo's hash."""
    if rebuild:
        with serving(backlog_path) as service:
            service.rebuild()
    with opened(backlog_path) as store:
        verdict = verified(store)
    if as_json:
        print_json(verdict)
    else:
        for wrong in (*verdict.file, *verdict.lines, *verdict.pictures, *verdict.derived):
            say(wrong)
        if verdict.derived:
            say("What is derived can be made anew: driptray verify --rebuild")
        found = "all as the log says" if verdict.whole else "not as the log says"
        print_line(f"{counted(verdict.entries, 'entry', 'entries')}, {counted(verdict.photos, 'photo')}: {found}.")
    return 0 if verdict.whole else 1


@click.command()
@backlog_option
@click.option("--out", type=_OUT, required=True, help="The file, to be opened in the app on each phone.")
@as_of_option
def carry(backlog_path: Path, out: Path, as_of: date) -> None:
    """Write the known defects as a file for phones that do not use the door."""
    with opened(backlog_path) as store:
        write_file(out, carried(store, as_of, now()))
        open_defects = len(store.defects())
    print_line(f"{out}: {counted(open_defects, 'known defect')}.")


@click.command()
@backlog_option
@click.option("--out", type=_OUT, required=True, help="The copy, best on another disk; its photos go beside it.")
def backup(backlog_path: Path, out: Path) -> None:
    """Copy the backlog and its photos. Phones let go of photos only once a copy holds them."""
    with opened(backlog_path) as store:
        copied = back_up(store, out, now())
    print_line(f"{out}: {counted(copied.entries, 'entry', 'entries')}, {counted(copied.photos, 'photo')}.")
    for photo in copied.left_out:
        say(f"left out: the photo {photo[:12]}…, lacking or damaged here; `driptray verify` says more")
