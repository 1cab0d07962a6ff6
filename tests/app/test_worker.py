"""The worker: offline after one visit, from any sub-path; a new version waits for consent, never over a draft."""

import re
import shutil
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Page, expect

from builder.assets import finish
from builder.commands import app_files
from builder.write import write_site
from tests.app.browsers import Site
from tests.app.conftest import SAMPLE

READY = "() => navigator.serviceWorker.ready.then(() => navigator.serviceWorker.controller !== null)"


class Host:
    """A static host whose folder can be built anew while phones use it."""

    def __init__(self, folder: Path, path: str) -> None:
        self.folder = folder
        self.path = path
        self.files = dict(app_files(SAMPLE))
        write_site(folder, self.files)
        self.site = Site(folder, path)

    @property
    def url(self) -> str:
        return self.site.url

    def change(self, path: str, old: bytes, new: bytes) -> None:
        """A new version: one file has other bytes, and so the worker another list."""
        sources = {**app_files(SAMPLE), "worker.js": (SAMPLE.parent / "web_templates/app/worker.js").read_bytes()}
        assert old in sources[path]
        write_site(self.folder, finish({**sources, path: sources[path].replace(old, new, 1)}))

    def stop(self) -> None:
        self.site.stop()


@pytest.fixture(params=["/", "/sheds/walk/"])
def host(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[Host]:
    running = Host(tmp_path / "app", request.param)
    yield running
    running.stop()


@pytest.fixture
def here(tmp_path: Path) -> Iterator[Host]:
    running = Host(tmp_path / "app", "/app/")
    yield running
    running.stop()


def visited(handset: BrowserContext, url: str) -> Page:
    """A page whose worker is active and has taken it."""
    page = handset.new_page()
    page.goto(url)
    page.wait_for_function(READY)
    return page


def introduce(page: Page) -> None:
    page.get_by_role("radio", name="MF", exact=True).check(force=True)
    page.get_by_role("button", name="To the vehicles").click()
    expect(page.get_by_role("link", name=re.compile("^Kettle"))).to_be_visible()


def version(page: Page) -> str:
    return str(page.evaluate("async () => (await (await import('./js/ready.js')).askWorker())?.version"))


def test_after_one_visit_the_app_opens_without_a_network_from_any_sub_path(handset: BrowserContext, host: Host) -> None:
    page = visited(handset, host.url)
    introduce(page)
    host.site.stop()
    page.close()
    again = handset.new_page()
    again.goto(host.url)
    expect(again.get_by_role("link", name=re.compile("^Kettle"))).to_be_visible()
    host.site = Site(host.folder, host.path)


def test_a_labels_address_opens_its_vehicle_offline(handset: BrowserContext, here: Host) -> None:
    page = visited(handset, here.url)
    introduce(page)
    here.site.stop()
    page.close()
    again = handset.new_page()
    again.goto(f"{here.url}#/v/thimble")
    expect(again.get_by_role("heading", name="Thimble", level=1)).to_be_visible()
    here.site = Site(here.folder, here.path)


def test_every_file_is_in_the_cache_with_the_bytes_it_was_built_with(handset: BrowserContext, here: Host) -> None:
    page = visited(handset, here.url)
    wrong = page.evaluate(
        "async () => { const { askWorker } = await import('./js/ready.js');"
        " const { sha256 } = await import('./js/bytes.js');"
        " const list = await askWorker(); const cache = await caches.open(list.cache); const wrong = [];"
        " for (const [path, hash] of Object.entries(list.files)) {"
        "  const kept = await cache.match(new URL(path, document.baseURI).href);"
        "  if (!kept || await sha256(await kept.arrayBuffer()) !== hash) wrong.push(path); }"
        " return [Object.keys(list.files).length, wrong]; }"
    )
    assert wrong[0] == len(here.files) - 1
    assert wrong[1] == []


def test_a_host_that_serves_other_bytes_than_were_built_gives_no_worker(handset: BrowserContext, here: Host) -> None:
    (here.folder / "js/judge.js").write_bytes(b"export const judge = () => ({ position: 'within' });\n")
    page = handset.new_page()
    page.goto(f"{here.url}")
    state = page.evaluate(
        "async () => { const registration = await navigator.serviceWorker.register('worker.js');"
        " const worker = registration.installing ?? registration.waiting ?? registration.active;"
        " if (!worker || worker.state === 'redundant') return 'redundant';"
        " return new Promise((done) => worker.addEventListener('statechange', () => {"
        "  if (['redundant', 'activated'].includes(worker.state)) done(worker.state); })); }"
    )
    assert state == "redundant"


def test_a_new_version_waits_until_the_walker_says_yes(handset: BrowserContext, here: Host) -> None:
    page = visited(handset, here.url)
    introduce(page)
    old = version(page)
    here.change("index.html", b"</body>", b"<!-- new --></body>")
    page.reload()
    expect(page.get_by_role("dialog")).to_be_visible()
    assert version(page) == old
    page.get_by_role("dialog").get_by_role("button").first.click()
    page.wait_for_function(
        "(old) => import('./js/ready.js').then((m) => m.askWorker()).then((l) => l && l.version !== old)", arg=old
    )
    expect(page.get_by_role("link", name=re.compile("^Kettle"))).to_be_visible()


def test_the_apps_other_tabs_load_the_version_that_one_took(handset: BrowserContext, here: Host) -> None:
    first = visited(handset, here.url)
    introduce(first)
    other = visited(handset, here.url)
    other.evaluate("window.loadedBefore = true")
    here.change("index.html", b"</body>", b"<!-- new --></body>")
    first.reload()
    first.get_by_role("dialog").get_by_role("button").first.click()
    other.wait_for_function("() => !window.loadedBefore")
    expect(other.get_by_role("link", name=re.compile("^Kettle"))).to_be_visible()


def test_a_tab_with_a_form_half_filled_in_is_told_and_not_loaded_again(handset: BrowserContext, here: Host) -> None:
    first = visited(handset, here.url)
    introduce(first)
    other = visited(handset, f"{here.url}#/v/kettle")
    here.change("index.html", b"</body>", b"<!-- new --></body>")
    first.reload()
    taking = first.get_by_role("dialog").get_by_role("button").first
    expect(taking).to_be_visible()
    other.get_by_role("dialog").get_by_role("button").last.click()
    other.evaluate(
        "async () => { const { Drafts } = await import('./js/drafts.js');"
        " const { openStorage } = await import('./js/storage.js');"
        " await new Drafts(await openStorage('brackle-down')).keep('run\\nkettle\\n\\n\\n', { note: 'half' });"
        " const waiting = (await navigator.serviceWorker.getRegistration()).waiting;"
        " waiting.postMessage({ ask: 'take over' }); }"
    )
    expect(other.get_by_role("alert")).to_contain_text("A new version has taken over")


def test_a_new_version_that_was_put_off_leaves_the_old_one_working_offline(handset: BrowserContext, here: Host) -> None:
    page = visited(handset, here.url)
    introduce(page)
    old = version(page)
    here.change("index.html", b"</body>", b"<!-- new --></body>")
    page.reload()
    page.get_by_role("dialog").get_by_role("button").last.click()
    here.site.stop()
    page.reload()
    expect(page.get_by_role("link", name=re.compile("^Kettle"))).to_be_visible()
    assert version(page) == old
    here.site = Site(here.folder, here.path)


def test_a_new_version_never_goes_over_a_draft(handset: BrowserContext, here: Host) -> None:
    page = visited(handset, here.url)
    introduce(page)
    old = version(page)
    page.goto(f"{here.url}#/v/kettle")
    page.get_by_role("button", name="Start walk-round").click()
    page.get_by_role("radio", name="Defect", exact=True).first.dispatch_event("click")
    page.get_by_label("Note").fill("half a sent")
    page.wait_for_timeout(800)
    here.change("index.html", b"</body>", b"<!-- new --></body>")
    said = page.evaluate(
        "async () => { const { Update } = await import('./js/update.js');"
        " const { Drafts } = await import('./js/drafts.js');"
        " const { openStorage } = await import('./js/storage.js');"
        " const update = new Update(new Drafts(await openStorage('brackle-down')));"
        " const waits = new Promise((done) => update.addEventListener('waiting', done));"
        " await update.start(document.baseURI); await update.look(); await waits; return update.takeOver(); }"
    )
    assert said == "draft"
    assert version(page) == old
    page.reload()
    note = page.get_by_label("Note")
    expect(note).to_have_value("half a sent")
    expect(page.get_by_role("dialog")).to_have_count(1)  # the form's: no question stands over it


def test_unsent_data_of_the_old_version_is_handed_in_by_the_new(handset: BrowserContext, here: Host) -> None:
    page = visited(handset, here.url)
    introduce(page)
    page.goto(f"{here.url}#/v/kettle")
    page.get_by_role("button", name="Start walk-round").click()
    expect(page.get_by_role("heading", level=2).first).to_be_visible()
    here.change("js/handin.js", b"export const SPLIT", b"/* new */ export const SPLIT")
    page.goto(f"{here.url}#/hand-in")
    page.reload()
    page.get_by_role("dialog").get_by_role("button").first.click()
    page.wait_for_load_state()
    with page.expect_download() as waiting:
        page.get_by_role("button", name="Save hand-in file").click()
    assert '"kind":"walk"' in waiting.value.path().read_text("utf-8")


def test_a_file_that_did_not_change_is_not_fetched_again(handset: BrowserContext, here: Host) -> None:
    page = visited(handset, here.url)
    introduce(page)
    shutil.rmtree(here.folder / "js")  # gone from the host: only the cache has them
    here_files = {p: d for p, d in here.files.items() if not p.startswith("js/")}
    worker = (SAMPLE.parent / "web_templates/app/worker.js").read_bytes()
    changed = finish({**here.files, "worker.js": worker, "index.html": here.files["index.html"] + b"\n"})
    for path in here_files:
        (here.folder / path).write_bytes(changed[path])
    state = page.evaluate(
        "async () => { const registration = await navigator.serviceWorker.getRegistration();"
        " await registration.update(); const worker = registration.installing ?? registration.waiting;"
        " if (worker.state === 'installed') return worker.state;"
        " return new Promise((done) => worker.addEventListener('statechange', () => done(worker.state))); }"
    )
    assert state == "installed"
