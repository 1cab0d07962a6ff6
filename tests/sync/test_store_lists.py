"""However many the list finds, and in whichever order, it is the same list: few are sorted, many met by an index."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from builder.edition import compile_edition
from builder.load import load_fleet
from sync import store_backlog
from sync.demo import MORNING_AFTER, SAMPLE, take_in_day
from sync.desk.backlog import SORTS
from sync.service import Service
from sync.store import Store
from sync.store_rows import Query
from tests.sync.phones import START, Dice

QUERIES = [Query(), Query(severity="major"), Query(status="open", revivals=False), Query(search="track"),
           Query(standing="stopped"), Query(vehicle="kettle", severity="minor"), Query(station="left-track"),
           Query(revivals=False, waiting=False), Query(search="a", severity="minor")]  # fmt: skip


@pytest.fixture(scope="module")
def store(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Store]:
    with Store(Path(tmp_path_factory.mktemp("lists")) / "backlog.db") as store:
        service = Service(store, lambda: START, Dice("lists"))
        service.adopt(compile_edition(load_fleet(SAMPLE)))
        take_in_day(service)
        yield store


@pytest.fixture
def many(monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever is found counts as many."""
    monkeypatch.setattr(store_backlog, "_MANY", -1)


@pytest.mark.parametrize("query", QUERIES, ids=str)
def test_many_by_rank_are_the_few_by_rank_page_by_page(
    store: Store, query: Query, monkeypatch: pytest.MonkeyPatch
) -> None:
    few = store.backlog(MORNING_AFTER, query)
    assert few.total == len(few.rows)
    monkeypatch.setattr(store_backlog, "_MANY", -1)
    pages = [store.backlog(MORNING_AFTER, query, 7, first).rows for first in range(0, few.total + 7, 7)]
    assert tuple(row for page in pages for row in page) == few.rows


@pytest.mark.parametrize("query", QUERIES, ids=str)
@pytest.mark.parametrize("sort", [sort for sort, _ in SORTS if sort != "rank"])
@pytest.mark.parametrize("down", [False, True])
@pytest.mark.usefixtures("many")
def test_many_in_another_order_are_all_there_once_and_in_that_order(
    store: Store, query: Query, sort: str, *, down: bool
) -> None:
    asked = Query(**{name: getattr(query, name) for name in query.__struct_fields__ if name not in ("sort", "down")},
                  sort=sort, down=down)  # fmt: skip
    total = store.backlog(MORNING_AFTER, asked, 1).total
    rows = [row for first in range(0, total, 7) for row in store.backlog(MORNING_AFTER, asked, 7, first).rows]
    assert sorted(row.opening for row in rows) == sorted(r.opening for r in store.backlog(MORNING_AFTER, query).rows)
    grades = ("dangerous", "major", "minor", "advisory")
    keys = [
        grades.index(row.severity)
        if sort == "severity"
        else (row.waiting_for == "", row.waiting_for)
        if sort == "waiting_for"
        else getattr(row, sort)
        for row in rows
    ]
    assert keys == sorted(keys, reverse=down)


def test_of_a_broad_word_no_more_are_counted_than_anybody_reads(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    whole = store.backlog(MORNING_AFTER, Query(search="t"))
    assert (whole.more, whole.total) == (False, len(whole.rows))
    monkeypatch.setattr(store_backlog, "_MANY", -1)
    monkeypatch.setattr(store_backlog, "_COUNTED", 10)
    capped = store.backlog(MORNING_AFTER, Query(search="t"), 5, 5)
    assert (capped.more, capped.total, capped.rows) == (True, 10, whole.rows[5:10])


def test_a_page_past_the_end_is_empty(store: Store, many: None) -> None:
    assert store.backlog(MORNING_AFTER, Query(severity="major"), 50, 5000).rows == ()


def test_entries_are_counted_by_device_however_often_one_asks(store: Store) -> None:
    counted = {row.device: row.entries for row in store.devices()}
    rows = dict(store.rows("SELECT device, count(*) FROM entries GROUP BY 1"))
    assert counted == rows == {row.device: row.entries for row in store.devices()}
