"""Exports of long backlogs: seconds, bytes written and the process's greatest memory, a format a process.

    python -m tests.bench.exports_size [ROWS ...]
    python -m tests.bench.exports_size --backlog FILE

Rows are made as they are written, so that the writers alone are measured; each line is the median of three runs, each
in a fresh process, so that its peak memory is its own, and the last column sets it against the same format at the first
number of rows: streaming keeps it near 1. With a backlog (`python -m tests.bench.pages --keep FOLDER` makes one of
100,000 defects and 1,000,000 entries) the whole export is measured, once a format: reading, reckoning and writing.
"""

import os
import resource
import subprocess
import sys
from datetime import date
from functools import partial
from pathlib import Path
from statistics import median
from tempfile import TemporaryFile
from time import perf_counter, process_time

from sync.exports import as_csv, as_html, as_ics, as_json, as_md, as_xlsx
from sync.exports.gather import gather
from sync.exports.snapshot import Rows, Snapshot
from sync.rows import BacklogRow, StandingRow
from sync.store import Store

WRITERS = {"csv": as_csv, "json": as_json, "md": as_md, "html": as_html, "ics": as_ics, "xlsx": as_xlsx}
VEHICLES = 400
RUNS = 3


def rows(count: int):
    plain = dict.fromkeys(BacklogRow.__struct_fields__, "")
    for n in range(count):
        vehicle = f"vehicle-{n % VEHICLES}"
        yield BacklogRow(
            **{
                **plain,
                "rank": n + 1,
                "defect": f"{vehicle}-{n:05d}",
                "vehicle": vehicle,
                "vehicle_name": vehicle.capitalize(),
                "station": "Left track",
                "check_name": "Sag of the top run",
                "fault": "Slack with the adjuster at its stop",
                "severity": ("dangerous", "major", "minor", "advisory")[n % 4],
                "status": "open",
                "standing": "limited",
                "first_seen": "2026-10-17",
                "last_seen": "2026-10-18",
                "sightings": 2,
                "seen_by": "RM; TA",
                "note": f"adjuster at its stop, pins shiny, number {n}",
                "opening": f"0199f5c2-7d10-7c3e-9a51-{n:012d}",
                "temporary_until": "2026-11-20" if n % 10 == 0 else "",
            }
        )


def standing():
    plain = dict.fromkeys(StandingRow.__struct_fields__, "")
    for n in range(VEHICLES):
        name = f"vehicle-{n}"
        yield StandingRow(**{**plain, "vehicle": name, "name": name, "standing": "limited", "open_defects": 9})


AS_OF = date(2026, 10, 19)


def made(count: int) -> Snapshot:
    return Snapshot(
        fleet="Bench", code="bench", edition="00000000", as_of=AS_OF, log_entries=count,
        backlog=Rows(partial(rows, count)), standing=Rows(standing),
    )  # fmt: skip


def one(form: str, of: str) -> None:
    """Writes one export and prints its seconds, processor seconds, bytes and the process's peak memory in KiB."""
    if of.isdigit():
        written(form, made(int(of)))
        return
    with Store(Path(of), create=False) as store:
        written(form, gather(store, AS_OF, Path(of).parent))


def written(form: str, snapshot: Snapshot) -> None:
    with TemporaryFile() as out:
        begun, worked = perf_counter(), process_time()
        WRITERS[form].write(snapshot, out)
        seconds, processor = perf_counter() - begun, process_time() - worked
        print(seconds, processor, out.tell(), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)


def measured(form: str, of: str, runs: int) -> tuple[float, float, float, float]:
    found = []
    for _ in range(runs):
        command = [sys.executable, "-m", "tests.bench.exports_size", "one", form, of]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        found.append([float(value) for value in done.stdout.split()])
    seconds, processor, size, memory = (median(run[place] for run in found) for place in range(4))
    return seconds, processor, size, memory


def main(sources: list[str], runs: int) -> None:
    print(f"load {os.getloadavg()[0]:.1f} on {os.cpu_count()} cores; medians of {runs}")
    print(f"{'format':8}{'rows':>12}{'seconds':>10}{'processor':>11}{'MB':>9}{'peak MiB':>10}{'ratio':>8}")
    for form in WRITERS:
        first = 0.0
        for of in sources:
            seconds, processor, size, memory = measured(form, of, runs)
            first = first or memory
            told = f"{seconds:10.2f}{processor:11.2f}{size / 1e6:9.1f}{memory / 1024:10.0f}{memory / first:8.2f}"
            print(f"{form:8}{Path(of).name:>12}{told}", flush=True)
    print(f"load {os.getloadavg()[0]:.1f}")


if __name__ == "__main__":
    if sys.argv[1:2] == ["one"]:
        one(sys.argv[2], sys.argv[3])
    elif sys.argv[1:2] == ["--backlog"]:
        main([sys.argv[2]], 1)
    else:
        main(sys.argv[1:] or ["1000", "10000", "100000"], RUNS)
