"""The backlog file as people and programs read it: views, filters, search, spans of days, codes."""

import sqlite3
from contextlib import closing
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest

from sync.errors import DeskError
from sync.rows import BacklogRow, StandingRow
from sync.service import Draft, Service
from sync.store_rows import Query
from tests.sync.phones import Phone, edition_of, service_at

DAY = date(2026, 10, 18)
TODAY = datetime.now().astimezone().date()


@pytest.fixture
def service(tmp_path: Path) -> Service:
    """A conflict, a hold, and a vehicle of two."""
    edition = edition_of(tmp_path / "fleet")
    service = service_at(tmp_path / "backlog.db", edition)
    first, other = Phone("d-aaaa", edition, "AB"), Phone("d-bbbb", edition, "RM")
    first.walk()
    first.find(note="adjuster at its stop", reading={"value": 61, "unit": "mm"})
    first.find("left-side/wheels", spot="2", fault="cracked", severity="dangerous", note="hairline at the rim")
    other.walk()
    other.find(result="sound")
    other.write("report", vehicle="otter", source="driver", symptom="pulls left on the brake", photos=[])
    service.take_in_all([("a", [first.hand_in()]), ("b", [other.hand_in()])])
    return service


def openings(service: Service, **query: object) -> list[str]:
    return [row.fault for row in service.store.backlog(DAY, Query(**query)).rows]  # type: ignore[arg-type]


def test_the_view_backlog_is_what_the_api_says_of_today(service: Service) -> None:
    with closing(sqlite3.connect(service.store.path)) as tool:
        tool.row_factory = sqlite3.Row
        rows = [dict(row) for row in tool.execute("SELECT * FROM backlog ORDER BY rank")]
    assert list(rows[0]) == list(BacklogRow.__struct_fields__)
    assert [BacklogRow(**row) for row in rows] == list(service.store.backlog(TODAY).rows)


def test_the_view_fleet_standing_is_what_the_api_says_of_today(service: Service) -> None:
    with closing(sqlite3.connect(service.store.path)) as tool:
        tool.row_factory = sqlite3.Row
        rows = [dict(row) for row in tool.execute("SELECT * FROM fleet_standing ORDER BY vehicle")]
    assert list(rows[0]) == list(StandingRow.__struct_fields__)
    assert [StandingRow(**row) for row in rows] == list(service.store.standing(TODAY))


def test_a_vehicle_that_nobody_walked_is_a_line_that_says_so(tmp_path: Path) -> None:
    service = service_at(tmp_path / "backlog.db", edition_of(tmp_path / "fleet"))
    (row,) = service.store.standing(DAY)
    assert (row.vehicle, row.standing, row.not_walked, row.open_defects) == ("otter", "fit", "not walked", 0)


@pytest.mark.parametrize(
    ("query", "faults"),
    [
        ({}, ["Cracked", "Slack"]),
        ({"severity": "major"}, ["Slack"]),
        ({"vehicle": "otter"}, ["Cracked", "Slack"]),
        ({"vehicle": "stoat"}, []),
        ({"standing": "stopped"}, ["Cracked", "Slack"]),
        ({"standing": "fit"}, []),
        ({"status": "open"}, ["Cracked", "Slack"]),
        ({"status": "mended"}, []),
        ({"station": "left-side"}, ["Cracked", "Slack"]),
        ({"station": "right-side"}, []),
        ({"conflict": True}, ["Slack"]),
        ({"conflict": False}, ["Cracked"]),
        ({"holding": True}, ["Cracked"]),
        ({"holding": False}, ["Slack"]),
        ({"waiting": True}, []),
        ({"waiting": False}, ["Cracked", "Slack"]),
        ({"search": "adjuster"}, ["Slack"]),
        ({"search": "ADJ"}, ["Slack"]),
        ({"search": "wheels hairl"}, ["Cracked"]),
        ({"search": 'rim" OR "stop'}, []),
        ({"search": "--"}, []),
        ({"sort": "fault", "down": True}, ["Slack", "Cracked"]),
    ],
)
def test_a_query_narrows_the_list(service: Service, query: dict[str, object], faults: list[str]) -> None:
    assert openings(service, **query) == faults


