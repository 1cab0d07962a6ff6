"""The power fails: what the app said was saved is there afterwards, since it asks for strict durability.

The rig keeps a second copy of the browser's database that follows only what the browser synced; after the cut the
phone starts from that copy. The same rig must lose entries when durability is relaxed, or it would prove nothing.
"""

import contextlib
import os
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Error, Playwright

from builder.commands import app_files
from builder.write import write_site
from tests.app.browsers import CHROMIUM_ARGS, PHONE, Site, found, served
from tests.app.conftest import SAMPLE
from tests.app.engines import kill

SOURCE = Path(__file__).with_name("power_cut.c")
WRITES = """
async ([url, relaxed]) => {
  if (relaxed) {
    const plain = IDBDatabase.prototype.transaction;
    IDBDatabase.prototype.transaction = function (stores, mode) {
      return plain.call(this, stores, mode, { durability: "relaxed" });
    };
  }
  const { openStorage } = await import(`${url}js/storage.js`);
  const { Log } = await import(`${url}js/log.js`);
  const log = new Log(await openStorage("trial"), { code: "trial", edition: "3f9c2a71" });
  for (let n = 0; n < 25; n += 1) {
    const symptom = `pulls ${n}`;
    const { seq } = await log.append({ kind: "report", vehicle: "badger", source: "driver", symptom, photos: [] });
    await window.saved(seq);
  }
}
"""
READS = """
async (url) => {
  const { openStorage } = await import(`${url}js/storage.js`);
  const storage = await openStorage("trial");
  return (await storage.read(["entries"], (work) => work.getAll("entries"))).map((record) => record.seq);
}
"""


@pytest.fixture(scope="module")
def forgetful(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The rig, compiled."""
    library = tmp_path_factory.mktemp("rig") / "power_cut.so"
    subprocess.run(["gcc", "-O1", "-shared", "-fPIC", "-o", str(library), str(SOURCE), "-ldl"], check=True)
    return library


@pytest.fixture
def site(tmp_path: Path) -> Iterator[Site]:
    write_site(tmp_path / "app", app_files(SAMPLE))
    with served(tmp_path / "app") as running:
        yield running


def phone(playwright: Playwright, folder: Path, **env: str) -> BrowserContext:
    options = {**PHONE, **found(), "args": list(CHROMIUM_ARGS), "env": {**os.environ, **env}}
    return playwright.chromium.launch_persistent_context(folder, **options)


def cut(playwright: Playwright, site: Site, forgetful: Path, tmp_path: Path, *, relaxed: bool) -> tuple[int, list[int]]:
    """(how many entries were said to be saved, which are there after the cut)."""
    disk, held = tmp_path / "disk", tmp_path / "held"
    running = phone(playwright, disk, LD_PRELOAD=str(forgetful), CUT_FROM=str(disk), CUT_TO=str(held))
    page = running.pages[0]
    page.goto(f"{site.url}blank.html")
    said: list[int] = []

    def saved(seq: int) -> None:
        said.append(seq)

    page.expose_function("saved", saved)
    page.evaluate(WRITES, [site.url, relaxed])
    kill(disk)
    with contextlib.suppress(Error):
        running.close()
    database = next(disk.glob("**/IndexedDB"))
    shutil.rmtree(database)
    shadow = held / database.relative_to(disk)
    if shadow.exists():
        shutil.copytree(shadow, database)
    again = phone(playwright, disk)
    page = again.pages[0]
    page.goto(f"{site.url}blank.html")
    there = page.evaluate(READS, site.url)
    again.close()
    return len(said), there


def test_what_was_said_to_be_saved_is_there_after_a_power_cut(
    playwright: Playwright, site: Site, forgetful: Path, tmp_path: Path
) -> None:
    said, there = cut(playwright, site, forgetful, tmp_path, relaxed=False)
    assert said == 25
    assert there == list(range(1, 26))


def test_the_rig_loses_what_was_not_synced(playwright: Playwright, site: Site, forgetful: Path, tmp_path: Path) -> None:
    said, there = cut(playwright, site, forgetful, tmp_path, relaxed=True)
    assert said == 25
    assert len(there) < 25
