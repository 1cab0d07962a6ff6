"""How long the merge takes beside what a user would take instead, all in one run; medians and ratios. By hand:

    python -m tests.bench.merge                        10k, 100k and 1M entries, three times each
    python -m tests.bench.merge --sizes 10000 --times 5

Each measurement is a process of its own, so that peak memory is its own too. To reach: ours at most 2.0 times floor A
at every size (aim: 1.0); time an entry at 1M at most 1.2 times that at 10k; at most 250 MB; 500 new entries into 1M at
most 10 times a bare insert of them, and at most 1.3 times the same into 10k.
"""

import argparse
import json
import os
import platform
import resource
import sqlite3
import statistics
import subprocess
import sys
import time
from collections.abc import Callable
from datetime import UTC, datetime
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory

from builder.edition import read_edition
from sync.service import Service
from sync.store import Store
from tests.bench.merge_data import hand_in, more, phones, write_files, write_fleet
from tests.bench.merge_peers import FLOOR, INSERT, OURS, PEERS, row, take_in

ROOT = Path(__file__).resolve().parent.parent.parent
NEW = 500


def prepare(folder: Path, size: int) -> Path:
    """The files of one size; and the 500 entries that come later."""
    here = folder / str(size)
    (here / "files").mkdir(parents=True)
    edition = write_fleet(here / "fleet")
    (here / "edition").write_bytes(edition)
    writers = phones(size, read_edition(edition).fingerprint)
    (here / "order").write_text("\n".join(map(str, write_files(here / "files", writers))))
    for number in range(3):
        (here / f"more-{number}.txt").write_bytes(hand_in(*more(writers, number, NEW)))
    return here


def measured(folder: Path, name: str) -> dict[str, float]:
    """One measurement in a process of its own."""
    command = [sys.executable, "-m", "tests.bench.merge", "--one", name, str(folder)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=True)
    return dict(json.loads(done.stdout))


def one(name: str, folder: Path) -> None:
    result = later(folder) if name == "later" else timed(PEERS[name](folder))
    result["peak"] = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps(result))


def timed(action: Callable[[], object]) -> dict[str, float]:
    """Seconds by the clock, and of processor time: on a busy machine the second says more."""
    start, spent = time.perf_counter(), time.process_time()
    action()
    return {"seconds": time.perf_counter() - start, "cpu": time.process_time() - spent}


def later(folder: Path) -> dict[str, float]:
    """Seconds for 500 new entries, into the store and bare, in a warm process; the best of three batches."""
    store = Store(folder / "ours.db")
    service = Service(store, lambda: datetime.now().astimezone(), os.urandom)
    paths = [folder / f"more-{number}.txt" for number in range(3)]
    take_in(service, paths[:1])
    spent: list[dict[str, float]] = []
    bare: list[dict[str, float]] = []
    with sqlite3.connect(folder / "floor-a.db") as connection:
        for path in paths[1:]:
            lines = [line for line in path.read_bytes().splitlines() if b'"kind"' in line]

            def insert(lines: list[bytes] = lines) -> None:
                connection.executemany(INSERT, [row(json.loads(line), line) for line in lines])
                connection.commit()

            spent.append(timed(partial(take_in, service, [path])))
            bare.append(timed(insert))
    return {f"{name} {kind}": min(result[kind] for result in results)
            for name, results in (("ours", spent), ("bare", bare)) for kind in ("seconds", "cpu")}  # fmt: skip


def main(sizes: list[int], times: int) -> None:
    now = datetime.now(UTC)
    print(f"{now:%Y-%m-%d}, {platform.machine()}, {os.cpu_count()} processors, Python {platform.python_version()}, "
          f"SQLite {sqlite3.sqlite_version}; medians of {times}; ratios to floor A by the clock and by processor time; "
          f"load {os.getloadavg()[0]:.1f}")  # fmt: skip
    entry_s: dict[int, float] = {}
    later_s: dict[int, float] = {}
    with TemporaryDirectory() as folder:
        for size in sizes:
            here = prepare(Path(folder), size)
            entry_s[size] = told(here, size, times) / size
            batch = measured(here, "later")
            later_s[size] = batch["ours cpu"]
            print(f"  {NEW} more entries: {batch['ours seconds'] * 1000:.0f} ms, "
                  f"x{batch['ours seconds'] / batch['bare seconds']:.1f} a bare insert by the clock, "
                  f"x{batch['ours cpu'] / batch['bare cpu']:.1f} by processor time")  # fmt: skip
    small, large = min(sizes), max(sizes)
    print(f"By processor time: an entry at {large:,} takes x{entry_s[large] / entry_s[small]:.2f} of one at "
          f"{small:,}; {NEW} more x{later_s[large] / later_s[small]:.2f}")  # fmt: skip


def told(here: Path, size: int, times: int) -> float:
    """Every peer measured in turn, as often as asked, and told; ours in seconds of processor time."""
    found: dict[str, list[dict[str, float]]] = {name: [] for name in PEERS}
    for _ in range(times):
        for name, results in found.items():
            results.append(measured(here, name))
    print(f"{size:,} entries")
    clock, cpu = (
        {name: statistics.median(result[kind] for result in results) for name, results in found.items()}
        for kind in ("seconds", "cpu")
    )
    for name, results in found.items():
        print(f"  {name:40} {clock[name]:8.2f} s x{clock[name] / clock[FLOOR]:5.2f}   "
              f"cpu {cpu[name] / size * 1e6:6.1f} us an entry x{cpu[name] / cpu[FLOOR]:5.2f}   "
              f"{max(result['peak'] for result in results):5.0f} MB")  # fmt: skip
    return cpu[OURS]


if __name__ == "__main__":
    asked = argparse.ArgumentParser()
    asked.add_argument("--sizes", type=int, nargs="+", default=[10_000, 100_000, 1_000_000])
    asked.add_argument("--times", type=int, default=3)
    asked.add_argument("--one", nargs=2)
    given = asked.parse_args()
    if given.one:
        one(given.one[0], Path(given.one[1]))
    else:
        main(given.sizes, given.times)
