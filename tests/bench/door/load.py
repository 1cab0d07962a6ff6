"""Fifty phones at the door at once: 500 entries and 20 photos of 300 kB each, over https, loopback only.

    python -m tests.bench.door.load [PHONES] [ENTRIES] [PHOTOS]

The door is `driptray serve` in a process of its own; the phones are another process, on the same cores. Prints the
answer times of entries and photos (median, 99th percentile, worst), how long all took, the server's greatest memory
and processor seconds, and whether all was taken once. It stops by itself.
"""

import hashlib
import io
import itertools
import json
import os
import random
import resource
import shutil
import ssl
import statistics
import sys
import tempfile
import threading
import time
from collections import Counter
from collections.abc import Iterator, Sequence
from http.client import HTTPSConnection
from pathlib import Path
from typing import Any

from PIL import Image

from builder.edition import VehicleView, read_edition
from sync.store import Store
from tests.bench.door.figures import machine, percentile
from tests.sync.door.doors import hand_in, moment, new_id
from tests.workshops import ROOT, Workshop

SAMPLE = ROOT / "sample_fleet"
AT_ONCE = 50
PHOTO_BYTES = 300_000
DEFECTS = 0.08  # of the findings; the photos' own come on top


class LoadPhone:
    """Sends as the app does: entries fifty at a time, then photos one by one."""

    def __init__(self, number: int, port: int, trust: ssl.SSLContext) -> None:
        self.device = f"d-load-{number}"
        self.port, self.trust = port, trust
        self.http = self.connected()
        self.token = ""
        self.lines: list[str] = []
        self.photos: dict[str, bytes] = {}
        self.times: dict[str, list[float]] = {"have": [], "entries": [], "photos": [], "carry": []}

    def connected(self) -> HTTPSConnection:
        return HTTPSConnection("localhost", self.port, context=self.trust, timeout=120)

    def ask(self, kind: str, method: str, path: str, body: bytes = b"") -> bytes:
        begun = time.perf_counter()
        self.http.request(method, f"/door/{path}", body, {"Authorization": f"Bearer {self.token}"})
        answer = self.http.getresponse()
        said = answer.read()
        self.times.setdefault(kind, []).append(time.perf_counter() - begun)
        if answer.status != 200:
            raise SystemExit(f"{path}: {answer.status} {said[:200]!r}")
        return said

    def fill(self, entries: int, photos: int, vehicles: Sequence[VehicleView], rng: random.Random) -> None:
        """Whole walk-rounds, one vehicle after the other, until there are so many entries."""
        for _ in range(photos):
            made = JPEG + rng.randbytes(PHOTO_BYTES - len(JPEG))
            self.photos[hashlib.sha256(made).hexdigest()] = made
        names = list(self.photos)
        said = itertools.chain.from_iterable(walked(view, rng) for view in vehicles)
        for seq, body in enumerate(itertools.islice(said, entries), 1):
            head = {"id": body.get("walk") if body["kind"] == "walk" else new_id(), "device": self.device, "seq": seq,
                    "at": moment(), "by": "MF", "edition": "00000000"}  # fmt: skip
            if names and body.get("result") == "defect":
                body["photos"] = [names.pop()]
            self.lines.append(json.dumps({**head, **body}, separators=(",", ":")))

    def items(self) -> list[tuple[int, str, str]]:
        return [
            (n + 1, json.loads(line)["id"], hashlib.sha256(line.encode()).hexdigest())
            for n, line in enumerate(self.lines)
        ]

    def have(self) -> Any:
        body = {"device": self.device, "items": self.items(), "photos": list(self.photos), "at": moment()}
        return json.loads(self.ask("have", "POST", "have", json.dumps(body).encode()))

    def sync(self) -> None:
        self.http.close()  # idle since it was paired: the door has let go of it, and a browser would open another
        self.have()
        for start in range(0, len(self.lines), AT_ONCE):
            text = hand_in(self.device, self.device, self.lines[start : start + AT_ONCE], "brackle-down")
            self.ask("entries", "POST", "entries", text)
        for sha, photo in self.photos.items():
            self.ask("photos", "PUT", f"photos/{sha}", photo)
        self.ask("carry", "GET", "carry")
        left = self.have()
        if left["want"] or left["want_photos"]:
            raise SystemExit(
                f"{self.device}: {len(left['want'])} entries and {len(left['want_photos'])} photos lacking"
            )


def walked(view: VehicleView, rng: random.Random) -> Iterator[dict[str, Any]]:
    """One person's full round of one vehicle: its start, then each check at each spot."""
    walk = new_id()
    places = [(check, spot) for check in view.checks.values() for spot in check.spots or ("",)]
    common = {"walk": walk, "vehicle": view.id}
    yield {"kind": "walk", **common, "round": "full", "day": moment()[:10], "state": "started", "knows": {},
           "covered": 0, "of": len(places)}  # fmt: skip
    for check, spot in places:
        at = {"check": check.id, **({"spot": spot} if spot else {})}
        said: dict[str, Any] = {"result": "sound"}
        if check.faults and rng.random() < DEFECTS:
            fault = rng.choice(check.faults)
            said = {"result": "defect", "fault": fault.id, "severity": fault.severity, "note": "as seen in passing"}
        yield {"kind": "finding", **common, **at, **said, "photos": []}


