"""Papers asked for by name, from a real backlog to which two defects were handed in by the desk itself."""

import os
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path

import pytest

from builder.edition import compile_edition
from builder.load import load_fleet
from sync.errors import DeskError
from sync.paper.printing import Printing
from sync.service import Draft, Service
from sync.store import Store

AS_OF = date(2026, 10, 19)


@pytest.fixture
def service(fleet_folder: Path, tmp_path: Path) -> Iterator[Service]:
    with Store(tmp_path / "backlog.db") as store:
        service = Service(store, lambda: datetime(2026, 10, 18, 9, tzinfo=UTC), os.urandom)
        service.adopt(compile_edition(load_fleet(fleet_folder)))
        plain = {"vehicle": "badger", "result": "defect", "photos": []}
        found = {**plain, "check": "left-track/sag", "fault": "slack", "severity": "dangerous", "note": "off the idler"}
        lamp = {**plain, "check": "nose/lamp", "fault": "dead", "severity": "minor"}
        service.write_all([Draft("finding", found), Draft("finding", lamp)], by="RM")
        yield service


@pytest.fixture
def store(service: Service) -> Store:
    return service.store


def codes(store: Store) -> list[str]:
    return [row.defect for row in store.backlog(AS_OF).rows]


def test_a_card_is_printed_for_each_defect_named(store: Store) -> None:
    page = Printing(store, AS_OF, "https://yard.example/").cards(codes(store), 2).decode()
    assert page.count('<article class="plate') == 2
    assert "off the idler" in page


def test_a_defect_that_is_not_there_is_named(store: Store) -> None:
    with pytest.raises(DeskError, match="badger-zzzzz"):
        Printing(store, AS_OF).cards(["badger-zzzzz"])


def test_nothing_chosen_is_told(store: Store) -> None:
    with pytest.raises(DeskError, match="no defect was chosen"):
        Printing(store, AS_OF).cards([])


def test_a_job_is_one_card_of_all_its_defects(store: Store, service: Service) -> None:
    service.write(
        Draft("job", {"job": "j-1", "title": "Saturday", "vehicle": "badger", "defects": codes(store)}), by="RM"
    )
    page = Printing(store, AS_OF).job("j-1").decode()
    assert page.count('<article class="plate') == 1
    assert all(code in page for code in codes(store))


def test_an_unknown_job_is_named(store: Store) -> None:
    with pytest.raises(DeskError, match="j-9"):
        Printing(store, AS_OF).job("j-9")


def test_every_stopped_vehicle_has_its_notice(store: Store) -> None:
    page = Printing(store, AS_OF).notices().decode()
    assert page.count('<article class="plate') == 1
    assert "Slack" in page


def test_a_fleet_without_a_stopped_vehicle_has_no_notices(store: Store, service: Service) -> None:
    about = next(row.opening for row in store.defects("badger") if row.severity == "dangerous")
    service.write(Draft("ruling", {"about": about, "set": {"closed": {"reason": "mended"}}}), by="RM")
    with pytest.raises(DeskError, match="no vehicle is stopped"):
        Printing(store, AS_OF).notices()


def test_a_round_that_asks_nothing_of_a_vehicle_has_no_sheet(store: Store) -> None:
    page = Printing(store, AS_OF).sheets(["badger"], ["before", "hot", "full"]).decode()
    assert page.count('<article class="leaf') == 2


def test_a_vehicle_that_is_not_in_the_fleet_is_named(store: Store) -> None:
    with pytest.raises(DeskError, match="heron"):
        Printing(store, AS_OF).sheets(["heron"], ["full"])


def test_without_an_address_a_symbol_holds_the_code_alone(store: Store) -> None:
    assert Printing(store, AS_OF)._link("defect")("badger-7k3qd") == "badger-7k3qd"
    assert Printing(store, AS_OF, "https://a/")._link("defect")("x") == "https://a/defect/x"
