"""The backlog's filters, each alone and two together: what the list shows is what its rows say, and counts as many."""

import itertools

import pytest

from sync.rows import BacklogRow
from sync.service import Draft
from sync.store_rows import Query
from tests.sync.desk.window import TODAY, Window

FLAGS = ("waiting", "holding", "conflict", "perhaps_same", "revivals")


@pytest.fixture
def worked(window: Window) -> Window:
    """Some of the sample's defects wait; one of them is in conflict too."""
    for code in ("kettle-ewcvh", "kettle-9tpbk", "clog-9nw5m"):
        about = window.service.store.defect(code).opening
        wait = {"for": "seal", "kind": "part"}
        window.service.write(Draft("work", {"about": about, "state": "waiting", "wait": wait}), by="MF")
    return window


def rows(window: Window, query: Query) -> tuple[BacklogRow, ...]:
    page = window.service.store.backlog(TODAY, query)
    assert page.total == len(page.rows)
    return page.rows


def says(window: Window, row: BacklogRow, flag: str) -> bool:
    """The same, told from the row and the defect instead of by the store."""
    store = window.service.store
    if flag == "waiting":
        return row.waiting_for != ""
    if flag == "conflict":
        return row.conflict != ""
    if flag == "holding":
        return bool(store.defect(row.opening).holds)
    if flag == "perhaps_same":
        return any(row.opening in (pair.first, pair.second) for pair in store.pairs() if pair.joined is None)
    return next(v.state for v in store.standing(TODAY) if v.vehicle == row.vehicle) == "revival"


@pytest.mark.parametrize(("flag", "asked"), list(itertools.product(FLAGS, (True, False))))
def test_a_flag_finds_what_its_rows_say(worked: Window, flag: str, asked: bool) -> None:
    every = rows(worked, Query())
    wanted = [row.opening for row in every if says(worked, row, flag) == asked]
    assert [row.opening for row in rows(worked, Query(**{flag: asked}))] == wanted


@pytest.mark.parametrize(("one", "other"), list(itertools.combinations(FLAGS, 2)))
def test_two_flags_find_what_both_say(worked: Window, one: str, other: str) -> None:
    every = rows(worked, Query())
    wanted = [row.opening for row in every if says(worked, row, one) and says(worked, row, other)]
    assert [row.opening for row in rows(worked, Query(**{one: True, other: True}))] == wanted


def test_a_flag_and_a_search_find_what_both_say(worked: Window) -> None:
    found = rows(worked, Query(search="slack", waiting=True))
    assert {row.defect for row in found} == {"kettle-ewcvh"}


def test_a_flags_pages_are_the_whole_of_it_cut(worked: Window) -> None:
    whole = rows(worked, Query(conflict=True, sort="last_seen", down=True))
    store = worked.service.store
    cut = [store.backlog(TODAY, Query(conflict=True, sort="last_seen", down=True), 3, at) for at in range(0, 12, 3)]
    assert [row for page in cut for row in page.rows] == list(whole)
    assert {page.total for page in cut} == {len(whole)}
