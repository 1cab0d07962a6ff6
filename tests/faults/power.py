"""The power cut: a run on an ext4 image, of which only what had reached the disk is left. Needs root, loop mounts.

    python -m tests.faults.power 100

At a counted point the image's file is copied as it stands: what the file system still held in memory is not in it. The
copy is mounted as after a power cut, what was acknowledged is looked for, and the run goes on from there to its end.
"""

import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from tests.faults.crash import Cuts, in_child, spread, started
from tests.faults.points import KILL

_SIZE = "48M"


def run(*command: str | Path) -> None:
    subprocess.run([str(part) for part in command], check=True, capture_output=True)


@contextmanager
def mounted(image: Path, at: Path) -> Iterator[Path]:
    at.mkdir(exist_ok=True)
    run("mount", "-o", "loop", image, at)
    try:
        yield at
    finally:
        run("umount", "-l", at)  # a failed check may still hold a file open


def cut(cuts: Cuts, point: int) -> bool:
    """One power cut; whether the run had got that far."""
    image, left, said = cuts.work / "disk.img", cuts.work / "left.img", cuts.work / "said"
    shutil.copyfile(cuts.work / "empty.img", image)
    left.unlink(missing_ok=True)
    said.write_text("")

    def freeze() -> None:
        subprocess.run(["cp", "--sparse=always", image, left], check=True)

    with mounted(image, cuts.work / "disk") as disk:
        (disk / "shed").mkdir()
        os.sync()
        in_child(cuts.points, lambda: cuts.run_armed(KILL, point, disk / "shed", said, freeze), cuts.work / "log")
    if not left.exists():
        return False
    with mounted(left, cuts.work / "disk") as disk:
        cuts.scenario.acknowledged_is_there(disk / "shed", said.read_text().splitlines())
        cuts.scenario.run(disk / "shed", lambda _: None)
        assert cuts.scenario.end_state(disk / "shed") == cuts.end, point
    return True


def main(count: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        cuts = Cuts(Path(folder))
        empty = cuts.work / "empty.img"
        run("truncate", "-s", _SIZE, empty)
        run("mkfs.ext4", "-q", "-F", empty)
        calls, _ = cuts.counted()
        points = spread(calls, count, random.Random(count))
        done = sum(cut(cuts, point) for point in points)
        print(
            f"{done} power cuts among {calls} calls on ext4: nothing acknowledged was missing, the same end after each."
        )


if __name__ == "__main__":
    if "LD_PRELOAD" not in os.environ:
        finished = started("tests.faults.power", sys.argv[1:])
        print(finished.stdout, finished.stderr, sep="", end="")
        sys.exit(finished.returncode)
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
