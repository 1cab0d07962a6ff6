"""What waits at the door goes in together, and one bad thing does not cost the others theirs."""

import asyncio
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor

import pytest

from sync.door.threads import Together


class Work:
    """Doubles numbers, a group at a time; a 13 spoils its whole group."""

    def __init__(self) -> None:
        self.groups: list[list[int]] = []

    def __call__(self, some: Sequence[int]) -> Sequence[int]:
        self.groups.append(list(some))
        if 13 in some:
            raise ValueError("thirteen")
        return [2 * number for number in some]


async def _later(work: Callable[[], Sequence[int]]) -> Sequence[int]:
    await asyncio.sleep(0.01)
    return work()


def outcomes(work: Work, given: Sequence[int], most: int = 64) -> list[int | BaseException]:
    async def all_at_once() -> list[int | BaseException]:
        together = Together(_later, work, most)
        return list(await asyncio.gather(*(together.do(one) for one in given), return_exceptions=True))

    with ThreadPoolExecutor(1) as apart:  # this thread may hold a browser's event loop
        return apart.submit(asyncio.run, all_at_once()).result()


def test_what_came_while_others_were_served_goes_in_at_once() -> None:
    work = Work()
    assert outcomes(work, range(10)) == [2 * number for number in range(10)]
    assert len(work.groups) <= 2


def test_a_group_has_its_most() -> None:
    work = Work()
    outcomes(work, range(10), most=4)
    assert max(map(len, work.groups)) == 4


def test_one_that_fails_is_told_so_and_the_others_are_served() -> None:
    one, bad, other = outcomes(Work(), [1, 13, 5])
    assert (one, other) == (2, 10)
    with pytest.raises(ValueError, match="thirteen"):
        raise bad if isinstance(bad, BaseException) else AssertionError(bad)
