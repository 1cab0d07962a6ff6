"""The desk on the morning after the sample's display day: taken in once, a copy for each test."""

import itertools
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from builder.edition import compile_edition
from builder.load import load_fleet
from sync.demo import SAMPLE, take_in_day
from sync.service import Service
from sync.store import Store
from tests.sync.desk.window import Window
from tests.sync.phones import Dice

MORNING = datetime(2026, 10, 18, 10, 0, tzinfo=UTC)


@pytest.fixture(scope="session")
def day_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("day")
    with Store(folder / "backlog.db") as store:
        service = Service(store, lambda: MORNING, Dice("day"))
        service.adopt(compile_edition(load_fleet(SAMPLE)))
        take_in_day(service)
    return folder


@pytest.fixture
def service(day_folder: Path, tmp_path: Path) -> Iterator[Service]:
    shutil.copytree(day_folder, tmp_path / "day")
    moments = (MORNING + timedelta(seconds=n) for n in itertools.count())
    with Store(tmp_path / "day/backlog.db") as store:
        yield Service(store, lambda: next(moments), Dice("desk"))


@pytest.fixture
def window(service: Service) -> Window:
    """Maud, a lead, is at the desk."""
    return Window(service)
