"""`python -m tests.app.day`: builds the sample fleet's app, walks the day on three phones, keeps their hand-ins.

Run by hand when the app, the fleet or the scenario changed; what it writes is committed.
"""

import json
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

from playwright.sync_api import Browser, sync_playwright

from builder.commands import app_files
from builder.write import write_site
from tests.app.browsers import chromium, phone, served
from tests.app.day.carried import carry_from
from tests.app.day.handset import Handset
from tests.app.day.scenario import A_FORTNIGHT_BEFORE, PHONES
from tests.app.day.view import View
from tests.app.day.words import Bad, Event, Phone, Report, Run, TopUp, Walk

ROOT = Path(__file__).resolve().parent.parent.parent.parent
FLEET = ROOT / "sample_fleet"
TWICE = "2-tobin"


def main(out: Path) -> int:
    with tempfile.TemporaryDirectory() as name:
        work = Path(name)
        write_site(work / "app", app_files(FLEET))
        edition = json.loads((work / "app/edition.json").read_bytes())
        wrong = View(edition).unknown(named())
        if wrong:
            print("\n".join(wrong), file=sys.stderr)
            return 1
        with sync_playwright() as playwright, served(work / "app") as site:
            browser = chromium(playwright)
            walk_the_day(browser, site.url, edition, work)
            browser.close()
        keep(work, out)
    return 0


def walk_the_day(browser: Browser, url: str, edition: dict[str, Any], work: Path) -> None:
    """Each phone in turn: nobody's app knows of the others but through the carry of a fortnight before."""
    carry = work / "carry.txt"
    for owner in PHONES:
        context = phone(browser, accept_downloads=True)
        handset = Handset(context, url, View(edition), owner.by, owner.slow_hours)
        handset.clock("2026-10-03T08:55")
        handset.first_use(owner.by)
        if not carry.exists():
            events(handset, A_FORTNIGHT_BEFORE)
            handset.hand_in(work / "before.txt")
            carry_from(work / "before.txt", FLEET, carry, as_of="2026-10-16")
        handset.clock("2026-10-17T07:55")
        handset.open_carry(carry)
        events(handset, owner.events)
        handset.clock("2026-10-18T12:20")
        handset.hand_in(work / f"{owner.file}.txt")
        context.close()


def events(handset: Handset, all_events: tuple[Event, ...]) -> None:
    for event in all_events:
        print(f"  {event.at}  {event.vehicle}  {type(event).__name__.lower()}", file=sys.stderr, flush=True)
        match event:
            case Walk():
                handset.walk(event)
            case Report():
                handset.report(event)
            case Run():
                handset.run(event)
            case TopUp():
                handset.top_up(event)


def named() -> dict[tuple[str, str, str], str]:
    """Every place that the scenario names, with the fault it claims there."""
    owners = (Phone("MF", 0, "", A_FORTNIGHT_BEFORE), *PHONES)
    walks = [event for owner in owners for event in owner.events if isinstance(event, Walk)]
    return {
        (walk.vehicle, walk.round, place): find.fault if isinstance(find, Bad) else ""
        for walk in walks
        for place, find in walk.finds.items()
    }


def keep(work: Path, out: Path) -> None:
    """The hand-ins of the day, Tobin's twice: he was not sure that it went through."""
    shutil.rmtree(out, ignore_errors=True)
    out.mkdir(parents=True)
    for owner in PHONES:
        shutil.copyfile(work / f"{owner.file}.txt", out / f"{owner.file}.txt")
    shutil.copyfile(work / f"{TWICE}.txt", out / f"{TWICE}-again.txt")


if __name__ == "__main__":
    sys.exit(main(FLEET / "day"))
