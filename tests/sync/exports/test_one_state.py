"""An export shows the backlog at one moment, whole, whatever comes in while it is written."""

import contextlib
import threading
from datetime import date
from pathlib import Path

import pytest

from sync.errors import StoreError
from sync.exports import gather
from sync.exports.command import WRITERS, write_export
from sync.service import Draft, Service
from sync.store import Store
from tests.sync.phones import Phone, edition_of, service_at

AS_OF = date(2026, 10, 18)


@pytest.fixture
def service(tmp_path: Path) -> Service:
    edition = edition_of(tmp_path / "fleet")
    service = service_at(tmp_path / "backlog.db", edition)
    phone = Phone("d-aaaa", edition)
    phone.walk()
    for spot in range(1, 5):
        phone.find("left-side/wheels", spot=str(spot), fault="cracked")
    service.take_in("a.txt", [phone.hand_in()])
    return service


def test_no_defect_is_left_out_because_something_came_in_meanwhile(
    tmp_path: Path, service: Service, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The first of the list is closed by another thread while the second page is still to be read."""
    monkeypatch.setattr(gather, "PAGE", 2)
    codes = [row.defect for row in service.store.backlog(AS_OF).rows]
    first = service.store.defect(codes[0]).opening

    def closing() -> None:
        with Store(tmp_path / "backlog.db") as store:
            store.connection.execute("PRAGMA busy_timeout = 200")
            draft = Draft("ruling", {"about": first, "set": {"closed": {"reason": "mended"}}})
            with contextlib.suppress(StoreError):  # told that another program is at it, it tries again
                Service(store, service._now, service._random).write(draft, by="AB")

    def meanwhile(snapshot: gather.Snapshot, file: object) -> None:
        rows = iter(snapshot.backlog)
        found.append(next(rows).defect)
        thread = threading.Thread(target=closing)
        thread.start()
        thread.join()
        found.extend(row.defect for row in rows)

    found: list[str] = []
    monkeypatch.setitem(WRITERS, "csv", meanwhile)
    write_export(service.store, "csv", tmp_path / "out.csv", AS_OF)
    assert found == codes


@pytest.mark.parametrize("form", ["json", "html", "md", "xlsx"])
def test_a_dispute_over_a_job_is_in_the_export(tmp_path: Path, service: Service, form: str) -> None:
    other = Phone("desk-zzzzzzzz", edition_of(tmp_path / "again"), "RM")
    page = service.token()
    other.write("job", job="j-1", title="Pack out", vehicle="otter", knows={})
    service.take_in("other.txt", [other.hand_in()], desk=True)
    service.write(Draft("job", {"job": "j-1", "title": "Saturday", "vehicle": "otter"}), by="AB", knows=page)
    rows = list(gather.gather(service.store, AS_OF, tmp_path).conflicts)
    assert [(row.vehicle_name, row.fault) for row in rows] == [("Workshop", "title")]
    out = tmp_path / f"out.{form}"
    write_export(service.store, form, out, AS_OF)
    if form != "xlsx":
        assert "j-1, title" in out.read_text("utf-8")
    assert out.stat().st_size > 1000
