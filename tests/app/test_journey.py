"""Whole walks at phone size with the network off, by accessible names, as far as the workshop's backlog."""

import contextlib
import csv
import io
import json
import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from playwright.sync_api import BrowserContext, Error, Playwright, expect

from tests.app.browsers import CHROMIUM_ARGS, PHONE, Site, found
from tests.app.conftest import SAMPLE
from tests.app.day.drawings import photo
from tests.app.person import Person

SAG = "Sag of the top run"
LAMPS = "Front lamps, side lamps, indicators if fitted"


def driptray(*arguments: str) -> str:
    done = subprocess.run([sys.executable, "-m", "sync", *arguments], check=True, capture_output=True, text=True)
    return done.stdout


def started(folder: Path, playwright: Playwright) -> BrowserContext:
    """A browser with a disk of its own."""
    options = {**PHONE, **found(), "args": list(CHROMIUM_ARGS)}
    return playwright.chromium.launch_persistent_context(folder, **options)


def kill(folder: Path) -> None:
    """Every process of that browser at once, as an empty battery does it."""
    for process in Path("/proc").glob("[0-9]*"):
        try:
            command = (process / "cmdline").read_bytes()
        except OSError:
            continue
        if f"--user-data-dir={folder}".encode() in command:
            os.kill(int(process.name), signal.SIGKILL)


@pytest.fixture
def person(handset: BrowserContext, site: Site) -> Person:
    return Person(handset.new_page(), site.url)


def test_a_finding_made_offline_is_in_the_backlog_and_in_the_csv(
    person: Person, handset: BrowserContext, tmp_path: Path
) -> None:
    person.arrive()
    handset.set_offline(True)
    person.start("Kettle", "Cold")
    person.go_to("Left track")
    person.tap(SAG, "Defect")
    person.choose_fault("Slack")
    person.form.get_by_label("Reading").fill("61")
    person.form.get_by_label("Note").fill("adjuster at its stop")
    person.form.get_by_label("Add photo").set_input_files(
        {"name": "sag.jpg", "mimeType": "image/jpeg", "buffer": photo("sag")}
    )
    expect(person.form.get_by_role("listitem")).to_have_count(1)
    person.save()
    person.finish()
    (tmp_path / "hand-in.txt").write_text(person.hand_in(), "utf-8")
    backlog = str(tmp_path / "backlog.db")
    driptray("take-in", str(tmp_path / "hand-in.txt"), "--fleet", str(SAMPLE), "--backlog", backlog)
    driptray("export", "--backlog", backlog, "--as", "csv", "--out", str(tmp_path / "backlog.csv"))
    rows = list(csv.DictReader(io.StringIO((tmp_path / "backlog.csv").read_text("utf-8-sig"))))
    (row,) = [row for row in rows if row.get("check_name") == SAG]
    assert (row["vehicle"], row["fault"], row["severity"]) == ("kettle", "Slack", "major")
    assert "adjuster at its stop" in row["note"]
    assert SAG in driptray("backlog", "--backlog", backlog)


def test_each_mark_counts_at_once_as_not_yet_at_the_workshop(person: Person) -> None:
    person.arrive()
    person.start("Kettle", "Before running")
    person.mark_sound(LAMPS)
    expect(person.page.get_by_role("banner").get_by_role("status")).to_contain_text("2 entries")


def test_only_the_rounds_checks_are_asked(person: Person) -> None:
    person.arrive()
    person.start("Kettle", "Before running")
    person.go_to("Left track")
    expect(person.check("Track pins and their retainers")).to_be_visible()
    expect(person.check(SAG)).to_have_count(0)


def test_a_correction_takes_the_slip_back(person: Person) -> None:
    person.arrive()
    person.start("Kettle", "Before running")
    person.mark_sound(LAMPS)
    person.tap(LAMPS, "Defect")
    person.choose_fault("One lamp out")
    person.save()
    _, sound, defect = person.entries()
    assert (sound["result"], defect["result"]) == ("sound", "defect")
    assert defect["corrects"] == sound["id"]


