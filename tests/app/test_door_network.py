"""Across a network: the PC and the phone are two hosts, and the desk stays on its own."""

import subprocess
import sys
from collections.abc import Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from tests.app.browsers import SYSTEM_CHROMIUM
from tests.app.networks import PC_ADDRESS, Cable, cable
from tests.app.test_door_journey import NONE_LEFT, paired, send, walk
from tests.app.trusting import phone_of, trusting
from tests.workshops import HOST, Workshop, until

ASK = """
import sys, urllib.request
asked = urllib.request.Request(sys.argv[1], headers={"Host": sys.argv[2]})
print(urllib.request.urlopen(asked, timeout=3).status)
"""
LOOK_UP = """
import sys
from zeroconf import AddressResolverIPv4, Zeroconf
asking, found = Zeroconf(), AddressResolverIPv4(sys.argv[1])
found.request(asking, 5000)
print(*found.parsed_addresses())
asking.close()
"""


@pytest.fixture(scope="module")
def wire() -> Iterator[Cable]:
    with cable() as made:
        yield made


@pytest.fixture(scope="module")
def pc(wire: Cable, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Workshop]:
    running = Workshop(tmp_path_factory.mktemp("pc"), within=wire.inside(wire.pc), lan=True).start()
    yield running
    running.kill()


def asked(wire: Cable, space: str, url: str, host: str) -> str:
    """What a program in one of the two hosts gets; "" where it gets nothing."""
    return run(wire, space, ASK, url, host)


def run(wire: Cable, space: str, script: str, *given: str) -> str:
    command = wire.inside(space, sys.executable, "-c", script, *given)
    return subprocess.run(command, check=False, capture_output=True, text=True).stdout.strip()


def test_a_phone_on_the_network_pairs_walks_out_of_reach_and_hands_in(
    browser: Browser, wire: Cable, pc: Workshop, tmp_path: Path
) -> None:
    launcher = wire.launcher(tmp_path, str(SYSTEM_CHROMIUM))
    home = trusting(tmp_path / "phone", pc.authority_file())
    maps = f"MAP {HOST} {PC_ADDRESS}"
    with phone_of(browser.browser_type, home, maps=maps, launcher=launcher) as context:
        page = paired(context, pc)
        page.evaluate("navigator.serviceWorker.ready.then(() => undefined)")
        page.reload()
        wire.plug(in_=False)
        walk(page, pc.app)
        send(page, pc.app)
        expect(page.get_by_text("does not answer")).to_be_visible(timeout=60_000)
        wire.plug(in_=True)
        send(page, pc.app)
        expect(page.get_by_role("banner").get_by_role("status")).to_have_text(NONE_LEFT, timeout=60_000)
    with pc.store() as store:
        assert len(store.defects()) == 1


def test_the_pc_says_by_which_address_it_is_reached(pc: Workshop) -> None:
    assert PC_ADDRESS in pc.line("By address, if the name is not found")


def test_the_plain_page_answers_across_the_network(wire: Cable, pc: Workshop) -> None:
    url = f"http://{PC_ADDRESS}:{pc.ports['--http-port']}/"
    assert asked(wire, wire.phone, url, HOST) == "200"


def test_the_desk_answers_on_its_own_pc_and_not_across_the_network(wire: Cable, pc: Workshop) -> None:
    port = pc.ports["--desk-port"]
    assert asked(wire, wire.pc, f"http://127.0.0.1:{port}/phones", "localhost") == "200"
    assert asked(wire, wire.phone, f"http://{PC_ADDRESS}:{port}/phones", "localhost") == ""


def test_the_fleets_name_is_answered_for_on_the_network(wire: Cable, pc: Workshop) -> None:
    until(lambda: run(wire, wire.phone, LOOK_UP, f"{HOST}.") == PC_ADDRESS)
