"""One phone, driven by the accessible names that people and screen readers have."""

import re
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from playwright.sync_api import BrowserContext, Locator, Page, expect

from tests.app.day.drawings import photo
from tests.app.day.view import View
from tests.app.day.words import Bad, Else, Good, Known, Report, Run, Skip, TopUp, Walk

ROUNDS = {"before": "Before running", "hot": "Hot", "cold": "Cold", "full": "Full"}
LEVELS = {"ok": "Between the marks", "low": "Low", "unseen": "Not looked at"}
# The same day gives the same bytes: ids come from the phone's name and its clock.
SEEDED = """
(() => {
  let state = 0;
  const next = () => { state ^= state << 13; state ^= state >>> 17; state ^= state << 5; return state & 255; };
  crypto.getRandomValues = (bytes) => {
    const seed = state ? "" : "NAME" + Date.now();
    for (const c of seed) state = Math.imul((state || 2463534242) ^ c.charCodeAt(0), 16777619);
    return bytes.map(next);
  };
})();
"""


class Handset:
    """Everything one person does with a phone."""

    def __init__(self, context: BrowserContext, url: str, view: View, name: str, slow_hours: float) -> None:
        self.context = context
        self.url = url
        self.view = view
        self.slow = timedelta(hours=slow_hours)
        self.now = datetime.fromisoformat("2026-10-03T08:00:00+01:00")
        context.add_init_script(SEEDED.replace("NAME", name))
        self.page: Page = context.new_page()
        self.page.on("pageerror", self.broken)

    def broken(self, error: Any) -> None:
        raise AssertionError(f"the app threw: {error}")

    def clock(self, moment: str) -> None:
        """What time it really is; the phone's own clock may be behind."""
        self.now = datetime.fromisoformat(f"{moment}:00+01:00")
        self.tick(0)

    def tick(self, seconds: float) -> None:
        self.now += timedelta(seconds=seconds)
        self.context.clock.set_fixed_time(self.now - self.slow)

    def first_use(self, by: str) -> None:
        self.page.goto(self.url)
        self.page.get_by_role("radio", name=by, exact=True).check(force=True)
        self.page.get_by_label("This phone’s name").fill(f"{by} phone")
        self.page.get_by_role("button", name="To the vehicles").click()
        expect(self.page.get_by_role("searchbox")).to_be_visible()

    def open_carry(self, path: Path) -> None:
        self.show("#/hand-in")
        self.page.get_by_label("Open a carry file").set_input_files(path)
        expect(self.page.get_by_text(re.compile(r"Taken: \d+ known defect"))).to_be_visible()

    def show(self, address: str) -> None:
        """By address, as a label's code opens a vehicle."""
        self.page.evaluate("(hash) => { location.hash = hash; }", address)
        self.page.wait_for_function("(hash) => location.hash === hash", arg=address)

    def button(self, name: str | re.Pattern[str]) -> Locator:
        return self.page.get_by_role("button", name=name)

    def save(self) -> None:
        self.tick(20)
        self.button("Save").click()

    def walk(self, walk: Walk) -> None:
        self.clock(walk.at)
        self.show(f"#/v/{walk.vehicle}")
        another = self.button("Start another walk-round")
        expect(self.button(re.compile("Start walk-round|Start another walk-round")).first).to_be_visible()
        if another.is_visible():
            another.click()
        self.page.get_by_role("radio", name=re.compile(f"^{ROUNDS[walk.round]}")).check(force=True)
        self.page.get_by_label("Day", exact=True).fill(walk.at[:10])
        self.button("Start walk-round").click()
        for station in self.view.stations(walk.vehicle, walk.round):
            if self.wanted(walk, station):
                self.station(walk, station)
        self.finish(walk)

    def wanted(self, walk: Walk, station: dict[str, Any]) -> bool:
        """A walk that leaves the rest goes only where it found something."""
        named = {place.split("#")[0] for place in walk.finds}
        here = any(check["id"] in named for check in station["checks"])
        return here or not walk.left_why or any(extra.station == station["id"] for extra in walk.extras)

    def station(self, walk: Walk, station: dict[str, Any]) -> None:
        heading = self.page.get_by_role("heading", level=2, name=re.compile(rf"^\d+\. {re.escape(station['name'])}$"))
        stations = self.page.get_by_role("navigation", name="Stations")
        expect(stations).to_be_visible()
        if not heading.is_visible():
            stations.get_by_role("link", name=re.compile(rf"^\d+\. {re.escape(station['name'])},")).click()
        expect(heading).to_be_visible()
        for check in station["checks"]:
            for spot in check.get("spots") or [""]:
                place = f"{check['id']}#{spot}" if spot else check["id"]
                self.place(check, spot, walk.finds.get(place), leave=bool(walk.left_why))
        for extra in walk.extras:
            if extra.station == station["id"]:
                self.something_else(extra)
        if not walk.left_why:
            self.rest_sound(walk, station)

    def rest_sound(self, walk: Walk, station: dict[str, Any]) -> None:
        """All the rest in one step; the app offers that for two and more, a single one is marked by itself."""
        left = [
            check
            for check in station["checks"]
            if not check.get("reading") and not any(place.split("#")[0] == check["id"] for place in walk.finds)
        ]
        self.tick(15)
        rest = self.button(re.compile(r"^The rest of this station is sound"))
        if rest.is_visible():
            rest.click()
            self.button(re.compile("^I looked")).click()
            expect(self.page.get_by_role("dialog")).to_have_count(0)
        elif left:
            self.sound(left[0], self.page.get_by_role("group", name=left[0]["ask"], exact=True), Good())

    def place(self, check: dict[str, Any], spot: str, find: Bad | Good | Skip | Known | None, *, leave: bool) -> None:
        name = f"{check['ask']}, {spot}" if spot else check["ask"]
        group = self.page.get_by_role("group", name=name, exact=True)
        self.tick(4 if spot else 9)
        if isinstance(find, Known):
            self.known(group, find)
        elif isinstance(find, Bad):
            self.defect(check, group, find)
        elif isinstance(find, Skip):
            self.choose(group, "Not checked")
            self.tick(2)
            self.choose(self.page.get_by_role("group", name=f"Why not? {name}"), find.why)
            expect(group.get_by_role("radio", name="Not checked")).to_be_checked()
        elif isinstance(find, Good) or (check.get("reading") and not leave):
            self.sound(check, group, find or Good())

    def choose(self, group: Locator, word: str) -> None:
        group.get_by_role("radio", name=word, exact=True).dispatch_event("click")

    def sound(self, check: dict[str, Any], group: Locator, find: Good) -> None:
        if check.get("reading"):
            self.unit(check, self.page.get_by_role("group", name=check["ask"], exact=True))
            reading = group.get_by_role("textbox").first
            reading.fill(find.reading or self.view.plausible(check))
            reading.press("Enter")
        else:
            self.choose(group, "Sound")
        mark = group.get_by_role("radio", name="Sound", exact=True)
        expect(mark).to_be_checked()
        if find.slip:
            expect(self.page.get_by_role("article").filter(has=group)).to_contain_text("Saved")
            self.tick(3)
            self.choose(group, "Sound")
            expect(mark).not_to_be_checked()
            self.tick(3)
            self.choose(group, "Sound")
            expect(mark).to_be_checked()

    def defect(self, check: dict[str, Any], group: Locator, find: Bad) -> None:
        if find.slip:
            self.choose(group, "Sound")
            expect(group.get_by_role("radio", name="Sound", exact=True)).to_be_checked()
            self.tick(14)
        self.choose(group, "Defect")
        form = self.page.get_by_role("dialog")
        fault = re.escape(self.view.fault(check, find.fault))
        named = re.compile(rf"^{fault}( (dangerous|major|minor|advisory))?$")
        form.get_by_role("group", name="Fault").get_by_role("radio", name=named).check(force=True)
        if find.leak:
            form.get_by_role("radio", name=re.compile(f"^Class {find.leak[0]}")).check(force=True)
            form.get_by_role("radio", name=LEVELS[find.leak[1]]).check(force=True)
        if find.reading:
            self.unit(check, form)
            form.get_by_label("Reading").first.fill(find.reading)
        self.say_more(form, find.severity, find.note, find.photo)
        if find.put_right:
            form.get_by_role("checkbox", name="Put right at once").check(force=True)
        self.save()
        expect(form).to_have_count(0)

    def unit(self, check: dict[str, Any], where: Locator) -> None:
        """The instrument in hand reads in the unit of the check's limits."""
        choice = where.get_by_label("Unit", exact=True)
        if choice.count() and choice.first.is_visible():
            choice.first.select_option(check["reading"]["unit"])

    def say_more(self, form: Locator, severity: str, note: str, picture: str = "") -> None:
        if severity:
            severities = form.get_by_role("group", name="Severity")
            severities.get_by_role("radio", name=re.compile(f"^{severity}", re.IGNORECASE)).check(force=True)
        if note:
            form.get_by_label("Note").fill(note)
        if picture:
            form.get_by_label("Add photo").set_input_files(
                {"name": f"{picture}.jpg", "mimeType": "image/jpeg", "buffer": photo(picture)}
            )
            expect(form.get_by_role("listitem")).to_have_count(1)

    def known(self, group: Locator, find: Known) -> None:
        answers = group.get_by_role("group", name=re.compile("^Known: "))
        self.choose(answers, find.answer)
        expect(answers.get_by_role("radio", name=find.answer, exact=True)).to_be_checked()
        if find.note or find.severity or find.reading:
            self.button(re.compile("Say how much worse|Add a note or a photo")).first.click()
            form = self.page.get_by_role("dialog")
            if find.reading:
                form.get_by_label("Reading").first.fill(find.reading)
            self.say_more(form, find.severity, find.note)
            self.save()
            expect(form).to_have_count(0)

    def something_else(self, extra: Else) -> None:
        self.button(re.compile("^Something else$")).click()
        form = self.page.get_by_role("dialog")
        self.say_more(form, extra.severity, extra.note, extra.photo)
        self.save()
        expect(form).to_have_count(0)

    def finish(self, walk: Walk) -> None:
        address = self.page.evaluate("location.hash.split('/').slice(0, 3).join('/')")
        self.tick(10)
        self.show(f"{address}/finish")
        go = self.button("Finish walk-round")
        expect(go).to_be_visible()
        if walk.left_why:
            self.page.get_by_role("radio", name=walk.left_why, exact=True).check(force=True)
        go.click()
        expect(self.page.get_by_role("heading", name=re.compile("[Ff]inished"))).to_be_visible()

    def report(self, report: Report) -> None:
        self.clock(report.at)
        self.show(f"#/v/{report.vehicle}/{report.source}")
        label = "What you felt" if report.source == "driver" else "What the visitor saw"
        self.page.get_by_label(re.compile(label)).fill(report.symptom)
        if report.conditions:
            self.page.get_by_label(re.compile("gauges said")).fill(report.conditions)
        self.save_and_leave()

    def run(self, run: Run) -> None:
        self.clock(run.at)
        self.show(f"#/v/{run.vehicle}/run")
        for label, value in (("Day", run.at[:10]), ("Hours", run.hours), ("Laps", run.laps), ("Driver", run.driver)):
            self.page.get_by_label(label, exact=True).fill(value)
        self.save_and_leave()

    def top_up(self, top: TopUp) -> None:
        self.clock(top.at)
        self.show(f"#/v/{top.vehicle}/top-up")
        self.page.get_by_role("radio", name=top.fluid, exact=True).check(force=True)
        for label, value in (("Litres", top.litres), ("Level before", top.before), ("Level after", top.after)):
            self.page.get_by_label(label, exact=True).fill(value)
        self.save_and_leave()

    def save_and_leave(self) -> None:
        before = self.page.evaluate("location.hash")
        self.save()
        self.page.wait_for_function("(hash) => location.hash !== hash", arg=before)

    def hand_in(self, path: Path) -> None:
        self.tick(60)
        self.show("#/hand-in")
        with self.page.expect_download() as waiting:
            self.button("Save hand-in file").click()
        waiting.value.save_as(path)
