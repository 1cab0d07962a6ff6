"""Vehicle labels, read back by another program from what would be printed."""

import io
from pathlib import Path

import zxingcpp
from PIL import Image
from playwright.sync_api import Browser

from builder.commands import WEB_TEMPLATES
from builder.edition import compile_edition, read_edition
from builder.labels import label_sheet
from builder.load import load_fleet
from tests.app.conftest import SAMPLE

BASE = "https://shed.example/walk/"


def sheet() -> bytes:
    edition = read_edition(compile_edition(load_fleet(SAMPLE)))
    texts = {path.name: path.read_text("utf-8") for path in (WEB_TEMPLATES / "print").glob("*.html")}
    return label_sheet(edition, BASE, texts)


def test_every_label_on_the_sheet_reads_as_its_vehicles_address(browser: Browser, tmp_path: Path) -> None:
    edition = read_edition(compile_edition(load_fleet(SAMPLE)))
    (tmp_path / "labels.html").write_bytes(sheet())
    page = browser.new_page(viewport={"width": 800, "height": 1100}, device_scale_factor=2)
    page.goto((tmp_path / "labels.html").as_uri())
    found = zxingcpp.read_barcodes(Image.open(io.BytesIO(page.screenshot(full_page=True))))
    page.close()
    assert sorted(code.text for code in found) == sorted(f"{BASE}#/v/{v.id}" for v in edition.vehicles)


def test_a_label_reads_with_a_fifth_of_it_under_oil(browser: Browser, tmp_path: Path) -> None:
    (tmp_path / "labels.html").write_bytes(sheet())
    page = browser.new_page(viewport={"width": 800, "height": 1100}, device_scale_factor=3)
    page.goto((tmp_path / "labels.html").as_uri())
    image = Image.open(io.BytesIO(page.locator("li svg").first.screenshot())).convert("RGB")
    page.close()
    width, height = image.size
    # The lower right, where no finder pattern is.
    image.paste((30, 22, 14), (int(width * 0.62), int(height * 0.62), int(width * 0.86), int(height * 0.86)))
    (code,) = zxingcpp.read_barcodes(image)
    assert code.text.startswith(f"{BASE}#/v/")


def test_the_sheet_prints_on_a4_without_a_label_cut_in_two(browser: Browser, tmp_path: Path) -> None:
    (tmp_path / "labels.html").write_bytes(sheet())
    page = browser.new_page()
    page.goto((tmp_path / "labels.html").as_uri())
    page.pdf(path=tmp_path / "labels.pdf", prefer_css_page_size=True)
    split = page.evaluate("getComputedStyle(document.querySelector('li')).breakInside")
    page.close()
    assert split == "avoid"
    assert (tmp_path / "labels.pdf").read_bytes().startswith(b"%PDF")
