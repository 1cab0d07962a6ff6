"""The built app, served, and phones to open it on."""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Browser, BrowserContext, Page

from builder.commands import app_files
from builder.write import write_site
from tests.app.browsers import Site, phone, served
from tests.app.walker import TRIAL, Walker

ROOT = Path(__file__).resolve().parent.parent.parent
SAMPLE = ROOT / "sample_fleet"


@pytest.fixture(scope="session")
def app_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample fleet's app, built once."""
    folder = tmp_path_factory.mktemp("site") / "app"
    write_site(folder, app_files(SAMPLE))
    return folder


@pytest.fixture(scope="session")
def site(app_folder: Path) -> Iterator[Site]:
    with served(app_folder) as running:
        yield running


@pytest.fixture(scope="session")
def trial(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Site]:
    """The app of a fleet that has each kind of check once, under a sub-path."""
    folder = tmp_path_factory.mktemp("trial") / "app"
    write_site(folder, app_files(TRIAL))
    with served(folder, "/walk/") as running:
        yield running


@pytest.fixture
def handset(browser: Browser) -> Iterator[BrowserContext]:
    """A fresh phone."""
    context = phone(browser)
    yield context
    context.close()


@pytest.fixture
def walker(handset: BrowserContext, trial: Site) -> Walker:
    """A person past the first question, on a fresh phone, in the trial fleet's app."""
    return Walker(handset, trial.url).introduced()


class Bench:
    """An empty page of the app's own host, where its modules can be run one at a time."""

    def __init__(self, page: Page, site: Site) -> None:
        self.page = page
        self.url = site.url
        page.goto(f"{site.url}blank.html")

    def run(self, body: str, given: Any = None) -> Any:
        """What `body` returns; in it `load(name)` imports a module and `given` is what was passed."""
        script = f"async (given) => {{ const load = (name) => import(`{self.url}js/${{name}}.js`); {body} }}"
        return self.page.evaluate(script, given)


@pytest.fixture
def bench(handset: BrowserContext, site: Site) -> Bench:
    return Bench(handset.new_page(), site)
