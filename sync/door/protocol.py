"""Connections counted and timed: heads that never end and crowds from one address cost little."""

import asyncio
from collections import Counter
from typing import Any

import h11
from uvicorn.protocols.http.h11_impl import H11Protocol

from sync.door.limits import Limits


class Timed(H11Protocol):
    """uvicorn's protocol under limits; `protocol` makes a class of it that keeps one count of who is here."""

    _limits: Limits
    _crowd: Counter[str]
    _timer: asyncio.TimerHandle | None = None
    _address = ""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._address = self.client[0] if self.client else ""
        self._crowd[self._address] += 1
        if self._crowd[self._address] > self._limits.per_address or self._crowd.total() > self._limits.connections:
            transport.abort()
        else:
            self._time()

    def connection_lost(self, exc: Exception | None) -> None:
        super().connection_lost(exc)
        self._untime()
        self._crowd[self._address] -= 1
        if self._crowd[self._address] <= 0:
            del self._crowd[self._address]

    def data_received(self, data: bytes) -> None:
        super().data_received(data)
        self._time()

    def on_response_complete(self) -> None:
        super().on_response_complete()
        self._time()

    def _time(self) -> None:
        """A timer runs while a head is awaited, or while a body goes on that was answered already."""
        if self.conn.their_state is h11.IDLE or self.conn.our_state is h11.DONE:
            if self._timer is None:
                self._timer = self.loop.call_later(self._limits.head_s, self._late)
        else:
            self._untime()

    def _late(self) -> None:
        self._timer = None
        self.transport.abort()

    def _untime(self) -> None:
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None


def protocol(limits: Limits) -> type[H11Protocol]:
    """uvicorn's protocol under these limits; one count for all that is made with it."""
    return type("TimedHere", (Timed,), {"_limits": limits, "_crowd": Counter()})


def quiet(**changed: Any) -> dict[str, Any]:
    """uvicorn's settings for every server here: no access log (addresses are nobody's business), no banners."""
    plain: dict[str, Any] = {
        "access_log": False,
        "log_config": None,
        "server_header": False,
        "proxy_headers": False,
        "ws": "none",
        "lifespan": "off",
        "timeout_keep_alive": 10,
        "timeout_graceful_shutdown": 10,
        "backlog": 1024,
    }
    return {**plain, **changed}
