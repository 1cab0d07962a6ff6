"""The threads behind the door: one writes entries, one places photos, some read; and hand-ins that wait go in together.

SQLite has one writer at a time. Hand-ins that come while it works are taken in by one transaction, folded once and
flushed once: fifty phones at once cost little more than one.
"""

import asyncio
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import IO, TypeVar

from sync.door.bodies import chunks
from sync.service import Service
from sync.service_take import Receipt

Result = TypeVar("Result")
TOGETHER = 64


class Threads:
    def __init__(self, readers: int = 2) -> None:
        self._writer = ThreadPoolExecutor(1, "door-writer")
        self._photos = ThreadPoolExecutor(1, "door-photos")
        self._readers = ThreadPoolExecutor(readers, "door-reader")

    async def write(self, work: Callable[[], Result]) -> Result:
        return await asyncio.get_running_loop().run_in_executor(self._writer, work)

    async def place(self, work: Callable[[], Result]) -> Result:
        return await asyncio.get_running_loop().run_in_executor(self._photos, work)

    async def read(self, work: Callable[[], Result]) -> Result:
        return await asyncio.get_running_loop().run_in_executor(self._readers, work)

    def stop(self) -> None:
        """Waits until what was begun is done: nothing is cut off between its pages."""
        for pool in (self._writer, self._photos, self._readers):
            pool.shutdown(wait=True)


@dataclass(eq=False)
class _Waiting:
    source: str
    file: IO[bytes]
    desk: bool
    receipt: "asyncio.Future[Receipt]"


@dataclass
class Queue:
    """Hand-ins on their way into the log."""

    service: Service
    threads: Threads
    _waiting: list[_Waiting] = field(default_factory=list)
    _working: "asyncio.Task[None] | None" = None

    async def take(self, source: str, file: IO[bytes], *, desk: bool) -> Receipt:
        """The receipt of one hand-in, true because its transaction is committed. Closes the file."""
        loop = asyncio.get_running_loop()
        one = _Waiting(source, file, desk, loop.create_future())
        self._waiting.append(one)
        if self._working is None or self._working.done():
            self._working = loop.create_task(self._work())
        return await asyncio.shield(one.receipt)

    async def _work(self) -> None:
        while self._waiting:
            desk = self._waiting[0].desk
            group = [one for one in self._waiting if one.desk == desk][:TOGETHER]
            self._waiting = [one for one in self._waiting if one not in group]
            await self._take(group)

    async def _take(self, group: list[_Waiting]) -> None:
        try:
            receipts = await self.threads.write(lambda: self._taken(group))
        except Exception as error:  # told to each sender; one bad hand-in must not cost the others theirs
            if len(group) == 1:
                _settle(group[0], error)
                return
            for one in group:
                await self._take([one])
            return
        for one, receipt in zip(group, receipts, strict=True):
            _settle(one, receipt)

    def _taken(self, group: list[_Waiting]) -> tuple[Receipt, ...]:
        for one in group:
            one.file.seek(0)
        return self.service.take_in_all([(one.source, chunks(one.file)) for one in group], desk=group[0].desk)


def _settle(one: _Waiting, outcome: Receipt | Exception) -> None:
    one.file.close()
    if one.receipt.done():
        return
    if isinstance(outcome, Exception):
        one.receipt.set_exception(outcome)
        one.receipt.exception()  # the sender may be gone: then nobody asks for it, and asyncio would complain
    else:
        one.receipt.set_result(outcome)
