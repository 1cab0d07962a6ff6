"""Every page of the desk over 100,000 open defects and 1,000,000 entries: median server time against 150 ms.

    python -m tests.bench.pages [--entries N] [--keep FOLDER] [--runs N]

The time is from the request to the last byte of the answer, through the whole app (guard, handler, template), in this
process and without a network; the median of the processor's own time stands beside it, which other work on the machine
hardly touches. The first request of each page is not counted; the slowest of the rest is shown too.
`--keep` keeps the backlog, so that a second run need not make it again. The machine's load average stands beside.
"""

import argparse
import asyncio
import os
import tempfile
from datetime import date
from pathlib import Path
from statistics import median
from time import perf_counter, process_time

import httpx

from builder.edition import read_edition
from sync.commands_common import now
from sync.desk.app import desk_app
from sync.desk.page import Desk
from sync.service import Service
from sync.store import Store
from tests.bench.pages.data import Story, write_fleet

TODAY = date(2026, 10, 18)
MOST_MS = 150


def build(folder: Path, entries: int) -> None:
    began = perf_counter()
    edition = write_fleet(folder / "fleet")
    story = Story(read_edition(edition).fingerprint, entries)
    with Store(folder / "backlog.db") as store:
        service = Service(store, now, os.urandom)
        service.adopt(edition)
        for n, (data, desk) in enumerate(story.hand_ins()):
            service.take_in_all([(f"{n}.txt", [data])], desk=desk)
        print(f"made: {store.count('entries'):,} entries, {store.count('defects'):,} defects, "
              f"{store.count('conflicts'):,} conflicts in {perf_counter() - began:.0f} s", flush=True)  # fmt: skip


def addresses(store: Store) -> list[str]:
    """Each page, and the lists narrowed in every way."""
    rows = store.backlog(TODAY, limit=1).rows
    conflict = next(iter(store.conflicts(rows[0].vehicle)), None)
    code = rows[0].defect
    narrowed = ["severity=dangerous", "severity=minor&page=300", "vehicle=vehicle-007", "status=in+hand",
                "standing=stopped", "station=station-03", "waiting=yes", "holding=yes", "conflict=yes",
                "perhaps_same=yes", "search=seized+noisy", f"search={code}", "search=zz", "search=worn",
                "sort=last_seen&down=yes", "sort=severity", "sort=vehicle&page=500", "page=900"]  # fmt: skip
    pages = ["/", "/backlog", *(f"/backlog?{one}" for one in narrowed), "/vehicles", "/vehicle/vehicle-007",
             "/vehicle/vehicle-007/walks", "/vehicle/vehicle-007/check/station-03/check-00", f"/defect/{code}",
             f"/defect/{conflict.defect}" if conflict else f"/defect/{code}", "/conflicts",
             "/conflicts?vehicle=vehicle-007", "/perhaps-the-same", "/reports", "/revivals", "/know-how", "/take-in",
             "/papers", "/season", "/guide", "/sheet", "/sheet?vehicle=vehicle-007&round=full"]  # fmt: skip
    return list(dict.fromkeys(pages))


async def measured(app: object, address: str, runs: int) -> tuple[list[float], list[float], int]:
    """(milliseconds by the clock, and of the processor, of each run but the first; the answer's bytes)"""
    wire = httpx.ASGITransport(app, client=("127.0.0.1", 1))  # type: ignore[arg-type]
    times, worked = [], []
    async with httpx.AsyncClient(transport=wire, base_url="http://127.0.0.1", cookies={"desk-by": "P0"}) as client:
        for _ in range(runs + 1):
            began, busy = perf_counter(), process_time()
            answer = await client.get(address)
            times.append((perf_counter() - began) * 1000)
            worked.append((process_time() - busy) * 1000)
            assert answer.status_code == 200, (address, answer.status_code, answer.text[-500:])
    return times[1:], worked[1:], len(answer.content)


def report(folder: Path, runs: int) -> int:
    with Store(folder / "backlog.db") as store:
        app = desk_app(Desk(store, Service(store, now, os.urandom), lambda: TODAY))
        print(f"{store.count('entries'):,} entries, {store.count('defects'):,} defects, "
              f"{(folder / 'backlog.db').stat().st_size / 1e6:,.0f} MB; load {os.getloadavg()[0]:.1f} on "
              f"{os.cpu_count()} cores; {runs} runs a page", flush=True)  # fmt: skip
        print(f"{'median ms':>10}{'slowest':>9}{'processor':>11}{'KiB':>7}  page")
        over = 0
        for address in addresses(store):
            times, worked, size = asyncio.run(measured(app, address, runs))
            middle, busy = median(times), median(worked)
            over += middle > MOST_MS
            flag = "  OVER" if middle > MOST_MS else ""
            print(f"{middle:10.1f}{max(times):9.1f}{busy:11.1f}{size / 1024:7.0f}  {address}{flag}", flush=True)
        print(f"{over} of them over {MOST_MS} ms; load {os.getloadavg()[0]:.1f}")
        return over


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--entries", type=int, default=1_000_000)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--runs", type=int, default=7)
    given = parser.parse_args()
    with tempfile.TemporaryDirectory() as fresh:
        folder = given.keep or Path(fresh)
        folder.mkdir(parents=True, exist_ok=True)
        if not (folder / "backlog.db").exists():
            build(folder, given.entries)
        report(folder, given.runs)


if __name__ == "__main__":
    main()
