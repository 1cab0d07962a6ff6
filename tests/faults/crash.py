"""Cuts the taking in at counted points and demands the same end as an uninterrupted run. By hand: 1,000 points.

    python -m tests.faults.crash 1000

Killed at calls and at statements, with writes torn in half, and with the disk full from a point on.
"""

import os
import random
import shutil
import subprocess
import sys
import tempfile
import traceback
from collections.abc import Callable
from pathlib import Path

from sync import store_file
from tests.faults.points import FULL, KILL, OFF, TORN, Points, built
from tests.faults.scenario import Scenario

ROOT = Path(__file__).resolve().parent.parent.parent


def in_child(points: Points, action: Callable[[], None], log: Path) -> int:
    """Run in a forked child; its wait status. Whatever it raises is in the log."""
    child = os.fork()
    if child == 0:
        try:
            action()
        except BaseException:
            points.arm(OFF, 0)
            log.write_text(traceback.format_exc())
            os._exit(1)
        os._exit(0)
    return os.waitpid(child, 0)[1]


class Cuts:
    """Runs of one scenario, each cut somewhere."""

    def __init__(self, work: Path) -> None:
        self.work = work
        self.scenario = Scenario(work)
        self.points = Points()
        whole = work / "whole"
        whole.mkdir()
        self.scenario.run(whole, lambda _: None)
        self.end = self.scenario.end_state(whole)
        assert self.end["whole"]

    def counted(self) -> tuple[int, int]:
        """(calls, statements) of an uninterrupted run."""
        folder, out = self._fresh("count"), self.work / "counts"

        def run() -> None:
            self.points.arm(FULL, 1 << 40)
            self.scenario.run(folder, lambda _: None, self.points.statement)
            out.write_text(f"{self.points.calls} {self.points.statements}")

        assert in_child(self.points, run, self.work / "log") == 0, (self.work / "log").read_text()
        calls, statements = out.read_text().split()
        return int(calls), int(statements)

    def cut(self, how: str, point: int) -> None:
        """One run cut, what it acknowledged looked for, then run again to the end."""
        folder, said = self._fresh("cut"), self.work / "said"
        said.write_text("")
        log = self.work / "log"
        status = in_child(self.points, lambda: self._armed(how, point, folder, said), log)
        acknowledged = said.read_text().splitlines()
        if how == "full":
            assert status == 0 or "StoreError" in log.read_text().splitlines()[-1], log.read_text()
        else:
            assert status in {9, 0}, (how, point, status, log.read_text())
        self.scenario.acknowledged_is_there(folder, acknowledged)
        self.scenario.run(folder, lambda _: None)
        assert self.scenario.end_state(folder) == self.end, (how, point)
        copies = list(folder.glob(f"*.before-step-{len(store_file.STEPS) + 1}"))
        assert len(copies) == 1, "the copy before the step was not kept"

    def _armed(self, how: str, point: int, folder: Path, said: Path) -> None:
        if how == "statement":
            self.points.arm_statements(point)
            self.scenario.run(folder, telling(said), self.points.statement)
        else:
            self.run_armed({"kill": KILL, "torn": TORN, "full": FULL}[how], point, folder, said)

    def run_armed(
        self, how: int, point: int, folder: Path, said: Path, before_death: Callable[[], None] | None = None
    ) -> None:
        self.points.arm(how, point, before_death)
        self.scenario.run(folder, telling(said))

    def _fresh(self, name: str) -> Path:
        folder = self.work / name
        shutil.rmtree(folder, ignore_errors=True)
        folder.mkdir()
        return folder


def telling(said: Path) -> Callable[[str], None]:
    """What is acknowledged goes into a file, by a call that is not among those counted."""

    def say(text: str) -> None:
        handle = os.open(said, os.O_WRONLY | os.O_APPEND)
        os.writev(handle, [text.encode() + b"\n"])
        os.close(handle)

    return say


def spread(most: int, count: int, dice: random.Random) -> list[int]:
    """Points over a run: every one where there are few, else as many as asked, one from each equal stretch."""
    if count >= most:
        return list(range(1, most + 1))
    return [dice.randrange(n * most // count, (n + 1) * most // count) + 1 for n in range(count)]


def main(count: int) -> None:
    """Cut `count` times in all; says what was done."""
    with tempfile.TemporaryDirectory() as folder:
        cuts = Cuts(Path(folder))
        calls, statements = cuts.counted()
        dice = random.Random(count)
        share = max(1, count // 4)
        plan = [(how, point) for how in ("kill", "torn", "full") for point in spread(calls, share, dice)]
        plan += [("statement", point) for point in spread(statements, share, dice)]
        for how, point in plan:
            cuts.cut(how, point)
        print(f"{len(plan)} cuts among {calls} calls and {statements} statements: the same end after each.")


def started(module: str, arguments: list[str]) -> subprocess.CompletedProcess[str]:
    """A module of these run with the counting library loaded before the C library."""
    with tempfile.TemporaryDirectory() as folder:
        environment = {**os.environ, "LD_PRELOAD": str(built(Path(folder)))}
        command = [sys.executable, "-m", module, *arguments]
        return subprocess.run(command, env=environment, cwd=ROOT, capture_output=True, text=True, check=False)


if __name__ == "__main__":
    if "LD_PRELOAD" not in os.environ:
        done = started("tests.faults.crash", sys.argv[1:])
        print(done.stdout, done.stderr, sep="", end="")
        sys.exit(done.returncode)
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