def test_a_defect_is_searched_for_by_its_code_too(service: Service) -> None:
    code = service.store.backlog(DAY).rows[1].defect
    assert openings(service, search=code.upper()) == ["Slack"]


def test_a_page_has_the_count_of_the_whole_list_and_the_ranks_in_it(service: Service) -> None:
    page = service.store.backlog(DAY, limit=1, offset=1)
    assert (page.total, [row.rank for row in page.rows]) == (2, [2])


def test_an_unknown_column_to_sort_by_is_told(service: Service) -> None:
    with pytest.raises(DeskError, match="no column 'rank; DROP TABLE entries'; sort by one of"):
        service.store.backlog(DAY, Query(sort="rank; DROP TABLE entries"))


def test_what_holds_up_other_work_is_named_in_its_line(service: Service) -> None:
    cracked, slack = service.store.backlog(DAY).rows
    assert slack.held_by == cracked.defect
    assert slack.needs == "Track off"
    assert "holds up 1 other" in cracked.rank_why


def test_a_defect_is_found_by_code_and_by_opening_id(service: Service) -> None:
    row = service.store.backlog(DAY).rows[0]
    assert service.store.defect(row.defect) == service.store.defect(row.opening)
    with pytest.raises(DeskError, match=r"there is no defect 'otter-zzzzz'.*`driptray backlog`"):
        service.store.defect("otter-zzzzz")


def test_reports_are_searched_as_well(service: Service) -> None:
    (hit,) = service.store.search("pulls brake")
    assert (hit.kind, hit.vehicle) == ("report", "otter")
    assert "[pulls]" in hit.text


def test_a_repair_for_now_stops_the_vehicle_from_the_day_it_lapses(service: Service) -> None:
    """The same file read as of two days: what lapses is kept as spans of days, and nothing has to be run."""
    cracked, slack = service.store.backlog(DAY).rows
    for row in (cracked, slack):
        service.write(Draft("ruling", {"about": row.opening, "set": {"closed": {"reason": "mended"}}}), by="AB")
    phone = Phone("d-cccc", service.store.edition_bytes(service.store.edition().fingerprint))
    phone.walk(day="2026-10-19", knows=service.store.knows())
    phone.find(severity="minor", fault="slack")
    service.take_in("c", [phone.hand_in()])
    opening = service.store.backlog(DAY).rows[0].opening
    temporary = {"what": "lashed", "until": "2026-11-01"}
    service.write(Draft("ruling", {"about": opening, "set": {"temporary": temporary}}), by="AB")
    until = date(2026, 11, 1)
    assert [service.store.standing(until + timedelta(days=n))[0].standing for n in (0, 1)] == ["fit", "stopped"]
    assert "lapsed" in service.store.backlog(until + timedelta(days=1)).rows[0].rank_why
    assert "lapsed" not in service.store.backlog(until).rows[0].rank_why


def test_a_move_permit_is_shown_from_the_day_it_was_written_to_the_day_it_ends(service: Service) -> None:
    cracked = service.store.backlog(DAY).rows[0]
    permit = {"limits": "to the pit, walking pace", "until": "2026-10-20", "reason": "the pit is free"}
    service.write(Draft("ruling", {"about": cracked.opening, "set": {"permit": permit}}), by="AB")
    shown = {day: service.store.standing(date(2026, 10, day))[0] for day in (16, 17, 20, 21)}
    assert {day: bool(row.permit) for day, row in shown.items()} == {16: False, 17: True, 20: True, 21: False}
    assert {row.standing for row in shown.values()} == {"stopped"}


def test_a_file_that_somebody_opened_for_reading_can_still_be_read(service: Service) -> None:
    with closing(sqlite3.connect(f"file:{service.store.path}?mode=ro", uri=True)) as tool:
        assert tool.execute("SELECT count(*) FROM entries").fetchone()[0] == service.store.count("entries")
        assert tool.execute("SELECT body ->> 'kind' FROM entries WHERE kind = 'report'").fetchone()[0] == "report"
