"""The known defects that the workshop sends back, by its own commands."""

import subprocess
import sys
import tempfile
from pathlib import Path


def carry_from(hand_in: Path, fleet: Path, out: Path, as_of: str) -> None:
    """Take a hand-in into a fresh backlog and write what the phones take out again."""
    with tempfile.TemporaryDirectory() as name:
        backlog = str(Path(name) / "backlog.db")
        driptray("take-in", str(hand_in), "--fleet", str(fleet), "--backlog", backlog)
        driptray("carry", "--backlog", backlog, "--out", str(out), "--as-of", as_of)


def driptray(*arguments: str) -> None:
    subprocess.run([sys.executable, "-m", "sync", *arguments], check=True, stdout=sys.stderr)
