"""The guide cannot go stale: its commands run, its example is right, its pictures are of what is there."""

import re
import shlex
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, BrowserContext, Page, expect

from builder.assets import precache
from builder.commands import app_files
from builder.guide import CHAPTERS, FOLDER, PICTURES, STYLE
from builder.load import load_fleet
from sync.demo import SAMPLE
from sync.desk.app import PAGES
from sync.pages import TEMPLATES
from tests.app.browsers import phone
from tests.app.person import Person
from tests.app.test_access import faults, faults_by_nu
from tests.guide.read import commands, pictures, source, write_example
from tests.guide.shots import all_shots
from tests.guide.stage import Stage, stage

#: What the whole guide may add to the app, packed or not.
MOST_IN_THE_APP = 200_000
SLUGS = [chapter.slug for chapter in CHAPTERS]


@pytest.fixture(scope="module")
def on(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Stage]:
    with stage(tmp_path_factory.mktemp("stage")) as made:
        yield made


@pytest.fixture
def handset(browser: Browser) -> Iterator[BrowserContext]:
    context = phone(browser, reduced_motion="reduce")
    yield context
    context.close()


# --- commands and the example


@pytest.fixture(scope="module")
def reader(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A reader's folder: a fleet, two phones' files, and the backlog that the guide's second evening makes of them."""
    folder = tmp_path_factory.mktemp("reader")
    shutil.copytree(SAMPLE, folder / "fleet", ignore=shutil.ignore_patterns("day"))
    for name in ("maud", "tobin"):
        shutil.copy(next((SAMPLE / "day").glob(f"*-{name}.txt")), folder / f"{name}.txt")
    run("driptray take-in maud.txt tobin.txt --fleet fleet --backlog backlog.db", folder)
    return folder


def run(line: str, folder: Path) -> str:
    """One command line, run as it stands; what serves until Ctrl-C is stopped so. Its output."""
    program, *arguments = shlex.split(line)
    assert program == "driptray"
    if arguments[0] in ("demo", "serve"):
        return served(arguments, folder)
    done = subprocess.run(
        [sys.executable, "-m", "sync", *arguments], cwd=folder, capture_output=True, text=True, timeout=240, check=False
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def served(arguments: list[str], folder: Path) -> str:
    """On free ports and for this PC alone, so that nothing else is in its way."""
    ports = ["--port", "0", "--desk-port", "0", *(["--http-port", "0", "--no-lan"] if arguments[0] == "serve" else [])]
    with subprocess.Popen(
        [sys.executable, "-m", "sync", *arguments, *ports], cwd=folder, stdout=subprocess.PIPE, text=True
    ) as process:
        assert process.stdout is not None
        said = []
        for line in process.stdout:
            said.append(line)
            if line.startswith("Ctrl-C"):
                process.send_signal(signal.SIGINT)
        assert process.wait(30) == 0
        return "".join(said)


@pytest.mark.parametrize("slug", [slug for slug in SLUGS if commands(slug)])
def test_the_commands_of_a_chapter_run_as_they_stand(slug: str, reader: Path) -> None:
    """`run` fails where one does not end with 0."""
    for line in commands(slug):
        run(line, reader)


def test_the_guide_shows_commands() -> None:
    """Else the test above would hold of nothing."""
    assert sum(len(commands(slug)) for slug in SLUGS) >= 12


def test_the_example_is_right_as_it_stands(tmp_path: Path) -> None:
    write_example(tmp_path)
    assert "1 vehicle" in run("driptray check fleet", tmp_path)


def test_the_example_gives_each_thing_that_the_chapter_speaks_of(tmp_path: Path) -> None:
    fleet = load_fleet(write_example(tmp_path))
    checks = [check for station in fleet.templates["small-carrier"].station for check in station.check]
    assert {check.leak for check in checks} == {None, "engine oil"}
    assert any(check.reading for check in checks)
    assert any(check.spots == "road_wheels" for check in checks)
    assert fleet.templates["small-carrier"].access[0].id == "track-off"


# --- pictures


def test_every_picture_of_the_guide_is_there_and_no_other() -> None:
    there = {path.stem for path in (TEMPLATES / PICTURES).glob("*.webp")}
    assert set(pictures()) == there


def test_what_each_picture_shows_is_still_to_be_seen(on: Stage, browser: Browser) -> None:
    """The way to every picture, walked in the app and at the desk as the guide's script walks it."""
    seen = set()
    for shot in all_shots(browser, on):
        for subject in shot.subjects:
            expect(subject).to_be_visible()
            if shot.of is None:
                expect(subject).to_be_in_viewport()
        seen.add(shot.name)
    assert seen == set(pictures())


# --- in the app


def test_the_whole_guide_is_kept_offline_with_the_phones_pictures_alone() -> None:
    kept = {path for path in precache(app_files(SAMPLE)) if path.startswith(FOLDER)}
    pages = {f"{FOLDER}{slug}.html" for slug in ("index", *SLUGS)}
    shown = {f"{PICTURES}{name}.webp" for name in pictures() if name.startswith("phone-")}
    assert kept == {*pages, *shown, STYLE}


def test_the_guide_stays_small_in_the_app() -> None:
    size = sum(len(data) for path, data in app_files(SAMPLE).items() if path.startswith(FOLDER))
    assert size <= MOST_IN_THE_APP


def test_the_guide_is_found_from_the_vehicles_and_read_without_a_signal(on: Stage, handset: BrowserContext) -> None:
    person = Person(handset.new_page(), on.app)
    person.arrive()
    handset.set_offline(True)
    person.page.get_by_role("link", name="Guide").click()
    for chapter in CHAPTERS:
        person.page.get_by_role("link", name=re.compile(f"^(Next: )?{chapter.title}$")).first.click()
        expect(person.page.get_by_role("heading", level=1, name=chapter.title)).to_be_visible()
        assert broken_pictures(person.page) == []
    person.page.get_by_role("link", name="Back to the vehicles").click()
    expect(person.page.get_by_role("searchbox")).to_be_visible()


def broken_pictures(page: Page) -> list[str]:
    """Addresses of pictures that do not come."""
    script = """() => Promise.all([...document.images].map(async (image) => {
        image.loading = "eager";
        await image.decode().catch(() => {});
        return image.naturalWidth ? "" : image.src;
    })).then((all) => all.filter(Boolean))"""
    found: list[str] = page.evaluate(script)
    return found


@pytest.mark.parametrize("slug", ["index", *SLUGS])
def test_a_page_of_the_guide_is_readable_by_everybody(slug: str, on: Stage, handset: BrowserContext) -> None:
    page = handset.new_page()
    page.goto(f"{on.app}{FOLDER}{slug}.html")
    assert faults(page) == []
    page.emulate_media(color_scheme="dark")
    assert faults(page) == []
    assert faults_by_nu((on.folder / f"app/{FOLDER}{slug}.html").read_text("utf-8")) == ""
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_every_link_between_the_apps_pages_leads_to_one(on: Stage) -> None:
    folder = on.folder / f"app/{FOLDER}"
    wrong = []
    for page in folder.glob("*.html"):
        for target in re.findall(r'(?:href|src)="([^"#]+)"', page.read_text("utf-8")):
            if not (folder / target).resolve().is_file():
                wrong.append(f"{page.name}: {target}")
    assert wrong == []


# --- at the desk


@pytest.mark.parametrize("slug", ["", *SLUGS])
def test_a_chapter_at_the_desk_has_its_pictures_and_is_readable(slug: str, on: Stage, browser: Browser) -> None:
    page = browser.new_page()
    page.goto(f"{on.desk}/guide/{slug}".rstrip("/"))
    expect(page.get_by_role("heading", level=1)).to_be_visible()
    assert broken_pictures(page) == []
    shown = page.locator("figure img").count()
    assert shown == (len(re.findall(r'shot\("', source(slug))) if slug else 0)
    assert faults(page) == []
    page.close()


def test_every_page_of_the_desk_that_the_guide_names_is_there() -> None:
    named = {path for slug in SLUGS for path in re.findall(r'desk\("([^"]+)"', source(slug))}
    there = {route.path for page in PAGES for route in page.ROUTES} | {"/phones"}  # the door's own page, served beside
    assert named
    assert named <= there


def test_no_such_chapter_is_said_in_words(on: Stage, browser: Browser) -> None:
    page = browser.new_page()
    page.goto(f"{on.desk}/guide/nowhere")
    expect(page.get_by_text("There is no such page at this desk.")).to_be_visible()
    page.close()
