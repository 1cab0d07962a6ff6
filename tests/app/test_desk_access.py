"""Every page of the desk for everybody: axe with contrast at 7:1 in both sizes and both colour schemes, no sideways
scrolling, the keyboard alone."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import axe_playwright_python
import pytest
from playwright.sync_api import Browser, Page

from sync.demo import take_in_day
from sync.service import Draft
from tests.app.desks import desk_open

AXE = Path(axe_playwright_python.__file__).with_name("axe.min.js").read_text("utf-8")
RULES = {"color-contrast-enhanced": {"enabled": True}, "target-size": {"enabled": True}}
PAGES = ["/", "/backlog", "/vehicles", "/vehicle/kettle", "/vehicle/lantern", "/vehicle/kettle/walks",
         "/vehicle/kettle/check/left-track/wheel-heat", "/defect/kettle-9tpbk", "/defect/kettle-ewcvh", "/conflicts",
         "/perhaps-the-same", "/reports", "/revivals", "/know-how", "/take-in", "/papers", "/sheet",
         "/sheet?vehicle=kettle&round=cold", "/nothing"]  # fmt: skip
LOOKS: list[dict[str, Any]] = [
    {"viewport": {"width": 1440, "height": 900}},
    {"viewport": {"width": 390, "height": 844}},
    {"viewport": {"width": 1440, "height": 900}, "color_scheme": "dark"},
]


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    with desk_open(tmp_path_factory.mktemp("desk")) as (service, address):
        take_in_day(service)
        worked(service)
        yield address


def worked(service: Any) -> None:
    """Some work, so that every form and mark of the pages is there."""
    opening = service.store.defect("kettle-9tpbk").opening
    held = {"temporary": {"what": "link taken out", "until": "2026-10-30", "undo": "put it back"}}
    drafts = [
        Draft("work", {"about": opening, "state": "mended", "hours": 2, "note": "new adjuster"}),
        Draft("ruling", {"about": opening, "set": held}),
        Draft("ruling", {"about": opening, "set": {"diagnosis": {"fault": "thread stripped"}}}),
        Draft("ruling", {"about": "kettle", "vehicle": "kettle", "set": {"know_how": "second gear on the ramp"}}),
        Draft("tag", {"vehicle": "kettle", "tag": "7", "on": True, "reason": "hands in the bay"}),
        Draft("run", {"vehicle": "kettle", "day": "2026-10-17", "hours": 1.5, "driver": "MF"}),
    ]
    service.write_all(drafts, by="TA")


@pytest.fixture(params=LOOKS, ids=["wide", "narrow", "dark"])
def page(request: pytest.FixtureRequest, browser: Browser, address: str) -> Iterator[Page]:
    context = browser.new_context(**request.param)
    context.add_cookies([{"name": "desk-by", "value": "MF", "url": address}])
    context.add_init_script(AXE)
    yield context.new_page()
    context.close()


@pytest.mark.parametrize("path", PAGES)
def test_axe_finds_nothing_with_everything_folded_out(page: Page, address: str, path: str) -> None:
    page.goto(address + path)
    page.evaluate("document.querySelectorAll('details').forEach((one) => { one.open = true; })")
    found = page.evaluate("(rules) => axe.run(document, { rules, resultTypes: ['violations'] })", RULES)
    told = [
        (one["id"], [(node["html"][:160], node["failureSummary"][:300]) for node in one["nodes"][:3]])
        for one in found["violations"]
    ]
    assert told == []
    wider = page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
    assert wider <= 0


def test_a_form_is_filled_in_by_the_keyboard_alone(browser: Browser, address: str) -> None:
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    context.add_cookies([{"name": "desk-by", "value": "MF", "url": address}])
    page = context.new_page()
    page.goto(f"{address}/defect/kettle-skuh2")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.textContent") == "To the page"
    page.keyboard.press("Enter")
    for _ in range(120):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement.textContent.trim()") == "Who has it":
            break
    page.keyboard.press("Enter")
    page.keyboard.press("Tab")
    page.keyboard.type("OG")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_url("**said=OG**")
    assert "OG has it now." in page.inner_text("main")
    context.close()
