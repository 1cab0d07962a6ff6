"""One browser for the whole run, since a process may not start a second; and the same made-up examples every time."""

from collections.abc import Iterator

import pytest
from hypothesis import settings
from playwright.sync_api import Browser, Playwright, sync_playwright

from tests.app.browsers import chromium

# A commit is judged by the same examples wherever it is tested; new ones are sought by hand, by the profile "nightly".
settings.register_profile("repeatable", derandomize=True)
settings.load_profile("repeatable")


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as running:
        yield running


@pytest.fixture(scope="session")
def browser(playwright: Playwright) -> Iterator[Browser]:
    running = chromium(playwright)
    yield running
    running.close()
