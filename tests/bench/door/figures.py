"""What every bench of the door says of where and when it ran."""

import os
import platform
import sqlite3
from collections.abc import Sequence
from datetime import UTC, datetime


def machine() -> str:
    cores, load = os.cpu_count(), os.getloadavg()[0]
    versions = f"Python {platform.python_version()}, SQLite {sqlite3.sqlite_version}"
    return f"{datetime.now(UTC):%Y-%m-%d %H:%M} UTC, {cores} cores ({platform.machine()}), {versions}, load {load:.1f}"


def percentile(values: Sequence[float], part: float) -> float:
    ordered = sorted(values)
    return ordered[min(len(ordered) - 1, int(part * len(ordered)))]
