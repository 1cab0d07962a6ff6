"""What the store keeps, however it got there, is what the fold makes of the whole log."""

import tempfile
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from sync.fold import fold
from sync.refold import Shelf, logged_of
from sync.service import Service
from sync.state import State
from sync.store import Store
from sync.verifying import verify
from tests.sync.phones import Dice, clock, edition_of, service_at
from tests.sync.stories import Story


def folded(service: Service) -> State:
    store = service.store
    return fold(logged_of(store.kept("fold > 0")), Shelf(store), store.setting("first edition"))


@settings(max_examples=40, deadline=None)
@given(st.integers(0, 10**9))
def test_after_any_deliveries_the_state_is_that_of_the_whole_log_folded_at_once(seed: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        edition = edition_of(Path(folder) / "fleet")
        service = service_at(Path(folder) / "backlog.db", edition)
        story = Story(seed, edition)
        for device, data in story.deliveries():
            receipt = service.take_in("file", [data], desk=device is story.devices[-1])
            assert not receipt.aside, receipt
            assert service.store.state() == folded(service)
        service.store.close()


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10**9))
def test_after_any_deliveries_verify_finds_nothing(seed: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        edition = edition_of(Path(folder) / "fleet")
        service = service_at(Path(folder) / "backlog.db", edition)
        story = Story(seed, edition)
        for device, data in story.deliveries():
            service.take_in("file", [data], desk=device is story.devices[-1])
        assert verify(service.store).derived == ()
        service.store.close()


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10**9))
def test_two_orders_and_batchings_end_in_the_same_state(seed: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        edition = edition_of(Path(folder) / "fleet")
        story = Story(seed, edition)
        states = []
        for name in ("one", "two"):
            service = service_at(Path(folder) / f"{name}.db", edition)
            phones = [("file", [data]) for device, data in story.deliveries() if device is not story.devices[-1]]
            service.take_in_all(phones)
            service.take_in("file", [story.devices[-1].hand_in()], desk=True)
            states.append(service.store.state())
            service.store.close()
        assert states[0] == states[1]


@settings(max_examples=10, deadline=None)
@given(st.integers(0, 10**9))
def test_two_programs_that_write_in_turn_never_fold_with_what_the_other_has_changed_meanwhile(seed: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        edition = edition_of(Path(folder) / "fleet")
        first = service_at(Path(folder) / "backlog.db", edition)
        other = Service(Store(first.store.path), clock(), Dice("other"))
        story = Story(seed, edition)
        for turn, (device, data) in enumerate(story.deliveries()):
            (first, other)[turn % 2].take_in("file", [data], desk=device is story.devices[-1])
        assert first.store.state() == folded(first)
        first.store.close()
        other.store.close()
