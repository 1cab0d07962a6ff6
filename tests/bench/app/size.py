"""Bytes over the wire, what a further vehicle costs, and how building grows with the fleet."""

import gzip
import shutil
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from builder.commands import app_files
from tests.bench.app.figures import single

SAMPLE = Path(__file__).resolve().parent.parent.parent.parent / "sample_fleet"
WIRE_MOST_KB = 120
VEHICLE_MOST_KB = 2
BUILD_MOST_S = 10


def lines() -> Iterator[str]:
    """The report, line by line."""
    files = app_files(SAMPLE)
    yield single(f"the app and its fleet, {len(files)} files, gzip -9", packed(files) / 1000, "kB", most=WIRE_MOST_KB)
    with tempfile.TemporaryDirectory() as name:
        few, more = (packed(app_files(grown(Path(name) / str(n), n))) for n in (40, 80))
        yield single("each further vehicle, gzip -9", (more - few) / 40 / 1000, "kB", most=VEHICLE_MOST_KB)
        times = {n: built(grown(Path(name) / f"t{n}", n)) for n in (125, 250, 500, 1000)}
    for count, seconds in times.items():
        yield f"{f'{count} vehicles built':<46} {seconds:8.2f} s ({seconds / count * 1000:.1f} ms each)"
    yield single("1,000 vehicles built", times[1000], "s", most=BUILD_MOST_S)
    yield single("1,000 against 500 vehicles", times[1000] / times[500], "x", most=2.5)


def packed(files: dict[str, bytes]) -> int:
    """Bytes as a host sends them, each file by itself; pictures are packed already."""
    return sum(len(data) if path.endswith(".png") else len(gzip.compress(data, 9)) for path, data in files.items())


def built(fleet: Path) -> float:
    start = time.perf_counter()
    app_files(fleet)
    return time.perf_counter() - start


def grown(folder: Path, count: int) -> Path:
    """The sample fleet with its vehicles again and again, under ids and names of their own and some limits changed."""
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("day", "vehicles"))
    (folder / "vehicles").mkdir()
    vehicles = sorted((SAMPLE / "vehicles").glob("*.toml"))
    for number in range(count):
        source = vehicles[number % len(vehicles)]
        text = source.read_text("utf-8")
        text = text.replace(f'id = "{source.stem}"', f'id = "{source.stem}-{number}"', 1)
        text = text.replace('\nname = "', f'\nname = "No. {number} ', 1)
        (folder / f"vehicles/{source.stem}-{number}.toml").write_text(text, "utf-8")
    return folder
