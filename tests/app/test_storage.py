"""Nothing lost: the database fills up, goes away, is wiped, or is upgraded, and what was saved is still there."""

from typing import Any

import pytest
from playwright.sync_api import BrowserContext

from tests.app.browsers import Site
from tests.app.conftest import Bench

START = """
const { openStorage, Storage } = await load("storage");
const { Log } = await load("log");
const storage = await openStorage("trial");
const log = new Log(storage, { code: "trial", edition: "3f9c2a71" });
const report = { kind: "report", vehicle: "badger", source: "driver", symptom: "pulls", photos: [] };
"""


def seqs(bench: Bench) -> list[int]:
    return list(bench.run(START + "return (await log.records()).map((record) => record.seq);"))


def wipe(bench: Bench) -> None:
    """The database goes, as a browser short of room takes it."""
    bench.page.reload()
    bench.run("await new Promise((done) => { indexedDB.deleteDatabase('driptray-trial').onsuccess = done; });")


def test_every_write_asks_for_strict_durability(bench: Bench) -> None:
    asked = bench.run(
        "const asked = []; const plain = IDBDatabase.prototype.transaction;"
        "IDBDatabase.prototype.transaction = function (stores, mode, options) {"
        " if (mode === 'readwrite') asked.push(options?.durability); return plain.call(this, stores, mode, options); };"
        + START
        + "const { Drafts } = await load('drafts'); await new Drafts(storage).keep('a', { note: 'x' });"
        "await log.append(report); return asked;"
    )
    assert len(asked) >= 2
    assert set(asked) == {"strict"}


def test_a_write_resolves_only_when_its_transaction_is_complete(bench: Bench) -> None:
    order = bench.run(
        "const order = []; const plain = IDBDatabase.prototype.transaction;"
        "IDBDatabase.prototype.transaction = function (...all) { const t = plain.apply(this, all);"
        " if (all[1] === 'readwrite') t.addEventListener('complete', () => order.push('complete')); return t; };"
        + START
        + "order.length = 0; await log.append(report); order.push('saved'); return order;"
    )
    assert order == ["complete", "saved"]


def test_a_write_that_is_aborted_is_told_and_leaves_no_gap(bench: Bench) -> None:
    said = bench.run(
        START + "await log.append(report);"
        "const told = await storage.write(['entries', 'state'], async (work) => {"
        " await work.put('state', { device: 'd-x', seq: 9 }, 'device'); throw new RangeError('half way'); })"
        ".catch((error) => error.message); await log.append(report); return told;"
    )
    assert said == "half way"
    assert seqs(bench) == [1, 2]


def test_a_connection_that_is_lost_is_opened_again_and_the_entry_written_once(bench: Bench) -> None:
    bench.run(
        START + "await log.append(report);"
        "storage.close = ((plain) => function () { plain.call(this); })(storage.close);"
        "const plain = IDBDatabase.prototype.transaction; let broken = false;"
        "IDBDatabase.prototype.transaction = function (...all) { if (!broken) { broken = true; this.close();"
        " throw new DOMException('Connection to Indexed Database server lost', 'UnknownError'); }"
        " return plain.apply(this, all); };"
        "await log.append(report);"
    )
    assert seqs(bench) == [1, 2]


def test_all_who_were_reading_when_a_connection_was_lost_get_their_answer(bench: Bench) -> None:
    """Whoever opens it again second must not close what the first has opened."""
    counts, opened = bench.run(
        START + "await log.append(report);"
        "const plain = IDBDatabase.prototype.transaction; let first = null;"
        "IDBDatabase.prototype.transaction = function (...all) { first ??= this;"
        " if (this === first) { this.close(); throw new DOMException('lost', 'UnknownError'); }"
        " return plain.apply(this, all); };"
        "const open = IDBFactory.prototype.open; let opened = 0;"
        "IDBFactory.prototype.open = function (...all) { opened += 1; return open.apply(this, all); };"
        "const count = () => storage.read(['entries'], (work) => work.count('entries'));"
        "const counts = await Promise.all([count(), count(), count(), count()]);"
        "return [counts, opened];"
    )
    assert counts == [1, 1, 1, 1]
    assert opened == 1


def test_an_entry_that_got_through_before_the_connection_was_lost_is_not_written_twice(bench: Bench) -> None:
    bench.run(
        START + "await log.append(report);"
        "const plain = IDBDatabase.prototype.transaction; let broken = false;"
        "IDBDatabase.prototype.transaction = function (...all) { const t = plain.apply(this, all);"
        " if (!broken && all[1] === 'readwrite') { broken = true;"
        # The bytes are down, but the page is told that the connection died: what WebKit does.
        "  const lost = new DOMException('lost', 'UnknownError'); Object.defineProperty(t, 'error', { value: lost });"
        "  t.addEventListener('complete', (event) => { event.stopImmediatePropagation(); t.onabort(event); },"
        "   { capture: true }); } return t; };"
        "await log.append(report);"
    )
    assert seqs(bench) == [1, 2]


