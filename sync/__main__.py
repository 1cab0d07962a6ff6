"""`python -m sync` is `driptray`."""

from sync.cli import run

run()
