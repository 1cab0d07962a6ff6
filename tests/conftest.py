"""One Playwright and one Chromium for the whole run: a process may not start a second of the first."""

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, Playwright, sync_playwright

from tests.app.browsers import chromium


@pytest.fixture(scope="session")
def playwright() -> Iterator[Playwright]:
    with sync_playwright() as running:
        yield running


@pytest.fixture(scope="session")
def browser(playwright: Playwright) -> Iterator[Browser]:
    running = chromium(playwright)
    yield running
    running.close()
