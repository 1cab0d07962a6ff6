"""Bytes over the wire, what a further vehicle costs, and how building grows with the fleet."""

import gzip
import shutil
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path

from builder.commands import app_files
from builder.guide import FOLDER
from tests.bench.app.figures import line, single

SAMPLE = Path(__file__).resolve().parent.parent.parent.parent / "sample_fleet"
WIRE_MOST_KB = 120
VEHICLE_MOST_KB = 2
BUILD_MOST_S = 10


def lines() -> Iterator[str]:
    """The report, line by line."""
    files = app_files(SAMPLE)
    guide = {path: data for path, data in files.items() if path.startswith(FOLDER)}
    app = {path: data for path, data in files.items() if path not in guide}
    yield single(f"the app and its fleet, {len(app)} files, gzip -9", packed(app) / 1000, "kB", most=WIRE_MOST_KB)
    yield f"{f'  and the illustrated guide, {len(guide)} files':<46} {packed(guide) / 1000:8.1f} kB"
    with tempfile.TemporaryDirectory() as name:
        without = [packed(app_files(without_one(Path(name) / f"w{n}", n))) for n in range(vehicles())]
        yield line(
            "each vehicle of the sample, gzip -9",
            [(packed(files) - w) / 1000 for w in without],
            "kB",
            most=VEHICLE_MOST_KB,
        )
        times = {n: built(grown(Path(name) / f"t{n}", n)) for n in (125, 250, 500, 1000)}
    for count, (wall, processor) in times.items():
        yield f"{f'{count} vehicles built':<46} {wall:8.1f} s, {processor:.2f} s of one processor's time"
    yield single("1,000 vehicles built", times[1000][0], "s", most=BUILD_MOST_S)
    yield single("1,000 against 500, processor's time", times[1000][1] / times[500][1], "x", most=2.5)


def vehicles() -> int:
    return len(list((SAMPLE / "vehicles").glob("*.toml")))


def without_one(folder: Path, number: int) -> Path:
    """The sample fleet less one vehicle: what is left out is what that vehicle costs."""
    shutil.copytree(SAMPLE, folder, ignore=shutil.ignore_patterns("day"))
    sorted((folder / "vehicles").glob("*.toml"))[number].unlink()
    return folder


def packed(files: dict[str, bytes]) -> int:
    """Bytes as a host sends them, each file by itself; pictures are packed already."""
    ready = (".png", ".webp")
    return sum(len(data) if path.endswith(ready) else len(gzip.compress(data, 9)) for path, data in files.items())


def built(fleet: Path) -> tuple[float, float]:
    """Seconds on the wall, and of the processor: a busy machine shows in the first alone."""
    wall, processor = time.perf_counter(), time.process_time()
    app_files(fleet)
    return time.perf_counter() - wall, time.process_time() - processor


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
