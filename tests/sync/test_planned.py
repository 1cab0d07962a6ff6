"""The plan for papers, from a store: the same problem as the desk's, and not all of a backlog that is too long."""

from collections.abc import Iterator
from datetime import date
from pathlib import Path

import pytest

from sync import planned as module
from sync.plan.gather import gather
from sync.planned import planned
from sync.store import Store
from tests.sync.measured_day import Measured, compiled, take_in

AS_OF = date(2026, 10, 19)


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    edition = compiled(tmp_path / "fleet")
    with Store(tmp_path / "backlog.db") as opened:
        found = (Measured("left/sag", 61, fault="slack"), Measured("left/oil", 70, fault="high"))
        take_in(opened, edition, "2026-10-18", *found)
        yield opened


def test_the_problem_is_that_of_the_whole_state(store: Store) -> None:
    whole = gather(store.edition(), store.state(), AS_OF, store.runs())
    assert planned(store, AS_OF).problem == whole
    assert len(whole.work) >= 2


def test_of_too_long_a_backlog_one_vehicle_is_known_and_no_day_named(
    store: Store, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(module, "PLANNED_MOST", 1)
    code = store.defects("otter")[0].code
    found = planned(store, AS_OF, "otter")
    card = found.card([code])
    assert card is not None
    assert (card.items, card.first_day) == ((code,), None)
    assert found.why_not.startswith("No days are planned here: 2 pieces of work are open;")
    assert planned(store, AS_OF).card([code]) is None
