"""One open door for the tests of a module that leave it as it was, and one of a test's own."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.sync.door.doors import Phone, RunningDoor, door_in


@pytest.fixture(scope="module")
def door(tmp_path_factory: pytest.TempPathFactory) -> Iterator[RunningDoor]:
    with door_in(tmp_path_factory.mktemp("door")) as running:
        yield running


@pytest.fixture
def fresh(tmp_path: Path) -> Iterator[RunningDoor]:
    with door_in(tmp_path / "fresh") as running:
        yield running


@pytest.fixture
def phone(fresh: RunningDoor) -> Phone:
    return Phone.paired(fresh)
