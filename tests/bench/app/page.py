"""Times on a throttled page: tap to durable, cold start, opening a vehicle; each against a peer in the same run."""

import re
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, BrowserContext, Page, expect, sync_playwright

from builder.assets import finish
from builder.commands import WEB_TEMPLATES, app_files
from builder.write import write_site
from tests.app.browsers import chromium, phone, served
from tests.app.person import Person
from tests.bench.app.figures import line, ratio
from tests.bench.app.size import SAMPLE

THROTTLE = 4
STORED = 10_000
# One tap at a time, and one bare put after it, in the same page.
TAPS = """
async ([rounds, size]) => {
  const open = indexedDB.open("bare", 1);
  open.onupgradeneeded = () => open.result.createObjectStore("bare", { keyPath: "n" });
  const bare = await new Promise((done) => { open.onsuccess = () => done(open.result); });
  const put = (n) => new Promise((done) => {
    const start = performance.now();
    const transaction = bare.transaction("bare", "readwrite", { durability: "strict" });
    transaction.oncomplete = () => done(performance.now() - start);
    transaction.objectStore("bare").put({ n, line: "x".repeat(size) });
  });
  let durable = () => {};
  const plain = IDBDatabase.prototype.transaction;
  IDBDatabase.prototype.transaction = function (stores, mode, options) {
    const made = plain.call(this, stores, mode, options);
    const writes = mode === "readwrite" && made.objectStoreNames.contains("entries");
    if (writes) made.addEventListener("complete", () => durable());
    return made;
  };
  const plates = [...document.querySelectorAll("input[type=radio][value=sound]")];
  const sound = plates.find((radio) => !radio.closest("fieldset").querySelector("input[type=text]"));
  const rest = (ms) => new Promise((done) => setTimeout(done, ms));
  const taps = []; const puts = [];
  for (let n = 0; n < rounds; n += 1) {
    const saved = new Promise((done) => { durable = done; });
    const start = performance.now();
    sound.click();
    await saved;
    taps.push(performance.now() - start);
    await rest(150);
    puts.push(await put(n));
    await rest(30);
  }
  bare.close();
  return { taps: taps.slice(3), puts: puts.slice(3) };
}
"""
SHOWN = """
async (address) => {
  const painted = (done) => requestAnimationFrame(() => setTimeout(done, 0));
  const shown = new Promise((done) => window.addEventListener("shown", () => painted(done), { once: true }));
  const start = performance.now();
  location.hash = address;
  await shown;
  return performance.now() - start;
}
"""
FILL = """
async (count) => {
  const { openStorage } = await import(new URL("js/storage.js", document.baseURI).href);
  const storage = await openStorage("brackle-down");
  await storage.write(["entries", "state"], async (work) => {
    const { device, seq } = await work.get("state", "device");
    for (let n = 1; n <= count; n += 1) {
      const walk = `0199f5c2-7d10-7c3e-9a51-${String(Math.floor(n / 60)).padStart(12, "0")}`;
      const id = `0199f5c3-02aa-7b11-8d20-${String(n).padStart(12, "0")}`;
      const kind = n % 60 === 0 ? "walk" : "finding";
      const at = "2026-10-18T08:33:15.004+01:00";
      const plain = { id, device, seq: seq + n, at, by: "MF", edition: "3f9c2a71", kind, walk, vehicle: "anvil" };
      const start = { id: walk, round: "cold", day: "2026-10-18", state: "started", knows: {}, covered: 0, of: 24 };
      const sound = { check: "left-track/sag", result: "sound", photos: [] };
      const entry = { ...plain, ...(kind === "walk" ? start : sound) };
      await work.add("entries", { device, seq: seq + n, id: entry.id, kind, walk, line: JSON.stringify(entry) });
    }
    await work.put("state", { device, seq: seq + count }, "device");
  });
  storage.close();
}
"""
USABLE = """
window.addEventListener("DOMContentLoaded", () => {
  const look = () => {
    if (document.querySelector("[href='#/v/kettle'], #usable")) window.usableAt ??= performance.now();
    else requestAnimationFrame(look);
  };
  look();
});
"""
EMPTY = (
    b"<!DOCTYPE html><html lang='en'><head><meta charset='utf-8'><title>Empty</title></head>"
    b"<body><ul><li id='usable'>One</li></ul></body></html>"
)


