"""The carry, made again only when the backlog, or the day, has changed."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import date, datetime

from sync.carry import carry, tag_of
from sync.store import Store


@dataclass(frozen=True)
class Made:
    body: bytes
    etag: str
    revision: str
    day: date


@dataclass
class Carried:
    """Threads may share it; while one makes it, the others wait for that one."""

    store: Store
    now: Callable[[], datetime]
    _made: Made | None = None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def now_made(self) -> Made:
        with self._lock:
            revision, moment = self.store.setting("revision"), self.now()
            made = self._made
            if made is None or (made.revision, made.day) != (revision, moment.date()):
                body = carry(self.store, moment.date(), moment)
                made = self._made = Made(body, f'"{tag_of(body)}"', revision, moment.date())
            return made
