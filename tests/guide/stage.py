"""The sample collection on its morning after: its app on a web host, its desk with nothing taken in yet."""

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

import uvicorn

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
        with _desk(Desk(store, service, lambda: MORNING_AFTER)) as address:
            yield Stage(site.url, address, service, folder)


@contextmanager
def _desk(desk: Desk) -> Iterator[str]:
    with socket.socket() as listening:
        listening.bind(("127.0.0.1", 0))
        server = uvicorn.Server(uvicorn.Config(desk_app(desk), log_level="error"))
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
        thread.start()
        while not server.started:
            time.sleep(0.05)
        try:
            yield f"http://127.0.0.1:{listening.getsockname()[1]}"
        finally:
            server.should_exit = True
            thread.join()
