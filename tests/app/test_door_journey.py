"""The whole way of a phone: trust, pair, walk without a signal, come back, hand in, and nothing is left to hand in."""

import hashlib
import io
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page, expect

from sync.store import Store
from tests.app.trusting import phone_of, trusting
from tests.workshops import HOST, Workshop, workshop

NONE_LEFT = "Everything is at the workshop"


@pytest.fixture
def pc(tmp_path: Path) -> Iterator[Workshop]:
    (tmp_path / "pc").mkdir()
    with workshop(tmp_path / "pc") as running:
        yield running


@pytest.fixture
def handset(browser: Browser, pc: Workshop, tmp_path: Path) -> Iterator[BrowserContext]:
    with phone_of(browser.browser_type, trusting(tmp_path / "phone", pc.authority())) as context:
        yield context


def picture() -> bytes:
    made = io.BytesIO()
    Image.linear_gradient("L").resize((640, 480)).convert("RGB").save(made, "JPEG")
    return made.getvalue()


def scanned(page: Page, name: str | re.Pattern[str]) -> str:
    """What a phone's camera reads off a QR code on a page."""
    shot = page.get_by_role("img", name=name).first.screenshot()
    return str(zxingcpp.read_barcodes(Image.open(io.BytesIO(shot)))[0].text)


def paired(handset: BrowserContext, pc: Workshop) -> Page:
    page = handset.new_page()
    page.goto(f"{pc.app}#/pair/{pc.new_code()}")
    page.get_by_role("radio", name="AB").check(force=True)
    page.get_by_role("button", name="To the vehicles").click()
    page.get_by_role("button", name="Pair", exact=True).click()
    expect(page.get_by_text("Pair anew")).to_be_visible()
    return page


def walk(page: Page, app: str) -> None:
    """One defect with a photo, marked and saved."""
    page.goto(f"{app}#/v/otter")
    page.get_by_role("button", name="Start walk-round").click()
    page.get_by_role("group", name="Sag of the top run").get_by_role("radio", name="Defect").check(force=True)
    page.get_by_role("radio", name="Slack").check(force=True)
    page.get_by_label("Note").fill("adjuster at its stop")
    with page.expect_file_chooser() as asked:
        page.get_by_label("Add photo").click(force=True)
    asked.value.set_files({"name": "IMG.jpg", "mimeType": "image/jpeg", "buffer": picture()})
    expect(page.get_by_role("img", name=re.compile("hoto"))).to_be_visible()
    page.get_by_role("button", name="Save", exact=True).click()
    expect(page.get_by_role("status").filter(has_text="2 entries not yet at the workshop")).to_be_visible()


def send(page: Page, app: str) -> None:
    page.goto(f"{app}#/hand-in")
    page.get_by_role("button", name="Send to workshop").click()


def test_a_phone_that_does_not_trust_the_authority_is_kept_out(browser: Browser, pc: Workshop, tmp_path: Path) -> None:
    with phone_of(browser.browser_type, trusting(tmp_path / "stranger")) as context:
        page = context.new_page()
        with pytest.raises(Exception, match="ERR_CERT_AUTHORITY_INVALID"):
            page.goto(pc.app)


def test_the_desk_shows_what_a_phone_scans_to_come_in(handset: BrowserContext, pc: Workshop) -> None:
    code = pc.new_code()
    desk = handset.new_page()
    desk.goto(f"{pc.desk}phones")
    assert scanned(desk, re.compile("pairing code")) == f"{pc.app}#/pair/{code}"
    assert scanned(desk, re.compile("QR code: http")) == pc.trust == f"http://{HOST}:{pc.ports['--http-port']}/"


def test_a_phone_walks_without_a_signal_and_comes_back_until_nothing_is_left(
    handset: BrowserContext, pc: Workshop
) -> None:
    page = paired(handset, pc)
    page.evaluate("navigator.serviceWorker.ready.then(() => undefined)")
    page.reload()
    pc.kill()
    page.goto(pc.app)
    expect(page.get_by_role("banner")).to_be_visible()
    walk(page, pc.app)
    page.reload()
    send(page, pc.app)
    expect(page.get_by_text("does not answer")).to_be_visible()
    pc.start()
    send(page, pc.app)
    expect(page.get_by_role("banner").get_by_role("status")).to_have_text(NONE_LEFT)
    expect(page.get_by_text("1 photo.")).to_be_visible()
    with Store(pc.backlog, create=False) as store:
        (defect,) = store.defects()
        assert (defect.vehicle, defect.note) == ("otter", "adjuster at its stop")
        (photo,) = defect.photos
        assert hashlib.sha256(store.photo_path(photo).read_bytes()).hexdigest() == photo


def test_known_defects_come_back_to_the_phone(handset: BrowserContext, pc: Workshop) -> None:
    page = paired(handset, pc)
    walk(page, pc.app)
    send(page, pc.app)
    expect(page.get_by_text("New known defects came back.")).to_be_visible()
    page.goto(f"{pc.app}#/v/otter")
    expect(page.get_by_text("adjuster at its stop")).to_be_visible()


def test_the_desk_sees_what_is_coming(handset: BrowserContext, pc: Workshop) -> None:
    page = paired(handset, pc)
    walk(page, pc.app)
    send(page, pc.app)
    expect(page.get_by_role("banner").get_by_role("status")).to_have_text(NONE_LEFT)
    desk = handset.new_page()
    desk.goto(f"{pc.desk}phones")
    row = desk.get_by_role("row").filter(has=desk.get_by_role("cell", name="2 taken"))
    expect(row).to_contain_text("AB phone")
    expect(row).to_contain_text("1 taken")
    expect(row).to_contain_text("all here")
