"""A person with a phone: the app as its screens name things, and what it wrote."""

import io
import json
from contextlib import suppress
from pathlib import Path
from typing import Any

from PIL import Image
from playwright.sync_api import BrowserContext, Locator, expect
from playwright.sync_api import Error as PlaywrightError

TRIAL = Path(__file__).parent / "trial"


def picture() -> bytes:
    """What a camera might have taken."""
    out = io.BytesIO()
    Image.linear_gradient("L").save(out, "PNG")
    return out.getvalue()


class Walker:
    """One tab of the app on one phone."""

    def __init__(self, handset: BrowserContext, url: str) -> None:
        self.handset = handset
        self.url = url
        self.page = handset.new_page()

    def open(self, route: str = "") -> "Walker":
        self.page.goto(f"{self.url}{route}")
        return self

    def introduced(self, by: str = "RM") -> "Walker":
        """Past the first question, at the board."""
        self.open()
        self.radio(by).check()
        self.button("To the vehicles").click()
        self.heading("Trial Collection").wait_for()
        return self

    def started(self, round_: str = "Hot", vehicle: str = "badger") -> "Walker":
        """On a walk-round of a vehicle, at its first station."""
        self.open(f"#/v/{vehicle}")
        self.page.get_by_role("heading", name=vehicle.capitalize(), exact=True).wait_for()
        others = self.page.get_by_text("Start another walk-round")
        if others.count():
            others.click()
        self.page.get_by_role("group", name="Round").get_by_role("radio", name=round_).check()
        self.button("Start walk-round").click()
        self.page.get_by_role("navigation", name="Stations").wait_for()
        return self

    def to(self, station: str) -> "Walker":
        self.page.get_by_role("navigation", name="Stations").get_by_role("link", name=station).click()
        self.page.get_by_role("heading", level=2, name=station).wait_for()
        return self

    def check(self, name: str) -> Locator:
        return self.page.get_by_role("group", name=name, exact=True)

    def mark(self, name: str, result: str) -> "Walker":
        """Marks a check and waits until it is said to be saved."""
        before = len(self.entries())
        self.check(name).get_by_role("radio", name=result, exact=True).check()
        self.written(before + 1)
        return self

    @property
    def form(self) -> Locator:
        return self.page.get_by_role("dialog")

    def defect(self, name: str) -> Locator:
        """The defect form of a check."""
        self.check(name).get_by_role("radio", name="Defect").click()
        expect(self.form).to_be_visible()
        return self.form

    def save(self) -> "Walker":
        before = len(self.entries())
        self.form.get_by_role("button", name="Save").click()
        self.written(before + 1)
        expect(self.form).to_have_count(0)
        return self

    def add_photo(self) -> "Walker":
        files = [{"name": "p.png", "mimeType": "image/png", "buffer": picture()}]
        self.page.get_by_label("Add photo").set_input_files(files)
        self.page.get_by_role("img", name="Photo 1").wait_for()
        return self

    def at_the_end(self) -> "Walker":
        self.page.evaluate("location.hash = location.hash.split('/').slice(0, 3).join('/') + '/finish'")
        self.heading("Before you finish").wait_for()
        return self

    def finished(self, why: str | None = None) -> "Walker":
        self.at_the_end()
        if why:
            self.radio(why).check()
        self.button("Finish walk-round").click()
        self.heading("Finished").wait_for()
        return self

    def hand_in(self, to: Path) -> list[dict[str, Any]]:
        """Saves a hand-in file; its lines."""
        self.page.evaluate("delete Navigator.prototype.share; delete Navigator.prototype.canShare")
        self.page.evaluate("location.hash = '#/hand-in'")
        self.heading("Hand in").wait_for()
        with self.page.expect_download() as download:
            self.button("Save hand-in file").click()
        download.value.save_as(to)
        return [json.loads(line) for line in to.read_text("utf-8").splitlines()]

    def entries(self) -> list[dict[str, Any]]:
        """What is in the phone's log, in order of seq; read beside the app, as it stands on the disk."""
        lines = self.page.evaluate(
            """() => new Promise((resolve, reject) => {
                const open = indexedDB.open("driptray-trial");
                open.onerror = () => reject(open.error);
                open.onsuccess = () => {
                    const all = open.result.transaction("entries").objectStore("entries").getAll();
                    all.onsuccess = () => { open.result.close(); resolve(all.result.map((r) => r.line)); };
                };
            })"""
        )
        return sorted((json.loads(line) for line in lines), key=lambda entry: entry["seq"])

    def written(self, count: int) -> "Walker":
        """Waits until the bar counts so many entries."""
        word = "entry" if count == 1 else "entries"
        expect(self.page.get_by_role("status").first).to_contain_text(f"{count} {word} not yet at the workshop")
        return self

    def radio(self, name: str) -> Locator:
        return self.page.get_by_role("radio", name=name, exact=True)

    def button(self, name: str) -> Locator:
        return self.page.get_by_role("button", name=name, exact=True)

    def heading(self, name: str) -> Locator:
        return self.page.get_by_role("heading", name=name)

    def killed(self) -> "Walker":
        """The same phone, the app's process killed without a word, and opened again from the home screen."""
        with suppress(PlaywrightError):
            self.page.goto("chrome://crash")
        self.page.close()
        return Walker(self.handset, self.url).open()