def test_a_second_tap_on_sound_undoes_it(person: Person) -> None:
    person.arrive()
    person.start("Kettle", "Before running")
    person.mark_sound(LAMPS)
    person.tap(LAMPS, "Sound")
    expect(person.check(LAMPS).get_by_role("radio", name="Sound", exact=True)).not_to_be_checked()
    assert person.entries()[-1]["result"] == "unchecked"


def test_what_was_not_looked_at_is_finished_with_its_reason(person: Person) -> None:
    person.arrive()
    person.start("Kettle", "Before running")
    person.mark_sound(LAMPS)
    person.finish("Dark")
    finished = person.entries()[-1]
    assert (finished["state"], finished["covered"]) == ("finished", 1)
    assert len(finished["unchecked"]) == finished["of"] - 1
    assert {item["why"] for item in finished["unchecked"]} == {"dark"}


def test_a_known_defect_is_answered_in_one_tap_and_the_walk_says_what_it_knew(person: Person, tmp_path: Path) -> None:
    carry = {
        "driptray": 1, "carry": True, "fleet": "brackle-down", "edition": "x", "made": "2026-10-16T20:00:00+01:00",
        "knows": {"desk-1": 12}, "defects": [{
            "defect": "0199f5c3-4e90-7a0d-b3c8-1d2e3f4a5b03", "code": "kettle-7k3qd", "vehicle": "kettle",
            "station": "left-track", "check": "left-track/sag", "fault": "slack", "fault_name": "Slack",
            "severity": "major", "status": "open", "first_day": "2026-10-03", "last_day": "2026-10-03",
            "seen_by": ["TA"], "note": "one link to come out",
        }],
    }  # fmt: skip
    (tmp_path / "carry.json").write_text(json.dumps(carry), "utf-8")
    person.arrive()
    person.page.evaluate("location.hash = '#/hand-in'")
    person.page.get_by_label("Open a carry file").set_input_files(tmp_path / "carry.json")
    expect(person.page.get_by_text("Taken: 1 known defect")).to_be_visible()
    person.page.evaluate("location.hash = '#/'")
    person.start("Kettle", "Cold")
    person.go_to("Left track")
    known = person.page.get_by_role("group", name="Known: Slack")
    expect(known).to_contain_text("one link to come out")
    known.get_by_role("radio", name="Worse").dispatch_event("click")
    expect(known.get_by_role("radio", name="Worse")).to_be_checked()
    started, answer = person.entries()
    assert started["knows"] == {"desk-1": 12}
    assert (answer["verdict"], answer["defect"]) == ("worse", carry["defects"][0]["defect"])  # type: ignore[index]
    assert (answer["check"], answer["fault"], answer["result"]) == ("left-track/sag", "slack", "defect")


def test_a_walk_goes_on_where_it_was_after_the_app_was_killed(
    tmp_path: Path, site: Site, playwright: Playwright
) -> None:
    """A browser of its own, killed without a farewell, started again on the same disk, without a network."""
    running = started(tmp_path / "phone", playwright)
    person = Person(running.pages[0], site.url)
    person.arrive()
    person.start("Kettle", "Cold")
    person.go_to("Left track")
    person.tap(SAG, "Defect")
    person.choose_fault("Slack")
    person.form.get_by_label("Note").fill("half a sent")
    person.page.wait_for_timeout(900)
    kill(tmp_path / "phone")
    with contextlib.suppress(Error):
        running.close()
    running = started(tmp_path / "phone", playwright)
    running.set_offline(True)
    again = Person(running.pages[0], site.url)
    again.page.goto(site.url)
    expect(again.form.get_by_label("Note")).to_have_value("half a sent")
    expect(again.form.get_by_role("radio", name="Slack", exact=True)).to_be_checked()
    again.save()
    assert [entry["kind"] for entry in again.entries()] == ["walk", "finding"]
    running.close()
