"""A desk on this machine's loopback, on a fixed day, for browsers to work at."""

import itertools
import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

import uvicorn

from builder.edition import compile_edition
from builder.load import load_fleet
from sync.demo import SAMPLE
from sync.desk.app import desk_app
from sync.desk.page import Desk
from sync.service import Service
from sync.store import Store
from tests.sync.phones import Dice

TODAY = date(2026, 10, 18)
_MORNING = datetime(2026, 10, 18, 10, 0, tzinfo=UTC)


@contextmanager
def desk_open(folder: Path) -> Iterator[tuple[Service, str]]:
    """The sample fleet's desk with an empty backlog, and its address."""
    moments = (_MORNING + timedelta(seconds=n) for n in itertools.count())
    with Store(folder / "backlog.db") as store:
        service = Service(store, lambda: next(moments), Dice("desk"))
        service.adopt(compile_edition(load_fleet(SAMPLE)))
        with served(desk_app(Desk(store, service, lambda: TODAY))) as address:
            yield service, address


@contextmanager
def served(app: object) -> Iterator[str]:
    listening = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(app, log_level="error"))  # type: ignore[arg-type]
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not server.started:
        time.sleep(0.02)
    try:
        yield f"http://127.0.0.1:{listening.getsockname()[1]}"
    finally:
        server.should_exit = True
        thread.join()
        listening.close()
