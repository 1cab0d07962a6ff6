"""From a backlog to what its readings come to, as pages, papers and exports ask for it."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from builder.edition import VehicleView, read_edition
from sync.measured import Measures
from sync.store import Store
from tests.sync.measured_day import Measured, compiled, take_in


@pytest.fixture(scope="module")
def edition_bytes(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    return compiled(tmp_path_factory.mktemp("fleet"))


@pytest.fixture
def view(edition_bytes: bytes) -> VehicleView:
    return read_edition(edition_bytes).by_vehicle["otter"]


@pytest.fixture
def store(tmp_path: Path) -> Iterator[Store]:
    with Store(tmp_path / "backlog.db") as opened:
        yield opened


def test_a_sag_is_reckoned_with_what_the_same_walk_measured_beside_it(
    store: Store, edition_bytes: bytes, view: VehicleView
) -> None:
    take_in(store, edition_bytes, "2026-10-11", Measured("left/adjuster", 60))
    take_in(store, edition_bytes, "2026-10-18", Measured("left/adjuster", 2), Measured("left/sag", 120, fault="slack"))
    take_in(store, edition_bytes, "2026-10-25", Measured("left/adjuster", 70))
    said = Measures(store).reckoned(view, store.defects("otter")[0])
    assert [one.subject for one in said] == ["reading", "tracks"]
    assert ("travel left outwards", "2 mm") in [(f.name, f.text) for f in said[-1].inputs]


def test_a_reading_that_cannot_be_is_said_to_be_set_aside(
    store: Store, edition_bytes: bytes, view: VehicleView
) -> None:
    take_in(store, edition_bytes, "2026-10-18", Measured("left/sag", 61, fault="slack"))
    take_in(store, edition_bytes, "2026-10-18", Measured("left/sag", -61, fault="slack"), device="d-ta")
    said = Measures(store).reckoned(view, store.defects("otter")[0])
    assert said[0].headline.startswith("Left sag: 61 mm is 26 mm above")
    assert said[1].headline.startswith("Left sag, set aside: -61 mm cannot be")
    assert said[1].verdict == "not judged"


def test_only_the_defects_own_spot_is_judged_and_all_are_compared(
    store: Store, edition_bytes: bytes, view: VehicleView
) -> None:
    taken = [Measured("left/hubs", 40 + n, spot=str(n)) for n in (1, 2, 3)]
    take_in(store, edition_bytes, "2026-10-18", *taken, Measured("left/hubs", 98, spot="4", fault="hot"))
    said = Measures(store).reckoned(view, store.defects("otter")[0])
    assert [one.headline.split(":")[0] for one in said] == ["Hub, 4", "Hub"]
    assert len([f for f in said[1].inputs if f.unit == "°C"]) == 5


def test_a_gravity_is_corrected_by_the_electrolytes_temperature(
    store: Store, edition_bytes: bytes, view: VehicleView
) -> None:
    """TM 5-1185: 1.250 at 20 °F is 1.226 at 80 °F."""
    cold = Measured("battery/electrolyte", 20, unit="°F")
    low = Measured("battery/cells", 1.250, unit="SG", spot="1", fault="low")
    take_in(store, edition_bytes, "2026-10-18", cold, low)
    said = Measures(store).reckoned(view, store.defects("otter")[0])
    assert ("cell 1 at 80 °F", "1.226 SG") in [(f.name, f.text) for f in said[-1].figures]


def test_an_oil_level_is_compared_with_the_one_before_and_what_was_topped_up(
    store: Store, edition_bytes: bytes, view: VehicleView
) -> None:
    take_in(store, edition_bytes, "2026-10-11", Measured("left/oil", 30))
    take_in(store, edition_bytes, "2026-10-18", Measured("left/oil", 40, fault="high"), added=1)
    said = Measures(store).reckoned(view, store.defects("otter")[0])
    assert ("added between", "1 L") in [(f.name, f.text) for f in said[-1].inputs]


def test_where_nothing_was_measured_there_is_nothing_to_say(
    store: Store, edition_bytes: bytes, view: VehicleView
) -> None:
    take_in(store, edition_bytes, "2026-10-18", Measured("left/sag", None, fault="slack"))
    assert Measures(store).reckoned(view, store.defects("otter")[0]) == ()
