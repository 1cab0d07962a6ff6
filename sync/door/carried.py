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
    revision: int
    day: date


@dataclass
class Carried:
    """Threads may share it; while one makes it, the others wait, and are given the next one together.

    What is given holds all that was in the backlog when it was asked for, and perhaps what came since.
    """

    store: Store
    now: Callable[[], datetime]
    _made: Made | None = None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def now_made(self) -> Made:
        asked = self._revision()
        with self._lock:
            moment, made = self.now(), self._made
            if made is None or made.revision < asked or made.day != moment.date():
                revision = self._revision()
                body = carry(self.store, moment.date(), moment)
                made = self._made = Made(body, f'"{tag_of(body)}"', revision, moment.date())
            return made

    def _revision(self) -> int:
        return int(self.store.setting("revision") or 0)
