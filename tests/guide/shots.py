"""What the guide's pictures show, reached as a person reaches it: on a phone and at the desk, on the sample day.

Each step ends with a picture's name and what has to be in it; a camera that is passed in takes it, or only looks.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass

from playwright.sync_api import Browser, Locator, Page, ViewportSize, expect

from tests.app.browsers import phone
from tests.app.day.drawings import photo
from tests.app.person import Person
from tests.guide.stage import MOMENT, Stage

DESK: ViewportSize = {"width": 1180, "height": 800}
#: A small phone's width, and as much of its height as a picture needs.
PHONE: ViewportSize = {"width": 360, "height": 600}
TALL: ViewportSize = {"width": 360, "height": 800}
SAG = "Sag of the top run"


@dataclass(frozen=True)
class Shot:
    """`subjects` are what it is there for; `of` is pictured, down to `tall` CSS pixels, else the whole window."""

    name: str
    page: Page
    subjects: tuple[Locator, ...]
    of: Locator | None = None
    tall: int = 10_000


def all_shots(browser: Browser, stage: Stage) -> Iterator[Shot]:
    """Every picture, in the order of reaching it: the desk takes the day in, then a phone gets its known defects."""
    yield from at_the_desk(browser, stage)
    yield from on_the_phone(browser, stage)


def at_the_desk(browser: Browser, stage: Stage) -> Iterator[Shot]:
    context = browser.new_context(viewport=DESK, locale="en-GB", timezone_id="Europe/London", color_scheme="light")  # type: ignore[arg-type]
    page = context.new_page()
    page.goto(f"{stage.desk}/take-in")
    page.get_by_label("At the desk").select_option("MF")
    page.get_by_role("button", name="That is me").click()
    page.get_by_label("Hand-in files").set_input_files(stage.hand_ins)
    page.get_by_role("button", name="Take them in").click()
    became = page.get_by_role("status").filter(has_text="What became of them")
    yield Shot("desk-take-in", page, (became.get_by_text("here already").first,), of=became)

    main = page.get_by_role("main")
    page.goto(f"{stage.desk}/")
    yield Shot("desk-today", page, (page.get_by_role("heading", name="What came in"),))
    page.goto(f"{stage.desk}/backlog")
    yield Shot("desk-backlog", page, (page.get_by_role("table"),), of=main, tall=900)

    page.goto(f"{stage.desk}/conflicts")
    conflict = page.get_by_role("article").filter(has_text=re.compile(f"Kettle.*{SAG}", re.DOTALL)).first
    yield Shot("desk-conflict", page, (conflict.get_by_text("stands meanwhile"),), of=conflict)

    page.goto(f"{stage.desk}/backlog?vehicle=kettle&search=sag")
    page.get_by_role("link", name=re.compile("^Slack")).first.click()
    yield Shot("desk-defect", page, (page.get_by_role("heading", name="How it stands"),), of=main, tall=860)
    figures = page.get_by_role("region", name="What the figures say").get_by_role("article").filter(has_text="idler")
    figures.get_by_text("What it rests on").click()
    yield Shot("desk-figures", page, (figures.get_by_text("catenary").first,), of=figures)

    page.get_by_role("link", name="Print the job card").click()
    first = page.get_by_role("article").first
    yield Shot("desk-card", page, (first.get_by_text("Slack").first,), of=first)

    page.goto(f"{stage.desk}/plan", timeout=120_000)
    yield Shot("desk-plan", page, (page.get_by_role("heading", level=1),), of=main, tall=760)
    context.close()


def on_the_phone(browser: Browser, stage: Stage) -> Iterator[Shot]:
    context = phone(browser, device_scale_factor=1, color_scheme="light", viewport=PHONE)
    context.clock.set_fixed_time(MOMENT)
    page = context.new_page()
    person = Person(page, stage.app)
    person.arrive()
    page.evaluate("location.hash = '#/ready'")
    ready = page.get_by_role("heading", name=re.compile("^(Not ready yet|Ready for the field)")).last
    yield Shot("phone-ready", page, (ready, page.get_by_role("heading", name=re.compile("^Works offline"))))

    page.evaluate("location.hash = '#/hand-in'")
    page.get_by_label("Open a carry file").set_input_files(stage.known())
    expect(page.get_by_text(re.compile(r"Taken: \d+ known defect"))).to_be_visible()
    start(page, "anvil", "Before running")
    page.get_by_role("main").evaluate("(main) => { main.scrollTop = 0; }")
    page.set_viewport_size(TALL)
    go = page.get_by_role("button", name="Start walk-round")
    yield Shot("phone-round", page, (page.get_by_role("group", name="Round"), go))

    go.click()
    sound = page.get_by_role("radio", name="Sound", exact=True).first
    yield Shot("phone-station", page, (sound, page.get_by_role("img", name=re.compile("^Plan of the vehicle"))))
    page.set_viewport_size(PHONE)
    start(page, "anvil", "Cold")
    go.click()
    person.go_to("Left track")
    person.tap(SAG, "Defect")
    person.choose_fault("Slack")
    reading = person.form.get_by_label("Reading").first
    reading.fill("61")
    person.form.get_by_label("Add photo").set_input_files(
        {"name": "sag.jpg", "mimeType": "image/jpeg", "buffer": photo("sag")}
    )
    verdict = person.form.get_by_text("too high by").first
    centred(verdict)
    yield Shot("phone-defect", page, (reading, verdict))
    person.save()
    person.finish()

    start(page, "kettle", "Cold")
    go.click()
    person.go_to("Left track")
    known = page.get_by_role("group", name=re.compile("^Known: ")).first
    worse = known.get_by_role("radio", name="Worse")
    centred(worse)
    expect(page.get_by_text("Saved on this phone")).to_be_hidden()
    yield Shot("phone-known", page, (worse,))
    page.evaluate("location.hash = '#/hand-in'")
    save = page.get_by_role("button", name="Save hand-in file")
    yield Shot("phone-hand-in", page, (save, page.get_by_role("heading", level=1, name="Hand in")))
    context.close()


def start(page: Page, vehicle: str, round_name: str) -> None:
    """A vehicle's page with a round chosen; it is started by its button."""
    page.evaluate("(hash) => { location.hash = hash; }", f"#/v/{vehicle}")
    rounds = page.get_by_role("group", name="Round")
    another = page.get_by_text("Start another walk-round")
    expect(rounds.or_(another).first).to_be_visible()
    if another.is_visible():
        another.click()
    rounds.get_by_role("radio", name=re.compile(f"^{round_name}")).check(force=True)
    page.get_by_label("Day", exact=True).fill("2026-10-19")


def centred(subject: Locator) -> None:
    """In the middle of its scrolling part."""
    subject.evaluate("(node) => node.scrollIntoView({ block: 'center' })")
