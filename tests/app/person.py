"""A person with a phone of the sample fleet: what they do, by accessible names."""

import re
from typing import Any

from playwright.sync_api import Locator, Page, expect

CONTROLLED = "() => navigator.serviceWorker.ready.then(() => navigator.serviceWorker.controller !== null)"


class Person:
    """One page of the app and whoever taps on it."""

    def __init__(self, page: Page, url: str) -> None:
        self.page = page
        self.url = url

    def arrive(self, by: str = "MF") -> None:
        """First visit: who walks; the worker has everything when this returns."""
        self.page.goto(self.url)
        self.page.get_by_role("radio", name=by, exact=True).check(force=True)
        self.page.get_by_role("button", name="To the vehicles").click()
        expect(self.page.get_by_role("searchbox")).to_be_visible()
        self.page.wait_for_function(CONTROLLED)

    def start(self, vehicle: str, round_name: str) -> None:
        self.page.get_by_role("link", name=re.compile(f"^{vehicle}")).click()
        rounds = self.page.get_by_role("group", name="Round")
        rounds.get_by_role("radio", name=re.compile(f"^{round_name}")).check(force=True)
        self.page.get_by_role("button", name="Start walk-round").click()
        expect(self.page.get_by_role("navigation", name="Stations")).to_be_visible()

    def go_to(self, station: str) -> None:
        heading = self.page.get_by_role("heading", level=2, name=re.compile(rf"^\d+\. {station}$"))
        if not heading.is_visible():
            link = re.compile(rf"^\d+\. {station},")
            self.page.get_by_role("navigation", name="Stations").get_by_role("link", name=link).click()
        expect(heading).to_be_visible()

    def check(self, ask: str) -> Locator:
        return self.page.get_by_role("group", name=ask, exact=True)

    def tap(self, ask: str, result: str) -> None:
        self.check(ask).get_by_role("radio", name=result, exact=True).dispatch_event("click")

    def mark_sound(self, ask: str) -> None:
        """Until the app says that it is saved."""
        self.tap(ask, "Sound")
        expect(self.check(ask).get_by_role("radio", name="Sound", exact=True)).to_be_checked()
        card = self.page.get_by_role("article").filter(has=self.check(ask))
        expect(card).to_contain_text("Saved")

    @property
    def form(self) -> Locator:
        return self.page.get_by_role("dialog")

    def choose_fault(self, fault: str) -> None:
        self.form.get_by_role("group", name="Fault").get_by_role("radio", name=fault, exact=True).check(force=True)

    def save(self) -> None:
        self.form.get_by_role("button", name="Save").click()
        expect(self.form).to_have_count(0)

    def finish(self, why: str = "No time") -> None:
        self.page.evaluate("location.hash = location.hash.split('/').slice(0, 3).join('/') + '/finish'")
        expect(self.page.get_by_role("button", name="Finish walk-round")).to_be_visible()
        reason = self.page.get_by_role("radio", name=why, exact=True)
        if reason.count():
            reason.check(force=True)
        self.page.get_by_role("button", name="Finish walk-round").click()
        expect(self.page.get_by_role("heading", name=re.compile("[Ff]inished"))).to_be_visible()

    def hand_in(self) -> str:
        """The text of the hand-in file that the app saves."""
        self.page.evaluate("location.hash = '#/hand-in'")
        with self.page.expect_download() as waiting:
            self.page.get_by_role("button", name="Save hand-in file").click()
        return waiting.value.path().read_text("utf-8")

    def entries(self) -> list[dict[str, Any]]:
        """The phone's log as it stands on its disk."""
        return list(
            self.page.evaluate(
                "async () => { const { openStorage } = await import(new URL('js/storage.js', document.baseURI).href);"
                " const storage = await openStorage('brackle-down');"
                " const all = await storage.read(['entries'], (work) => work.getAll('entries'));"
                " storage.close(); return all.map((record) => JSON.parse(record.line)); }"
            )
        )
