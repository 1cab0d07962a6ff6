"""Cut anywhere, run again: a sample of what `python -m tests.faults.crash 1000` does by hand."""

import re

from tests.faults.crash import started


def test_a_sample_of_cuts_ends_like_an_uninterrupted_run() -> None:
    """Killed at calls and statements, writes torn, disk full: what was acknowledged is there, the end is the same."""
    done = started("tests.faults.crash", ["48"])
    assert done.returncode == 0, done.stdout + done.stderr
    assert re.match(r"48 cuts among \d+ calls and \d+ statements: the same end after each\.", done.stdout)
