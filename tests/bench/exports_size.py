"""Exports of long backlogs: seconds, bytes written and the process's greatest memory, a format a process.

    python tests/bench/exports_size.py [ROWS ...]

Each line is the median of three runs, each in a fresh process, so that its peak memory is its own. The last column
sets it against the same format at the first number of rows: streaming keeps it near 1.
"""

import resource
import subprocess
import sys
from datetime import date
from functools import partial
from statistics import median
from tempfile import TemporaryFile
from time import perf_counter

from sync.exports import as_csv, as_html, as_ics, as_json, as_md, as_xlsx
from sync.exports.snapshot import Rows, Snapshot
from sync.rows import BacklogRow, StandingRow

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


def one(form: str, count: int) -> None:
    """Writes one export and prints its seconds, bytes and the process's peak memory in KiB."""
    snapshot = Snapshot(
        fleet="Bench", code="bench", edition="00000000", as_of=date(2026, 10, 19), log_entries=count,
        backlog=Rows(partial(rows, count)), standing=Rows(standing),
    )  # fmt: skip
    with TemporaryFile() as out:
        begun = perf_counter()
        WRITERS[form].write(snapshot, out)
        seconds = perf_counter() - begun
        print(seconds, out.tell(), resource.getrusage(resource.RUSAGE_SELF).ru_maxrss)


def measured(form: str, count: int) -> tuple[float, int, int]:
    runs = []
    for _ in range(RUNS):
        command = [sys.executable, __file__, "one", form, str(count)]
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        runs.append([float(value) for value in done.stdout.split()])
    seconds, size, memory = (median(run[place] for run in runs) for place in range(3))
    return seconds, int(size), int(memory)


def main(counts: list[int]) -> None:
    print(f"{'format':8}{'rows':>9}{'seconds':>10}{'MB':>9}{'peak MiB':>10}{'ratio':>8}")
    for form in WRITERS:
        first = 0
        for count in counts:
            seconds, size, memory = measured(form, count)
            first = first or memory
            print(
                f"{form:8}{count:9}{seconds:10.2f}{size / 1e6:9.1f}{memory / 1024:10.0f}{memory / first:8.2f}",
                flush=True,
            )


if __name__ == "__main__":
    if sys.argv[1:2] == ["one"]:
        one(sys.argv[2], int(sys.argv[3]))
    else:
        main([int(count) for count in sys.argv[1:]] or [1_000, 10_000, 100_000])