def test_a_full_phone_is_told_so_and_keeps_the_finding_without_its_photo(bench: Bench) -> None:
    code, photos = bench.run(
        START + "const { Photos } = await load('photo'); const photos = new Photos(storage);"
        "const canvas = new OffscreenCanvas(40, 30); canvas.getContext('2d').fillRect(0, 0, 20, 20);"
        "const blob = await canvas.convertToBlob({ type: 'image/png' });"
        "const plain = IDBObjectStore.prototype.put;"
        "IDBObjectStore.prototype.put = function (value, key) { if (this.name === 'photos') {"
        " this.transaction.abort(); throw new DOMException('full', 'QuotaExceededError'); }"
        " return plain.call(this, value, key); };"
        "const code = await photos.take(blob).catch((error) => error.code);"
        "await log.append({ ...report, symptom: 'pulls left' });"
        "return [code, await storage.read(['photos'], (work) => work.count('photos'))];"
    )
    assert (code, photos) == ("photo-full", 0)
    assert seqs(bench) == [1]


def test_a_really_full_origin_is_told_as_full(handset: BrowserContext, site: Site) -> None:
    page = handset.new_page()
    bench = Bench(page, site)
    session = handset.new_cdp_session(page)
    session.send("Storage.overrideQuotaForOrigin", {"origin": site.url.rstrip("/"), "quotaSize": 3_000_000})
    bench.run(START + "await log.append(report);")
    code = bench.run(
        START + "const bytes = crypto.getRandomValues(new Uint8Array(60000)).buffer;"
        "try { for (let n = 0; n < 100; n += 1) await storage.write(['photos'], (work) =>"
        " work.put('photos', { sha256: String(n), type: 'image/jpeg', bytes, at: '' })); return 'none'; }"
        "catch (error) { return error.code ?? String(error); }"
    )
    assert code == "storage-full"
    session.send("Storage.overrideQuotaForOrigin", {"origin": site.url.rstrip("/")})
    assert seqs(bench) == [1]


def test_a_phone_whose_database_was_wiped_is_told_apart_from_a_new_one(bench: Bench) -> None:
    past = START + "return log.past();"
    assert bench.run(past)["state"] == "new"
    device = bench.run(START + "await log.append(report); await log.append(report); return log.device();")
    assert bench.run(past)["state"] == "kept"
    wipe(bench)
    wiped = bench.run(past)
    assert wiped["state"] == "wiped"
    assert (wiped["lost"]["device"], wiped["lost"]["seq"]) == (device, 2)


def test_a_wiped_phone_writes_on_under_a_new_device_id(bench: Bench) -> None:
    before = bench.run(START + "await log.append(report); return log.device();")
    wipe(bench)
    after = bench.run(START + "await log.append(report); return log.device();")
    assert after != before
    assert seqs(bench) == [1]


def test_a_newer_app_in_another_tab_is_let_upgrade_and_this_page_is_told(bench: Bench) -> None:
    events, code, version = bench.run(
        START + "await log.append(report); const events = [];"
        "storage.addEventListener('replaced', () => events.push('replaced'));"
        "const version = await new Promise((done, fail) => { const ask = indexedDB.open('driptray-trial', 99);"
        " ask.onsuccess = () => { done(ask.result.version); ask.result.close(); };"
        " ask.onblocked = () => fail(new Error('blocked')); });"
        "const code = await log.append(report).catch((error) => error.code);"
        "return [events, code, version];"
    )
    assert (events, code, version) == (["replaced"], "storage-newer", 99)


def test_an_older_app_finds_a_newer_database_and_says_so(bench: Bench) -> None:
    code = bench.run(
        "await new Promise((done) => { const ask = indexedDB.open('driptray-trial', 99);"
        " ask.onsuccess = () => { ask.result.close(); done(); }; });"
        "const { openStorage } = await load('storage');"
        "return openStorage('trial').then(() => 'opened', (error) => error.code);"
    )
    assert code == "storage-newer"


def test_an_upgrade_held_up_by_an_older_tab_is_told(bench: Bench) -> None:
    events = bench.run(
        "const { Storage } = await load('storage');"
        "const old = await new Promise((done) => { const ask = indexedDB.open('driptray-late', 0.5 + 0.5);"
        " ask.onsuccess = () => done(ask.result); });"
        "const events = []; const factory = { open: (name) => indexedDB.open(name, 2) };"
        "const storage = new Storage('driptray-late', factory);"
        "storage.addEventListener('blocked', () => { events.push('blocked'); old.close(); });"
        "await storage.open(); return events;"
    )
    assert events == ["blocked"]


def test_two_tabs_that_write_at_once_share_one_row_of_numbers(handset: BrowserContext, site: Site) -> None:
    first, second = Bench(handset.new_page(), site), Bench(handset.new_page(), site)
    for bench in (first, second):
        bench.run(START + "window.writing = Promise.all(Array.from({ length: 15 }, () => log.append(report)));")
    for bench in (first, second):
        bench.page.evaluate("() => window.writing.then(() => null)")
    assert seqs(first) == list(range(1, 31))


@pytest.mark.parametrize("clock", ["2031-01-01T00:00:00Z", "1999-12-31T23:59:59Z"])
def test_a_clock_that_jumps_changes_the_time_shown_and_not_the_order(bench: Bench, clock: str) -> None:
    entries: list[dict[str, Any]] = bench.run(
        START + "await log.append(report); log.now = () => new Date(given); await log.append(report);"
        "return (await log.records()).map((record) => JSON.parse(record.line));",
        clock,
    )
    assert [entry["seq"] for entry in entries] == [1, 2]
    assert entries[1]["at"].startswith(clock[:4])
