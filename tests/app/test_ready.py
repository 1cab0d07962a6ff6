""" "Ready for the field": an item is good only when it was proven here, and each failure is seen."""

from typing import Any

import pytest
from playwright.sync_api import BrowserContext, expect

from tests.app.browsers import Site
from tests.app.person import Person

ITEMS = """async (spoil) => {
  await eval(`(async () => { ${spoil} })()`);
  const from = (name) => import(new URL(`js/${name}.js`, document.baseURI).href);
  const { readyForTheField } = await from("ready");
  const { openStorage } = await from("storage");
  const { Carries } = await from("carry");
  const storage = await openStorage("brackle-down");
  const carries = new Carries(storage, "brackle-down");
  const workshop = async () => window.workshop ?? null;
  const items = await readyForTheField({ storage, carries, workshop, now: () => new Date() });
  return Object.fromEntries(items.map((item) => [item.id, item]));
}"""


@pytest.fixture
def arrived(handset: BrowserContext, site: Site) -> Person:
    person = Person(handset.new_page(), site.url)
    person.arrive()
    return person


def items(person: Person, spoil: str = "") -> dict[str, dict[str, Any]]:
    # The page's own policy forbids eval; a test may.
    session = person.page.context.new_cdp_session(person.page)
    session.send("Page.setBypassCSP", {"enabled": True})
    person.page.reload()
    expect(person.page.get_by_role("searchbox")).to_be_visible()
    return dict(person.page.evaluate(ITEMS, spoil))


def test_on_a_phone_that_works_offline_the_worker_and_every_file_are_proven(arrived: Person) -> None:
    found = items(arrived)
    assert {key: found[key]["ok"] for key in ("secure", "worker", "files", "saving", "room")} == {
        "secure": True, "worker": True, "files": True, "saving": True, "room": True,
    }  # fmt: skip


SPOILED = {
    "files": (
        "const name = (await caches.keys())[0]; const cache = await caches.open(name);"
        "await cache.put(new URL('js/judge.js', document.baseURI).href, new Response('other bytes'));",
        "missing-files",
    ),
    "room": ("navigator.storage.estimate = async () => ({ quota: 2000000, usage: 1900000 });", "short"),
    "persistent": (
        "navigator.storage.persisted = async () => false; navigator.storage.persist = async () => false;", "no",
    ),
    "private": (
        "navigator.storage.getDirectory = async () => { throw new DOMException('no', 'SecurityError'); };", "private",
    ),
    "camera": ("navigator.mediaDevices.enumerateDevices = async () => [];", "none"),
    "clock": ("window.workshop = { seen: new Date().toISOString(), name: 'x', offset_s: -4000 };", "wrong"),
    "saving": ("IDBObjectStore.prototype.get = function () { return this.count('nothing'); };", "no"),
    "worker": (
        "Object.defineProperty(navigator.serviceWorker, 'controller', { value: null });", "not-yet",
    ),
}  # fmt: skip


@pytest.mark.parametrize("item", SPOILED)
def test_what_is_not_so_is_never_green(arrived: Person, item: str) -> None:
    spoil, state = SPOILED[item]
    found = items(arrived, spoil)[item]
    assert (found["ok"], found["state"]) == (False, state)


def test_what_cannot_be_told_is_neither_good_nor_bad(arrived: Person) -> None:
    found = items(arrived)
    assert {key: found[key]["ok"] for key in ("clock", "workshop", "known")} == {
        "clock": None, "workshop": None, "known": None,
    }  # fmt: skip


def test_an_item_that_cannot_be_tried_is_told_as_failed(arrived: Person) -> None:
    found = items(arrived, "navigator.storage.estimate = async () => { throw new TypeError('no estimate'); };")
    assert (found["room"]["ok"], found["room"]["state"]) == (False, "failed")


def test_the_page_names_each_item_and_what_to_do(arrived: Person) -> None:
    arrived.page.evaluate("location.hash = '#/ready'")
    expect(arrived.page.get_by_role("heading", name="Ready for the field")).to_be_visible()
    expect(arrived.page.get_by_role("main").get_by_role("listitem")).not_to_have_count(0)
