"""The sample collection on its morning after: its app on a web host, its desk with nothing taken in yet."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from builder.commands import app_files
from builder.edition import compile_edition
from builder.load import load_fleet
from builder.write import write_site
from sync.carry import carry
from sync.demo import MORNING_AFTER, SAMPLE
from sync.desk.app import desk_app
from sync.desk.page import Desk
from sync.service import Service
from sync.store import Store
from tests.app.browsers import served
from tests.app.desks import served as answering
from tests.sync.phones import Dice

#: What every clock on the stage says.
MOMENT = datetime(2026, 10, 18, 12, 30, tzinfo=UTC)


@dataclass(frozen=True)
class Stage:
    app: str
    desk: str
    service: Service
    folder: Path

    @property
    def hand_ins(self) -> list[Path]:
        return sorted((SAMPLE / "day").glob("*.txt"))

    def known(self) -> Path:
        """A carry file of what the desk knows now."""
        path = self.folder / "known.txt"
        path.write_bytes(carry(self.service.store, MORNING_AFTER, MOMENT))
        return path


@contextmanager
def stage(folder: Path) -> Iterator[Stage]:
    """Both served to this PC until the block ends."""
    write_site(folder / "app", app_files(SAMPLE))
    with Store(folder / "backlog.db") as store, served(folder / "app") as site:
        service = Service(store, lambda: MOMENT, Dice("guide"))
        service.adopt(compile_edition(load_fleet(SAMPLE)), by="MF")
        with answering(desk_app(Desk(store, service, lambda: MORNING_AFTER))) as address:
            yield Stage(site.url, address, service, folder)
