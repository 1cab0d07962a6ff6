"""The sample fleet names its calculations and has the facts they want."""

from pathlib import Path

import pytest

from builder.edition import EditionCheck, VehicleView, compile_edition, read_edition
from builder.load import load_fleet
from sync.trade.checks import CheckSeen, reckonings
from sync.trade.units import Amount

SAMPLE = Path(__file__).resolve().parents[3] / "sample_fleet"
EDITION = read_edition(compile_edition(load_fleet(SAMPLE)))
RECKONED = [
    (vehicle, check) for vehicle in EDITION.by_vehicle.values() for check in vehicle.checks.values() if check.reckon
]


def seen(vehicle: VehicleView, check: EditionCheck) -> CheckSeen:
    """The check with a reading on its limit at every spot, and the adjuster read beside a sag."""
    limits = check.reading
    assert limits is not None
    value = next(v for v in (limits.low, limits.high, limits.least, limits.most) if v is not None)
    reading = Amount(value, limits.unit)
    return CheckSeen(
        check.ask,
        check.reckon,
        dict.fromkeys(check.spots or ("",), reading),
        limits,
        vehicle.vehicle.facts,
        beside={"adjuster travel": Amount(30, "mm")},
        earlier=reading,
    )


@pytest.mark.parametrize(("vehicle", "check"), RECKONED, ids=lambda item: item.id)
def test_a_sample_vehicle_lacks_no_fact_that_its_checks_calculation_wants(
    vehicle: VehicleView, check: EditionCheck
) -> None:
    for said in reckonings(seen(vehicle, check)):
        assert not said.missing
        assert not said.headline.startswith("Not judged")


def test_the_sample_shows_more_than_half_of_the_calculations() -> None:
    assert len({check.reckon for _, check in RECKONED}) >= 9
