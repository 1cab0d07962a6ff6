"""The threads behind the door: one writes entries, one places photos, some read; and what waits goes in together.

SQLite has one writer at a time. Hand-ins that come while it works are taken in by one transaction, folded once and
flushed once, and so are photos: fifty phones at once cost little more than one.
"""

import asyncio
from collections.abc import Awaitable, Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import IO, Generic, TypeVar

from sync.door.bodies import chunks
from sync.intake_photo import Picture
from sync.service import Service
from sync.service_take import Receipt

Result = TypeVar("Result")
Given = TypeVar("Given")
HAND_INS_TOGETHER = 64
PHOTOS_TOGETHER = 16


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


@dataclass(frozen=True)
class HandIn:
    source: str
    file: IO[bytes]
    desk: bool


@dataclass(eq=False)
class _Waiting(Generic[Given, Result]):
    given: Given
    outcome: "asyncio.Future[Result]"


@dataclass
class Together(Generic[Given, Result]):
    """A queue whose waiting things are done at once, `most` at a time, by `work` in a thread that `run` chooses.

    `alike` says which may go together. Where some fail together, each is tried alone: one bad thing must not cost the
    others theirs.
    """

    run: Callable[[Callable[[], Sequence[Result]]], Awaitable[Sequence[Result]]]
    work: Callable[[Sequence[Given]], Sequence[Result]]
    most: int
    alike: Callable[[Given], object] = lambda _: None
    _waiting: list[_Waiting[Given, Result]] = field(default_factory=list)
    _working: "asyncio.Task[None] | None" = None

    async def do(self, given: Given) -> Result:
        """What became of one thing, true because its transaction is committed."""
        loop = asyncio.get_running_loop()
        one = _Waiting(given, loop.create_future())
        self._waiting.append(one)
        if self._working is None or self._working.done():
            self._working = loop.create_task(self._go_on())
        return await asyncio.shield(one.outcome)

    async def _go_on(self) -> None:
        while self._waiting:
            kind = self.alike(self._waiting[0].given)
            group = [one for one in self._waiting if self.alike(one.given) == kind][: self.most]
            self._waiting = [one for one in self._waiting if one not in group]
            await self._do(group)

    async def _do(self, group: list[_Waiting[Given, Result]]) -> None:
        try:
            outcomes = await self.run(lambda: self.work([one.given for one in group]))
        except Exception as error:  # told to each sender
            if len(group) == 1:
                _fail(group[0].outcome, error)
                return
            for one in group:
                await self._do([one])
            return
        for one, outcome in zip(group, outcomes, strict=True):
            if not one.outcome.done():
                one.outcome.set_result(outcome)


def hand_ins(service: Service, threads: Threads) -> Together[HandIn, Receipt]:
    """Hand-ins on their way into the log; a desk's and a phone's are read on different terms."""

    def take(some: Sequence[HandIn]) -> Sequence[Receipt]:
        for one in some:
            one.file.seek(0)
        return service.take_in_all([(one.source, chunks(one.file)) for one in some], desk=some[0].desk)

    return Together(threads.write, take, HAND_INS_TOGETHER, lambda one: one.desk)


def photos(service: Service, threads: Threads) -> Together[Picture, bool]:
    """Photos on their way to their places."""
    return Together(threads.place, service.put_pictures, PHOTOS_TOGETHER)


def _fail(outcome: "asyncio.Future[Result]", error: Exception) -> None:
    if not outcome.done():
        outcome.set_exception(error)
        outcome.exception()  # the sender may be gone: then nobody asks for it, and asyncio would complain
