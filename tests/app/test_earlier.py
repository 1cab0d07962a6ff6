"""A phone's database of every earlier version is opened by the app of today, and nothing in it is lost.

A fixture is kept for each version that was ever on a phone: fixtures/database-vN.json.
"""

import json
from pathlib import Path
from typing import Any

import pytest

from tests.app.conftest import Bench

FIXTURES = sorted((Path(__file__).parent / "fixtures").glob("database-v*.json"))
# As the app of that version made it, by the browser's own means alone.
LAID_OUT = """
const open = indexedDB.open(given.name, given.version);
open.onupgradeneeded = () => {
  for (const [name, store] of Object.entries(given.stores)) {
    const made = open.result.createObjectStore(name, store.keyPath ? { keyPath: store.keyPath } : {});
    for (const [index, path] of Object.entries(store.indexes ?? {})) made.createIndex(index, path);
    for (const row of store.rows ?? []) {
      const bytes = row.bytes && Uint8Array.from(atob(row.bytes.base64), (c) => c.charCodeAt(0)).buffer;
      made.put(bytes ? { ...row, bytes } : row);
    }
    for (const [key, value] of store.keyed ?? []) made.put(value, key);
  }
};
await new Promise((done, fail) => {
  open.onsuccess = () => { open.result.close(); done(); };
  open.onerror = () => fail(open.error);
});
"""
OPENED = """
const { openStorage, VERSION } = await load("storage");
const { Log } = await load("log");
const storage = await openStorage("trial");
const log = new Log(storage, { code: "trial", edition: "3f9c2a71" });
"""


def given(path: Path) -> dict[str, Any]:
    return dict(json.loads(path.read_text("utf-8")))


def test_there_is_a_fixture_of_every_version_up_to_todays(bench: Bench) -> None:
    version = bench.run(f"{OPENED} return VERSION;")
    assert [given(path)["version"] for path in FIXTURES] == list(range(1, version + 1))


@pytest.mark.parametrize("path", FIXTURES, ids=lambda path: path.stem)
def test_its_entries_photos_and_drafts_are_there_with_the_same_bytes(bench: Bench, path: Path) -> None:
    fixture = given(path)
    bench.run(LAID_OUT, fixture)
    lines, photos, drafts = bench.run(
        OPENED + "const all = (store) => storage.read([store], (work) => work.getAll(store));"
        "return [(await log.records()).map((r) => r.line), (await all('photos')).map((p) => p.bytes.byteLength),"
        " (await all('drafts')).map((d) => d.data)];"
    )
    stores = fixture["stores"]
    assert lines == [row["line"] for row in stores["entries"]["rows"]]
    assert photos == [4]
    assert drafts == [row["data"] for row in stores["drafts"]["rows"]]


@pytest.mark.parametrize("path", FIXTURES, ids=lambda path: path.stem)
def test_its_log_goes_on_under_the_same_device_with_the_next_number(bench: Bench, path: Path) -> None:
    fixture = given(path)
    bench.run(LAID_OUT, fixture)
    entry = bench.run(
        OPENED + "return log.append({ kind: 'report', vehicle: 'badger', source: 'driver', symptom: 'x', photos: [] });"
    )
    last = fixture["stores"]["entries"]["rows"][-1]
    assert (entry["device"], entry["seq"], entry["by"]) == (last["device"], last["seq"] + 1, "RM")


@pytest.mark.parametrize("path", FIXTURES, ids=lambda path: path.stem)
def test_its_walk_is_seen_with_its_correction(bench: Bench, path: Path) -> None:
    fixture = given(path)
    bench.run(LAID_OUT, fixture)
    walk = fixture["stores"]["entries"]["rows"][0]["walk"]
    marks = bench.run(
        OPENED + "return [...(await log.walk(given)).marks.values()].flat().map((m) => [m.result, m.fault]);", walk
    )
    assert marks == [["defect", "slack"]]
