"""A whole Saturday at the desk in Chromium, by what screen readers read out: phones in, conflict settled, defect worked
and signed off by a second person, card printed, export downloaded."""

from collections.abc import Iterator
from pathlib import Path

import openpyxl
import pytest
from playwright.sync_api import Browser, Locator, Page, expect

from sync.demo import SAMPLE
from sync.service import Service
from tests.app.desks import desk_open

WIDE = {"width": 1440, "height": 900}
HOME = "kettle-9tpbk"  # the adjuster at its stop


@pytest.fixture
def desk(tmp_path: Path) -> Iterator[tuple[Service, str]]:
    with desk_open(tmp_path) as opened:
        yield opened


@pytest.fixture
def page(browser: Browser, desk: tuple[Service, str]) -> Iterator[Page]:
    context = browser.new_context(viewport=WIDE, locale="en-GB", accept_downloads=True)  # type: ignore[arg-type]
    context.set_default_timeout(60_000)
    page = context.new_page()
    page.goto(desk[1])
    yield page
    context.close()


def sit(page: Page, initials: str) -> None:
    """Somebody sits down at the desk."""
    page.get_by_label("At the desk").select_option(initials)
    page.get_by_role("button", name="That is me").click()


def go(page: Page, name: str) -> None:
    page.get_by_role("navigation", name="Desk").get_by_role("link", name=name, exact=True).click()


def phones_in(page: Page) -> None:
    go(page, "Take in")
    page.get_by_label("Hand-in files").set_input_files(sorted((SAMPLE / "day").glob("*.txt")))
    page.get_by_role("button", name="Take them in").click()
    expect(page.get_by_role("heading", name="What became of them")).to_be_visible()


def written(page: Page, words: str) -> None:
    expect(page.get_by_role("main").get_by_role("status").first).to_contain_text(words)


def said(page: Page, words: str) -> None:
    expect(page.get_by_role("main")).to_contain_text(words)


def conflict_settled(page: Page) -> None:
    go(page, "Conflicts")
    conflict = page.get_by_role("article").filter(has_text="Hobnail").first
    conflict.get_by_role("radio", name="This is right by TA").check()
    conflict.get_by_role("textbox", name="Reason").fill("Crawled under it together: it drips.")
    conflict.get_by_role("button", name="Settle it").click()
    written(page, "Settled. Both sides stay readable")


def how_far(page: Page, state: str) -> Locator:
    """The form that says how far the work is, with a state chosen."""
    form = page.locator("form").filter(has=page.get_by_role("combobox", name="How far"))
    form.get_by_role("combobox", name="How far").select_option(state)
    return form


def sent_out(page: Page) -> None:
    form = how_far(page, "waiting")
    form.get_by_role("textbox", name="For what").fill("adjuster nut")
    form.get_by_role("combobox", name="Kind").select_option("sent out")
    form.get_by_role("textbox", name="Where, with the tag on the unit").fill("foundry, tag 14")
    form.get_by_role("button", name="Write it").click()
    written(page, "Written: waiting.")
    said(page, "waits for adjuster nut (sent out) at foundry, tag 14")


def mended(page: Page) -> None:
    form = how_far(page, "mended")
    form.get_by_role("textbox", name="Hours").fill("3,5")
    form.get_by_role("button", name="Write it").click()
    written(page, "Written: mended.")


def signed_off(page: Page, tested: str) -> None:
    page.get_by_role("textbox", name="How it was tested, and how it went").fill(tested)
    page.get_by_role("button", name="Tested, and signed off").click()


def card_printed(page: Page) -> None:
    with page.context.expect_page() as opened:
        page.get_by_role("link", name="Print the job card").click(modifiers=["ControlOrMeta"])
    card = opened.value
    card.wait_for_load_state()
    expect(card.locator("body")).to_contain_text(HOME)
    assert len(card.pdf()) > 5_000
    card.close()


def spreadsheet(page: Page, folder: Path) -> set[str]:
    """What stands in the cells of the downloaded spreadsheet."""
    go(page, "Papers and exports")
    with page.expect_download() as got:
        page.get_by_role("button", name="Download Spreadsheet").click()
    assert got.value.suggested_filename == "brackle-down-2026-10-18.xlsx"
    got.value.save_as(folder / "got.xlsx")
    book = openpyxl.load_workbook(folder / "got.xlsx")
    return {str(cell.value) for sheet in book for row in sheet for cell in row}


def test_a_whole_saturday(page: Page, desk: tuple[Service, str], tmp_path: Path) -> None:
    store, home = desk[0].store, f"{desk[1]}/defect/{HOME}"
    sit(page, "MF")
    phones_in(page)
    said(page, "0 entries new, 359 here already")
    go(page, "Today")
    expect(page.get_by_role("heading", name="Must not move")).to_be_visible()
    conflict_settled(page)
    assert store.conflicts("hobnail") == ()
    page.goto(home)
    sent_out(page)
    sit(page, "TA")
    mended(page)
    signed_off(page, "drove it")
    said(page, "TA mended it, and a second person signs it off")
    assert store.defect(HOME).closed is None
    page.goto(home)
    card_printed(page)
    sit(page, "MF")
    signed_off(page, "Driven, coasted to rest, measured: 30 mm.")
    written(page, "Signed off by MF. The defect is closed.")
    closed = store.defect(HOME).closed
    assert closed is not None
    assert (closed.by, closed.how) == ("MF", "signed off")
    cells = spreadsheet(page, tmp_path)
    assert ("kettle-ewcvh" in cells, HOME in cells) == (True, False)


def test_the_desk_works_without_script(browser: Browser, desk: tuple[Service, str]) -> None:
    context = browser.new_context(viewport=WIDE, java_script_enabled=False)  # type: ignore[arg-type]
    context.set_default_timeout(60_000)
    page = context.new_page()
    page.goto(desk[1])
    sit(page, "MF")
    phones_in(page)
    page.goto(f"{desk[1]}/defect/{HOME}")
    page.locator("summary").filter(has_text="Who has it").click()
    page.get_by_role("combobox", name="Who", exact=True).select_option("TA")
    page.get_by_role("button", name="Give it").click()
    written(page, "TA has it now.")
    assert desk[0].store.defect(HOME).owner == "TA"
    context.close()
