"""Every screen for everybody: axe with contrast at 7:1, valid HTML, targets, keyboard alone."""

import json
import subprocess
from collections.abc import Callable
from os import environ
from pathlib import Path

import axe_playwright_python
import html5lib
import pytest
from playwright.sync_api import Browser, Page, expect

from tests.app.browsers import Site, phone
from tests.app.test_known import CARRY
from tests.app.walker import Walker

AXE = Path(axe_playwright_python.__file__).with_name("axe.min.js").read_text("utf-8")
RULES = {"color-contrast-enhanced": {"enabled": True}, "target-size": {"enabled": True}}


def at_board(walker: Walker) -> None:
    walker.open("#/")


def at_route(route: str) -> Callable[[Walker], None]:
    def go(walker: Walker) -> None:
        walker.open(route)

    return go


def walking(walker: Walker) -> None:
    walker.started("Full").to("Left track").mark("Road wheels, 3", "Sound")
    walker.check("Hubs, temperature, 2").get_by_role("radio", name="Not checked").click()


def in_the_form(walker: Walker) -> None:
    walker.started().to("Engine bay")
    form = walker.defect("Fuel pipes and taps")
    form.get_by_role("radio", name="Union weeps").check()
    form.get_by_role("radio", name="Class 3").check()
    walker.add_photo()


def with_a_question(walker: Walker) -> None:
    walker.started("Full").button("The rest of this station is sound (4)").click()


def searching(walker: Walker) -> None:
    walker.started("Full").button("Find a check").click()


def finishing(walker: Walker) -> None:
    walker.started()
    walker.defect("Front lamps").get_by_role("radio", name="Bracket loose").check()
    walker.save().at_the_end()


def done(walker: Walker) -> None:
    walker.started().finished(why="Dark")


def ready(walker: Walker) -> None:
    walker.open("#/ready")
    walker.heading("ready").last.wait_for()


SCREENS: dict[str, Callable[[Walker], None]] = {
    "board": at_board,
    "who": at_route("#/who"),
    "vehicle": at_route("#/v/badger"),
    "walk": walking,
    "form": in_the_form,
    "something else": lambda walker: walker.started().button("Something else").click(),
    "question": with_a_question,
    "search": searching,
    "finish": finishing,
    "done": done,
    "driver": at_route("#/v/badger/driver"),
    "visitor": at_route("#/v/badger/visitor"),
    "run": at_route("#/v/badger/run"),
    "top-up": at_route("#/v/badger/top-up"),
    "hand in": at_route("#/hand-in"),
    "ready": ready,
    "no such vehicle": at_route("#/v/nobody"),
    "no such page": at_route("#/nowhere"),
}


def faults(page: Page) -> list[str]:
    page.evaluate(AXE)
    found = page.evaluate("(rules) => axe.run(document, { rules, resultTypes: ['violations'] })", RULES)
    return [f"{fault['id']}: {node['html'][:120]}" for fault in found["violations"] for node in fault["nodes"]]


def faults_by_nu(html: str) -> str:
    """What the Nu HTML Checker says, where DRIPTRAY_NODE_MODULES has one; nothing is good."""
    modules = environ.get("DRIPTRAY_NODE_MODULES")
    if modules is None:
        return ""
    jar = Path(modules) / "vnu-jar/build/dist/vnu.jar"
    command = ["java", "-jar", jar, "--errors-only", "--stdout", "-"]
    return subprocess.run(command, input=html, capture_output=True, text=True, timeout=120, check=False).stdout


@pytest.mark.parametrize("screen", SCREENS)
def test_a_screen_is_readable_by_everybody(browser: Browser, trial: Site, screen: str) -> None:
    context = phone(browser, reduced_motion="reduce")
    walker = Walker(context, trial.url).introduced()
    walker.open("#/hand-in")
    file = {"name": "carry.txt", "mimeType": "text/plain", "buffer": json.dumps(CARRY).encode()}
    walker.page.get_by_label("Open a carry file").set_input_files([file])
    walker.page.get_by_text("Taken: 3 known defects.").wait_for()
    SCREENS[screen](walker)
    walker.page.locator("h1:not(:empty)").wait_for()
    assert faults(walker.page) == []
    walker.page.emulate_media(color_scheme="dark")
    assert faults(walker.page) == []
    html = f"<!DOCTYPE html>\n{walker.page.evaluate('document.documentElement.outerHTML')}"
    html5lib.HTMLParser(strict=True).parse(html)
    assert faults_by_nu(html) == ""
    context.close()


def test_what_is_touched_on_the_walk_is_48_pixels_or_more(walker: Walker) -> None:
    """Every button, link, plate and field of a station; words of a paragraph are none."""
    walker.started("Full").to("Left track")
    small = walker.page.evaluate(
        """() => [...document.querySelectorAll("button, a[href], .face, input[type=text], select, summary")]
            .filter((it) => it.checkVisibility())
            .map((it) => [it.textContent || it.ariaLabel || it.tagName, it.getBoundingClientRect()])
            .filter(([, box]) => box.width < 48 || box.height < 48)
            .map(([name, box]) => `${name}: ${box.width} x ${box.height}`)"""
    )
    assert small == []


def test_what_is_read_on_the_walk_is_16_pixels_or_more(walker: Walker) -> None:
    walker.started("Full").to("Left track")
    small = walker.page.evaluate(
        """() => [...document.querySelectorAll("main *, header *, footer *")]
            .filter((it) => it.checkVisibility() && [...it.childNodes].some((n) => n.nodeType === 3 && n.data.trim()))
            .filter((it) => parseFloat(getComputedStyle(it).fontSize) < 16)
            .map((it) => it.textContent)"""
    )
    assert small == []


def test_a_check_is_marked_with_the_keyboard_alone(walker: Walker) -> None:
    """Arrows move and say nothing; Space says it, and Space again takes it back."""
    walker.started()
    walker.check("Front lamps").get_by_role("radio", name="Sound").focus()
    for key in ("ArrowRight", "ArrowRight", "ArrowRight"):
        walker.page.keyboard.press(key)
    assert len(walker.entries()) == 1
    walker.page.keyboard.press("Space")
    walker.written(2)
    expect(walker.check("Front lamps").get_by_role("radio", name="Sound")).to_be_checked()
    walker.page.keyboard.press("Space")
    walker.written(3)
    expect(walker.check("Front lamps").get_by_role("radio", name="Sound")).not_to_be_checked()


def test_a_new_screen_is_told_to_who_cannot_see_it(walker: Walker) -> None:
    """The focus goes to its heading."""
    walker.started().to("Left track")
    expect(walker.page.get_by_role("heading", level=2, name="Left track")).to_be_focused()
    walker.open("#/v/badger")
    expect(walker.page.get_by_role("heading", level=1, name="Badger")).to_be_focused()


def test_leaving_a_form_gives_the_focus_back_where_it_was(walker: Walker) -> None:
    walker.started()
    walker.defect("Front lamps")
    walker.page.keyboard.press("Escape")
    expect(walker.check("Front lamps").get_by_role("radio", name="Defect")).to_be_focused()


def test_nothing_moves_where_less_motion_is_wished(browser: Browser, trial: Site) -> None:
    context = phone(browser, reduced_motion="reduce")
    walker = Walker(context, trial.url).introduced().started()
    walker.mark("Front lamps", "Sound")
    moving = walker.page.evaluate("document.getAnimations().length")
    assert moving == 0
    context.close()