def large_fleet(folder: Path) -> Path:
    """The sample's vehicles six times over, each copy under a name of its own."""
    shutil.copytree(SAMPLE, folder)
    for path in sorted((folder / "vehicles").glob("*.toml")):
        for copy in range(2, 7):
            text = path.read_text("utf-8").replace(f'id = "{path.stem}"', f'id = "{path.stem}-{copy}"', 1)
            path.with_name(f"{path.stem}-{copy}.toml").write_text(text, "utf-8")
    return folder


def small_jpeg() -> bytes:
    made = io.BytesIO()
    Image.effect_noise((320, 240), 60).convert("RGB").save(made, "JPEG", quality=80)
    return made.getvalue()


JPEG = small_jpeg()


def main(phones: int = 50, entries: int = 500, photos: int = 20) -> None:
    with tempfile.TemporaryDirectory() as folder:
        pc = Workshop(Path(folder), fleet=large_fleet(Path(folder) / "fleet")).start()
        try:
            measured(pc, phones, entries, photos)
        finally:
            pc.kill()


def measured(pc: Workshop, count: int, entries: int, photos: int) -> None:
    trust = ssl.create_default_context(cafile=str(pc.folder / "backlog-door" / "authority.pem"))
    with pc.store() as store:
        edition = read_edition(store.edition_bytes(store.editions()[0]))
    vehicles = list(edition.by_vehicle.values())
    made = [LoadPhone(number, pc.ports["--port"], trust) for number in range(count)]
    rng = random.Random(7)
    for number, phone in enumerate(made):
        turned = number * len(vehicles) // count  # each begins elsewhere: two or three people walk each vehicle
        phone.fill(entries, photos, vehicles[turned:] + vehicles[:turned], rng)
        code = pc.new_code()
        body = json.dumps({"code": code, "device": phone.device, "device_name": phone.device}).encode()
        phone.token = json.loads(phone.ask("pair", "POST", "pair", body))["token"]
    assert pc.process is not None
    before = processor_seconds(pc.process.pid)
    begun = time.perf_counter()
    running = [threading.Thread(target=phone.sync) for phone in made]
    for thread in running:
        thread.start()
    for thread in running:
        thread.join()
    took = time.perf_counter() - begun
    spent = processor_seconds(pc.process.pid) - before
    told(pc, made, took, spent)


def told(pc: Workshop, phones: list[LoadPhone], took: float, spent: float) -> None:
    assert pc.process is not None
    print(machine())
    for kind in ("have", "entries", "photos", "carry"):
        times = [seconds for phone in phones for seconds in phone.times[kind]]
        half, most, worst = (f"{1000 * of(times):6.0f} ms" for of in (statistics.median, late, max))
        print(f"{kind:8} {len(times):5} requests: median {half}, 99th percentile {most}, worst {worst}")
    total = sum(len(phone.lines) for phone in phones)
    moved = sum(len(photo) for phone in phones for photo in phone.photos.values())
    print(f"{total} entries and {moved / 1e6:.0f} MB of photos in {took:.1f} s: {total / took:.0f} entries/s")
    print(f"server: {spent:.1f} processor seconds, greatest memory {peak_mib(pc.process.pid):.0f} MiB")
    with Store(pc.backlog, create=False) as store:
        here = Counter(row.body for row in store.entries() if row.device.startswith("d-load-"))
        kept = {photo.sha256 for photo in store.photos()}
    wanted = Counter(line for phone in phones for line in phone.lines)
    all_photos = {sha for phone in phones for sha in phone.photos}
    print("all taken, none doubled" if here == wanted and kept == all_photos else
          f"NOT ALL: {sum((wanted - here).values())} lost, {sum((here - wanted).values())} doubled,"
          f" {len(all_photos - kept)} photos lost")  # fmt: skip


def late(times: list[float]) -> float:
    return percentile(times, 0.99)


def peak_mib(pid: int) -> float:
    status = Path(f"/proc/{pid}/status").read_text()
    return int(status.split("VmHWM:")[1].split()[0]) / 1024


def processor_seconds(pid: int) -> float:
    fields = Path(f"/proc/{pid}/stat").read_text().rpartition(")")[2].split()
    return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")


if __name__ == "__main__":
    resource.setrlimit(resource.RLIMIT_NOFILE, (4096, resource.getrlimit(resource.RLIMIT_NOFILE)[1]))
    main(*map(int, sys.argv[1:]))
