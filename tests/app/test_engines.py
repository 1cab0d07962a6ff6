"""The journeys that may lose nothing, in WebKitGTK and in Firefox ESR, by accessible names."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.app.browsers import Site
from tests.app.day.drawings import photo
from tests.app.engines import ENGINES, Driven, Screen, kill
from tests.app.test_worker import Host

# Selenium's own call of itself.
pytestmark = pytest.mark.filterwarnings("ignore:setting remote_server_addr:DeprecationWarning")
LAMPS = "Front lamps, side lamps, indicators if fitted"
SAG = "Sag of the top run"
TAKEN = "await navigator.serviceWorker.ready; return navigator.serviceWorker.controller !== null;"


@pytest.fixture(scope="module")
def screen() -> Iterator[str]:
    running = Screen(93)
    yield running.name
    running.stop()


class Handset:
    """One engine on one disk; may be killed and started again."""

    def __init__(self, engine: str, folder: Path, screen: str) -> None:
        self.engine, self.folder, self.screen = engine, folder, screen
        self.started: list[Driven] = []

    def start(self, **options: Any) -> Driven:
        page = Driven(ENGINES[self.engine](self.folder, self.screen, **options))
        self.started.append(page)
        return page

    def kill(self) -> None:
        kill(self.folder)
        self.stop()

    def stop(self) -> None:
        for page in self.started:
            try:
                page.driver.quit()
            except Exception:  # it may have been killed
                page.driver.service.stop()  # type: ignore[attr-defined]
        self.started = []


@pytest.fixture(params=sorted(ENGINES))
def handset(request: pytest.FixtureRequest, tmp_path: Path, screen: str) -> Iterator[Handset]:
    phone = Handset(request.param, tmp_path / "disk", screen)
    yield phone
    phone.stop()
    kill(tmp_path / "disk")


@pytest.fixture
def host(tmp_path: Path) -> Iterator[Host]:
    running = Host(tmp_path / "app", "/walk/")
    yield running
    running.stop()


def arrive(page: Driven, url: str) -> None:
    page.open(url)
    page.tap("radio", "MF", exact=True)
    page.tap("button", "To the vehicles")
    page.get("link", "Kettle")
    page.until(lambda: page.run(TAKEN), "the worker to take the page")


def start(page: Driven, round_name: str) -> None:
    page.tap("link", "Kettle")
    page.tap("radio", round_name, page.get("group", "Round"))
    page.tap("button", "Start walk-round")
    page.until(lambda: "marked here" in page.text(), "the first station")


def go_to(page: Driven, station: str) -> None:
    page.run("location.hash = location.hash.split('/').slice(0, 3).join('/') + '/' + given[0];", station)
    page.until(lambda: page.run("return location.hash;").endswith(station), station)


def mark(page: Driven, ask: str, result: str) -> None:
    page.tap("radio", result, page.get("group", ask, exact=True), exact=True)


def saved(page: Driven, count: int) -> list[dict[str, Any]]:
    return list(page.until(lambda: (found := page.entries()) and len(found) == count and found, f"{count} entries"))


def handed_in(page: Driven) -> str:
    """What the app gives to the share sheet."""
    page.run(
        "window.shared = ''; navigator.canShare = () => true;"
        "navigator.share = async ({ files }) => { window.shared = await files[0].text(); };"
        "location.hash = '#/hand-in';"
    )
    page.tap("button", "Save hand-in file")
    return str(page.until(lambda: page.run("return window.shared;"), "the hand-in"))


def test_a_walk_offline_with_a_defect_and_a_photo_is_handed_in_whole(
    handset: Handset, host: Host, tmp_path: Path
) -> None:
    page = handset.start()
    arrive(page, host.url)
    host.site.stop()
    start(page, "Cold")
    go_to(page, "left-track")
    mark(page, SAG, "Defect")
    page.tap("radio", "Slack", page.get("group", "Fault"), exact=True)
    page.write("textbox", "Note", "adjuster at its stop", page.get("dialog", SAG))
    (tmp_path / "sag.jpg").write_bytes(photo("sag"))
    page.get("file", "Add photo").send_keys(str(tmp_path / "sag.jpg"))
    page.until(lambda: page.run("return document.querySelectorAll('dialog img').length;"), "the photo")
    page.tap("button", "Save", page.get("dialog", SAG))
    saved(page, 2)
    head, walk, finding, picture, end = map(json.loads, handed_in(page).splitlines())
    assert (head["entries"], head["photos"], end["end"]) == (2, 1, True)
    assert (walk["kind"], finding["fault"], finding["note"]) == ("walk", "slack", "adjuster at its stop")
    assert finding["photos"] == [picture["photo"]]
    host.site = Site(host.folder, host.path)


def test_a_correction_takes_the_slip_back(handset: Handset, site: Site) -> None:
    page = handset.start()
    arrive(page, site.url)
    start(page, "Before running")
    mark(page, LAMPS, "Sound")
    saved(page, 2)
    mark(page, LAMPS, "Defect")
    page.tap("radio", "One lamp out", page.get("group", "Fault"), exact=True)
    page.tap("button", "Save", page.get("dialog", LAMPS))
    _, sound, defect = saved(page, 3)
    assert defect["corrects"] == sound["id"]


def test_a_killed_phone_goes_on_where_it_was_without_a_network(handset: Handset, host: Host) -> None:
    page = handset.start()
    arrive(page, host.url)
    start(page, "Before running")
    mark(page, LAMPS, "Defect")
    page.tap("radio", "One lamp out", page.get("group", "Fault"), exact=True)
    page.write("textbox", "Note", "half a sent", page.get("dialog", LAMPS))
    page.run("await new Promise((done) => setTimeout(done, 1200));")
    handset.kill()
    host.site.stop()
    again = handset.start()
    again.open(host.url)
    note = again.get("textbox", "Note", again.get("dialog", LAMPS))
    assert note.get_attribute("value") == "half a sent"
    again.tap("button", "Save", again.get("dialog", LAMPS))
    assert [entry["kind"] for entry in saved(again, 2)] == ["walk", "finding"]
    host.site = Site(host.folder, host.path)


def test_a_known_defect_is_answered_in_one_tap(handset: Handset, site: Site, tmp_path: Path) -> None:
    opening = "0199f5c3-4e90-7a0d-b3c8-1d2e3f4a5b03"
    defect = {
        "defect": opening, "code": "kettle-7k3qd", "vehicle": "kettle", "check": "nose/lamps", "fault": "one-out",
        "fault_name": "One lamp out", "severity": "minor", "status": "open", "first_day": "2026-10-03",
        "last_day": "2026-10-03", "seen_by": ["TA"],
    }  # fmt: skip
    carry = {
        "driptray": 1, "carry": True, "fleet": "brackle-down", "edition": "x", "made": "2026-10-16T20:00:00+01:00",
        "knows": {"desk-1": 12}, "defects": [defect],
    }  # fmt: skip
    (tmp_path / "carry.txt").write_text(json.dumps(carry), "utf-8")
    page = handset.start()
    arrive(page, site.url)
    page.run("location.hash = '#/hand-in';")
    page.get("file", "Open a carry file").send_keys(str(tmp_path / "carry.txt"))
    page.until(lambda: "1 known defect" in page.text(), "the carry")
    page.run("location.hash = '#/';")
    start(page, "Before running")
    page.tap("radio", "Still there", page.get("group", "Known: One lamp out"))
    started, answer = saved(page, 2)
    assert started["knows"] == {"desk-1": 12}
    assert (answer["verdict"], answer["defect"]) == ("same", opening)


def test_while_one_tab_walks_the_other_says_so(handset: Handset, site: Site) -> None:
    page = handset.start()
    arrive(page, site.url)
    start(page, "Before running")
    address = page.driver.current_url
    first = page.driver.current_window_handle
    page.driver.switch_to.new_window("window")
    page.open(address)
    page.until(lambda: "Another tab is walking" in page.text(), "the warning")
    second = page.driver.current_window_handle
    page.driver.switch_to.window(first)
    page.driver.close()
    page.driver.switch_to.window(second)
    page.get("group", LAMPS, exact=True)


def test_a_new_version_never_goes_over_a_draft(handset: Handset, host: Host) -> None:
    page = handset.start()
    arrive(page, host.url)
    start(page, "Before running")
    mark(page, LAMPS, "Defect")
    page.write("textbox", "Note", "half a sent", page.get("dialog", LAMPS))
    page.run("await new Promise((done) => setTimeout(done, 1200));")
    host.change("index.html", b"</body>", b"<!-- new --></body>")
    said = page.run(
        "const from = (name) => import(new URL(`js/${name}.js`, document.baseURI).href);"
        "const { Update } = await from('update'); const { Drafts } = await from('drafts');"
        "const { openStorage } = await from('storage');"
        "const update = new Update(new Drafts(await openStorage('brackle-down')));"
        "const waits = new Promise((done) => update.addEventListener('waiting', done));"
        "await update.start(document.baseURI); await update.look(); await waits; return update.takeOver();"
    )
    assert said == "draft"


def test_a_full_phone_keeps_the_finding_and_says_that_the_photo_is_not_kept(handset: Handset, site: Site) -> None:
    page = handset.start(room_kb=6000)
    arrive(page, site.url)
    code = page.run(
        "const from = (name) => import(new URL(`js/${name}.js`, document.baseURI).href);"
        "const { openStorage } = await from('storage'); const storage = await openStorage('brackle-down');"
        "const bytes = crypto.getRandomValues(new Uint8Array(65536)).buffer;"
        "const large = await new Blob(Array.from({ length: 160 }, () => bytes)).arrayBuffer();"
        "return storage.write(['photos'], (work) => work.put('photos', { sha256: 'x', type: 'image/jpeg',"
        " bytes: large, at: '' })).then(() => 'kept', (error) => error.code ?? String(error));"
    )
    assert code == "storage-full"
    start(page, "Before running")
    mark(page, LAMPS, "Sound")
    assert [entry["kind"] for entry in saved(page, 2)] == ["walk", "finding"]