def lines() -> Iterator[str]:
    """The report, line by line."""
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        browser = chromium(playwright)
        app, empty = Path(name) / "app", Path(name) / "empty"
        write_site(app, app_files(SAMPLE))
        write_site(empty, finish({"index.html": EMPTY, "edition.json": b"{}", "worker.js": worker()}))
        with served(app) as site:
            yield from walked(browser, site.url)
        yield from started(browser, app, empty)
        browser.close()


def worker() -> bytes:
    return (WEB_TEMPLATES / "app/worker.js").read_bytes()


def throttled(page: Page) -> None:
    session = page.context.new_cdp_session(page)
    session.send("Emulation.setCPUThrottlingRate", {"rate": THROTTLE})


def walked(browser: Browser, url: str) -> Iterator[str]:
    """Taps and opening, with few entries stored and then with many."""
    context = phone(browser)
    person = Person(context.new_page(), url)
    person.arrive()
    person.start("Kettle", "Full")
    walk = person.page.evaluate("location.hash.split('/').slice(0, 3).join('/')")
    throttled(person.page)
    few = measured(person, walk)
    person.page.evaluate(FILL, STORED)
    person.page.reload()
    expect(person.page.get_by_role("navigation", name="Stations")).to_be_visible()
    many = measured(person, walk)
    context.close()
    yield line("tap to durable", few["taps"], "ms", most=50)
    yield line("  a bare strict put in the same page", few["puts"], "ms")
    yield ratio("  tap against bare put", few["taps"], few["puts"], most=1.5)
    yield line("opening a vehicle of 130 checks", few["opened"], "ms", most=200)
    yield line(f"tap to durable, {STORED:,} entries stored", many["taps"], "ms")
    yield ratio("  against few entries", many["taps"], few["taps"], most=1.2)
    yield line(f"opening a vehicle, {STORED:,} entries stored", many["opened"], "ms")
    yield ratio("  against few entries", many["opened"], few["opened"], most=1.2)


def measured(person: Person, walk: str) -> dict[str, Any]:
    person.page.evaluate("(walk) => { location.hash = walk + '/left-side'; }", walk)
    expect(person.page.get_by_role("heading", level=2, name=re.compile("Left side"))).to_be_visible()
    found = dict(person.page.evaluate(TAPS, [33, 260]))
    opened = []
    for _ in range(13):
        person.page.evaluate(SHOWN, "#/v/kettle")
        opened.append(person.page.evaluate(SHOWN, f"{walk}/left-track"))
    return {**found, "opened": opened[2:]}


def started(browser: Browser, app: Path, empty: Path) -> Iterator[str]:
    """Offline cold starts, the app's and an empty page's by turns; the worker is stopped before each."""
    times: dict[str, list[float]] = {"app": [], "empty": []}
    with served(app) as site, served(empty) as peer:
        contexts = {"app": phone(browser), "empty": phone(browser)}
        Person(contexts["app"].new_page(), site.url).arrive()
        page = contexts["empty"].new_page()
        page.goto(peer.url)
        page.evaluate("navigator.serviceWorker.register('worker.js').then(() => navigator.serviceWorker.ready)")
        urls = {"app": site.url, "empty": peer.url}
    for _ in range(13):
        for name, context in contexts.items():
            times[name].append(cold(context, urls[name]))
    for context in contexts.values():
        context.close()
    yield line("offline cold start to the vehicle list", times["app"][2:], "ms", most=500)
    yield line("  an empty page under the same worker", times["empty"][2:], "ms")
    yield ratio("  app against empty page", times["app"][2:], times["empty"][2:], most=2)


def cold(context: BrowserContext, url: str) -> float:
    for old in context.pages:
        old.close()
    page = context.new_page()
    session = context.new_cdp_session(page)
    session.send("ServiceWorker.enable")
    session.send("ServiceWorker.stopAllWorkers")
    throttled(page)
    page.add_init_script(USABLE)
    page.goto(url)
    page.wait_for_function("() => window.usableAt")
    return float(page.evaluate("window.usableAt"))
