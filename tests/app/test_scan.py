"""Labels: their address opens the vehicle, and the camera reads them where this browser can."""

import pytest
from playwright.sync_api import BrowserContext, expect

from tests.app.browsers import Site
from tests.app.walker import Walker

#: A camera that shows a grey picture, and a reader that finds one code in it.
CAMERA = """
navigator.mediaDevices.getUserMedia = async () => {
  const canvas = document.createElement("canvas");
  canvas.getContext("2d").fillRect(0, 0, 9, 9);
  return canvas.captureStream(5);
};
window.BarcodeDetector = class { async detect() { return [{ rawValue: TEXT }]; } };
"""


@pytest.mark.parametrize("address", ["https://shed.local:8443/#/v/badger", "https://elsewhere.example/app/#/v/badger"])
def test_a_label_held_before_the_camera_opens_its_vehicle(walker: Walker, address: str) -> None:
    walker.page.add_init_script(CAMERA.replace("TEXT", f"'{address}'"))
    walker.page.reload()
    walker.button("Scan a label").click()
    expect(walker.page.get_by_role("heading", name="Badger", exact=True)).to_be_visible()
    expect(walker.form).to_have_count(0)


def test_another_code_is_told_as_such_and_opens_nothing(walker: Walker) -> None:
    walker.page.add_init_script(CAMERA.replace("TEXT", "'https://shed.local/#/v/nobody'"))
    walker.page.reload()
    walker.button("Scan a label").click()
    expect(walker.form).to_contain_text("That is no label of this collection’s vehicles.")


def test_a_camera_that_is_refused_is_told_with_the_way_out(walker: Walker) -> None:
    refusing = CAMERA.replace("const canvas", "throw new DOMException('no', 'NotAllowedError'); const canvas")
    walker.page.add_init_script(refusing.replace("TEXT", "''"))
    walker.page.reload()
    walker.button("Scan a label").click()
    expect(walker.form).to_contain_text("choose the vehicle from the list")


def test_where_the_browser_reads_no_codes_nothing_is_offered(walker: Walker) -> None:
    walker.page.add_init_script("delete window.BarcodeDetector")
    walker.page.reload()
    walker.heading("Not walked today").wait_for()
    expect(walker.button("Scan a label")).to_have_count(0)


def test_a_labels_address_leads_to_its_vehicle_past_the_first_question(handset: BrowserContext, trial: Site) -> None:
    walker = Walker(handset, trial.url).open("#/v/otter")
    walker.radio("OG").check()
    walker.button("To the vehicles").click()
    expect(walker.page.get_by_role("heading", name="Otter", exact=True)).to_be_visible()


def test_a_label_of_a_vehicle_that_is_gone_says_so(walker: Walker) -> None:
    walker.open("#/v/ferret")
    expect(walker.heading("No vehicle “ferret”")).to_be_visible()
    expect(walker.page.get_by_role("link", name="To the vehicles")).to_be_visible()
