"""The points at which a run may be cut: calls that change the disk (counted in C) and SQL statements (counted here)."""

import ctypes
import os
import signal
import subprocess
import sysconfig
from collections.abc import Callable
from pathlib import Path

HERE = Path(__file__).resolve().parent
OFF, KILL, TORN, FULL = 0, 1, 2, 3
Hook = ctypes.CFUNCTYPE(None)


def built(folder: Path) -> Path:
    """The counting library, compiled."""
    library = folder / "points.so"
    compiler = os.environ.get("CC") or (sysconfig.get_config_var("CC") or "cc").split()[0]
    source = HERE / "points.c"
    subprocess.run([compiler, "-shared", "-fPIC", "-O1", "-o", library, source, "-ldl"], check=True)
    return library


class Points:
    """The library as it was loaded with this process."""

    def __init__(self) -> None:
        self._library = ctypes.CDLL(os.environ["LD_PRELOAD"])
        self._library.points_count.restype = ctypes.c_long
        self._library.points_arm.argtypes = [ctypes.c_int, ctypes.c_long, Hook]
        self._hook: object = None
        self._statements = 0
        self._die_at = 0

    def arm(self, how: int, point: int, before_death: Callable[[], None] | None = None) -> None:
        """From here on: die at the point-th call, half of a write done (TORN), or find the disk full (FULL)."""
        self._hook = Hook(before_death) if before_death else Hook()
        self._library.points_arm(how, point, self._hook)

    def arm_statements(self, point: int) -> None:
        self._statements, self._die_at = 0, point

    def statement(self, _: str) -> None:
        """SQLite's trace of one statement."""
        self._statements += 1
        if self._statements == self._die_at:
            os.kill(os.getpid(), signal.SIGKILL)

    @property
    def calls(self) -> int:
        return int(self._library.points_count())

    @property
    def statements(self) -> int:
        return self._statements
