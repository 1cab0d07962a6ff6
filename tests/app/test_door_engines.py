"""The way through the door in WebKitGTK and in Firefox ESR: pair, go out of reach, come back, nothing is left."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.app.engines import ENGINES, Driven, Screen, kill
from tests.app.test_door_journey import NONE_LEFT
from tests.workshops import Workshop, workshop

# Selenium's own call of itself.
pytestmark = pytest.mark.filterwarnings("ignore:setting remote_server_addr:DeprecationWarning")
TAKEN = "await navigator.serviceWorker.ready; return navigator.serviceWorker.controller !== null;"
REPORT = """
const { startEngine } = await import(new URL("js/engine.js", document.baseURI).href);
const engine = await startEngine();
const canvas = document.createElement("canvas");
canvas.width = canvas.height = 300;
canvas.getContext("2d").fillRect(0, 0, 200, 100);
const blob = await new Promise((resolve) => canvas.toBlob(resolve, "image/jpeg"));
const photos = [await engine.photos.take(blob)];
await engine.log.append({ kind: "report", vehicle: "otter", source: "driver", symptom: "pulls to the left", photos });
engine.storage.close();
"""


@pytest.fixture
def pc(tmp_path: Path) -> Iterator[Workshop]:
    (tmp_path / "pc").mkdir()
    with workshop(tmp_path / "pc") as running:
        yield running


@pytest.fixture(scope="module")
def screen() -> Iterator[str]:
    running = Screen(94)
    yield running.name
    running.stop()


@pytest.fixture(params=sorted(ENGINES))
def page(request: pytest.FixtureRequest, pc: Workshop, tmp_path: Path, screen: str) -> Iterator[Driven]:
    keys = pc.folder / "backlog-door"
    trusts = keys / ("door.pem" if request.param == "webkit" else "authority.pem")
    driven = Driven(ENGINES[request.param](tmp_path / "disk", screen, trusts=trusts))
    yield driven
    driven.driver.quit()
    kill(tmp_path / "disk")


def test_a_phone_pairs_goes_out_of_reach_comes_back_and_hands_in(page: Driven, pc: Workshop) -> None:
    app = f"https://localhost:{pc.ports['--port']}/"
    page.open(f"{app}#/pair/{pc.new_code()}")
    page.tap("radio", "AB", exact=True)
    page.tap("button", "To the vehicles")
    page.tap("button", "Pair", exact=True)
    page.until(lambda: "Pair anew" in page.text(), "the phone to be paired")
    page.until(lambda: page.run(TAKEN), "the worker to take the page")
    pc.kill()
    page.open(app)  # and so again at the page it was left at
    page.get("button", "Send to workshop")
    page.run(REPORT)
    page.open(app)
    page.until(lambda: "1 entry not yet at the workshop" in page.text(), "the entry to be counted")
    page.tap("button", "Send to workshop")
    page.until(lambda: "does not answer" in page.text(), "the door to be missed")
    pc.start()
    page.tap("button", "Send to workshop")
    page.until(lambda: NONE_LEFT in page.text(), "nothing to be left")
    with pc.store() as store:
        (report,) = store.reports()
        assert report.symptom == "pulls to the left"
        assert store.photo(report.photos[0]) is not None
