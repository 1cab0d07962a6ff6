"""Known defects for the phones: 5,000 open ones, made anew after a change, again, and when nothing changed.

    python -m tests.bench.door.carry [DEFECTS]

Server time is what making the answer takes in the door's own reader; answer time is a phone's, over https on loopback.
"""

import json
import os
import random
import statistics
import sys
import tempfile
import time
from pathlib import Path

from builder.edition import compile_edition
from builder.load import load_fleet
from sync.carry import carry, tag_of
from sync.door.carried import Carried
from sync.service import Service
from sync.store import Store
from tests.bench.door.figures import machine
from tests.bench.door.load import large_fleet
from tests.sync.door.doors import Phone, answered, by_the_clock, door_in, hand_in, moment, new_id

RUNS = 15


def main(count: int = 5000) -> None:
    with tempfile.TemporaryDirectory() as folder:
        fleet = large_fleet(Path(folder) / "large")
        backlog = Path(folder) / "pc" / "backlog.db"
        backlog.parent.mkdir()
        with Store(backlog) as store:
            fill(Service(store, by_the_clock, os.urandom), fleet, count)
            print(machine())
            print(
                f"{len(store.defects())} open defects, {len(carry(store, by_the_clock().date(), by_the_clock()))} bytes"
            )
            server_times(store)
        phone_times(Path(folder) / "pc", fleet)


def fill(service: Service, fleet: Path, count: int) -> None:
    """So many open defects, each at a place of its own."""
    service.adopt(compile_edition(load_fleet(fleet)))
    edition = service.store.edition()
    rng = random.Random(11)
    views = edition.by_vehicle.values()
    places = [(view.id, check) for view in views for check in view.checks.values() if check.faults]
    lines = []
    for seq, (vehicle, check) in enumerate(rng.sample(places, count), 1):
        fault = check.faults[0]
        spot = {"spot": check.spots[0]} if check.spots else {}
        head = {"id": new_id(), "device": "d-fill", "seq": seq, "at": moment(), "by": "MF", "kind": "finding"}
        entry = {**head, "edition": edition.fingerprint, "vehicle": vehicle, "check": check.id, **spot, "photos": [],
                 "result": "defect", "fault": fault.id, "severity": fault.severity, "note": "as seen"}  # fmt: skip
        lines.append(json.dumps(entry, separators=(",", ":")))
    for start in range(0, count, 2000):
        service.take_in("fill", [hand_in("d-fill", "", lines[start : start + 2000], edition.code)])


def server_times(store: Store) -> None:
    anew = []
    for _ in range(RUNS):
        begun = time.perf_counter()
        tag_of(carry(store, by_the_clock().date(), by_the_clock()))
        anew.append(time.perf_counter() - begun)
    carried = Carried(store, by_the_clock)
    carried.now_made()
    kept = []
    for _ in range(RUNS):
        begun = time.perf_counter()
        carried.now_made()
        kept.append(time.perf_counter() - begun)
    shown("server, made anew after a change", anew)
    shown("server, nothing changed", kept)


def phone_times(folder: Path, fleet: Path) -> None:
    with door_in(folder, fleet=fleet) as door:
        phone = Phone.paired(door, "d-bench")
        whole, unchanged = [], []
        etag = ""
        for _ in range(RUNS):
            begun = time.perf_counter()
            answer = phone.http.get("/door/carry", headers=phone.headers)
            whole.append(time.perf_counter() - begun)
            etag = answer.headers["ETag"]
        for _ in range(RUNS):
            begun = time.perf_counter()
            status = phone.http.get("/door/carry", headers={**phone.headers, "If-None-Match": etag}).status_code
            unchanged.append(time.perf_counter() - begun)
            assert status == 304, status
        answered(phone.post("have", {"device": "d-bench"}))
        shown("phone, whole", whole)
        shown("phone, 304", unchanged)


def shown(what: str, times: list[float]) -> None:
    print(f"{what:34} median {statistics.median(times) * 1000:7.1f} ms, worst {max(times) * 1000:7.1f} ms")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
