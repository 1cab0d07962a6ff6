"""The papers as pages: valid HTML, whole in one file, a QR symbol that is read back, and A4 as Chromium prints it."""

import re
import subprocess
from collections.abc import Callable
from os import environ
from pathlib import Path

import html5lib
import msgspec
import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser

from builder.edition import Edition
from sync.paper import printed
from sync.paper.cards import Bench, defect_card, job_card
from sync.paper.notices import notice
from sync.paper.sheets import walk_sheet
from sync.paper.stencil import LETTERS, TALL, lettering
from sync.state import Defect, JobState, Standing

Papers = dict[str, bytes]


@pytest.fixture
def papers(edition: Edition, standing: Standing, bench: Bench, slack: Defect, fuel: Defect) -> Papers:
    job = job_card(JobState(job="j-1", title="Saturday", tasks=("badger/while-open/wash",)), (fuel, slack), bench)
    link = "https://yard.example/vehicle/{}".format
    return {
        "cards": printed.job_cards([defect_card(slack, bench), job]),
        "two a page": printed.job_cards([defect_card(slack, bench), defect_card(fuel, bench)], a_page=2),
        "notice": printed.notices([notice(edition, standing, (fuel, slack), "2026-10-19", link)]),
        "sheets": printed.walk_sheets(
            [walk_sheet(edition, standing, name, (slack,), "2026-10-19") for name in ("hot", "full")]
        ),
    }


def read_image(path: Path) -> Image.Image:
    with Image.open(path) as image:
        return image.convert("L")


NAMES = ["cards", "two a page", "notice", "sheets"]


@pytest.fixture(scope="module")
def chromium(browser: Browser) -> Browser:
    return browser


@pytest.fixture
def pages(chromium: Browser, tmp_path: Path) -> Callable[[bytes], list[Image.Image]]:
    """A paper as the pages that Chromium prints, at 150 dots an inch."""

    def printed_pages(paper: bytes) -> list[Image.Image]:
        page = chromium.new_page()
        page.set_content(paper.decode())
        page.pdf(path=tmp_path / "paper.pdf", prefer_css_page_size=True)
        page.close()
        command = ["pdftoppm", "-r", "150", "-png", tmp_path / "paper.pdf", tmp_path / "page"]
        subprocess.run(command, check=True, timeout=60)
        return [read_image(path) for path in sorted(tmp_path.glob("page*.png"))]

    return printed_pages


@pytest.mark.parametrize("name", NAMES)
def test_each_paper_is_valid_html(name: str, papers: Papers) -> None:
    tree = html5lib.treebuilders.getTreeBuilder("etree")
    html5lib.HTMLParser(tree=tree, strict=True).parse(papers[name].decode())


@pytest.mark.parametrize("name", NAMES)
def test_each_paper_needs_nothing_from_anywhere(name: str, papers: Papers) -> None:
    page = papers[name].decode()
    assert not [link for link in re.findall(r'(?:src|href)="([^"]*)"', page) if not link.startswith("data:")]
    assert not re.findall(r"@import|url\(|<script|<link", page)


def test_a_hostile_note_stays_a_note(slack: Defect, bench: Bench) -> None:
    card = defect_card(msgspec.structs.replace(slack, note="<u>x</u>\x00"), bench)
    page = printed.job_cards([card]).decode()
    assert "&lt;u&gt;x&lt;/u&gt;\ufffd" in page


@pytest.mark.parametrize(("name", "most"), [("cards", 2), ("two a page", 1), ("notice", 1)])
def test_each_paper_keeps_to_its_a4_pages(name: str, most: int, papers: Papers, pages: Callable[..., list]) -> None:
    made = pages(papers[name])
    assert len(made) == most
    assert {image.size for image in made} == {(1240, 1754)}


def test_the_printed_symbol_leads_back_to_the_defect(papers: Papers, pages: Callable[..., list]) -> None:
    found = [code.text for image in pages(papers["two a page"]) for code in zxingcpp.read_barcodes(image)]
    assert sorted(found) == ["https://yard.example/defect/badger-7k3qd", "https://yard.example/defect/badger-9m2xa"]


def test_the_printed_notice_leads_to_the_vehicle(papers: Papers, pages: Callable[..., list]) -> None:
    (image,) = pages(papers["notice"])
    assert [code.text for code in zxingcpp.read_barcodes(image)] == ["https://yard.example/vehicle/badger"]


def test_the_same_input_is_the_same_paper(slack: Defect, bench: Bench) -> None:
    assert printed.job_cards([defect_card(slack, bench)]) == printed.job_cards([defect_card(slack, bench)])


@pytest.mark.parametrize("letter", LETTERS)
def test_each_letter_is_drawn_inside_its_box(letter: str) -> None:
    cut = lettering(letter)
    numbers = [tuple(map(float, pair.split())) for pair in re.findall(r"[\d.-]+ [\d.-]+", cut.d)]
    assert all(-0.01 <= x <= cut.width + 0.01 and -0.01 <= y <= TALL + 0.01 for x, y in numbers)


@pytest.mark.parametrize("name", NAMES)
def test_the_nu_checker_finds_no_fault_where_there_is_one(name: str, papers: Papers, tmp_path: Path) -> None:
    modules = environ.get("DRIPTRAY_NODE_MODULES")
    (tmp_path / "page.html").write_bytes(papers[name])
    command = ["java", "-jar", f"{modules}/vnu-jar/build/dist/vnu.jar", str(tmp_path / "page.html")]
    assert modules is None or subprocess.run(command, capture_output=True, timeout=120, check=False).stderr == b""
