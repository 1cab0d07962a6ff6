"""What the desk's pages ask of the store: looks, what was said of a thing, what has no place, what came back."""

from collections.abc import Iterator
from pathlib import Path

import pytest

from sync.desk.history import voided
from sync.service import Draft, Service
from tests.sync.phones import START, Phone, edition_of, hand_in_of, service_at


@pytest.fixture
def edition(tmp_path: Path) -> bytes:
    return edition_of(tmp_path / "fleet")


@pytest.fixture
def service(tmp_path: Path, edition: bytes) -> Iterator[Service]:
    made = service_at(tmp_path / "backlog.db", edition)
    yield made
    made.store.close()


@pytest.fixture
def phone(edition: bytes) -> Phone:
    made = Phone("d-one", edition)
    made.walk(knows={})
    return made


def taken(service: Service, phone: Phone) -> None:
    service.take_in("file", [phone.hand_in()])


def test_looks_at_a_check_are_all_its_findings_but_those_corrected(service: Service, phone: Phone) -> None:
    wrong = phone.find("left-side/wheels", "sound", spot="1", note="wrong")
    right = phone.find("left-side/wheels", "sound", spot="1", note="right", corrects=wrong)
    other = phone.find("left-side/wheels", "sound", spot="2")
    phone.find("left-side/sag", "sound")
    taken(service, phone)
    looks = service.store.looks_at("otter", "left-side/wheels")
    assert {(look.finding.id, look.day, look.round) for look in looks} == {
        (right, "2026-10-17", "cold"),
        (other, "2026-10-17", "cold"),
    }
    assert [look.finding.id for look in service.store.looks_at("otter", "left-side/wheels", "2")] == [other]
    assert len(service.store.looks_of("otter", [phone.walk_id])) == 3


def test_the_last_look_is_of_a_walk_that_looked(service: Service, phone: Phone) -> None:
    phone.find("left-side/sag", "sound")
    phone.walk(day="2026-10-18", knows={})
    phone.find("left-side/sag", "unchecked", why="mud")
    taken(service, phone)
    asked = ["left-side/sag", "right-side/drips"]
    assert service.store.last_looks("otter", asked) == {("left-side/sag", ""): "2026-10-17"}


def test_what_was_said_of_a_thing_is_found_by_it(service: Service, phone: Phone) -> None:
    opening = phone.find()
    taken(service, phone)
    ruling = service.write(Draft("ruling", {"about": opening, "set": {"owner": "AB"}}), by="AB")
    work = service.write(Draft("work", {"about": opening, "state": "in hand"}), by="AB")
    service.write(Draft("ruling", {"about": "otter", "set": {"state": "static"}}), by="AB")
    assert [row.id for row in service.store.said_about([opening])] == [ruling, work]
    assert service.store.said_about([]) == ()
    assert [row.id for row in service.store.latest("work", 5)] == [work]


def test_what_was_said_of_a_thing_is_found_through_its_index(service: Service) -> None:
    plan = service.store.rows(
        "EXPLAIN QUERY PLAN SELECT id FROM entries WHERE kind IN ('ruling', 'work') AND +fold = 2"
        " AND json_extract(body, '$.about') IN (SELECT value FROM json_each('[1]')) ORDER BY number"
    )
    assert any("entries_about" in row[3] for row in plan)


def test_what_stands_at_no_known_check_is_to_be_placed(service: Service, phone: Phone) -> None:
    phone.find()
    else_ = phone.find(check=None, station="left-side", fault=None, severity="minor", note="rope frayed")
    lost = phone.find("left-side/no-such", fault="odd", severity="minor")
    taken(service, phone)
    assert {defect.opening for defect in service.store.to_place()} == {else_, lost}


def test_a_station_counts_its_open_defects_by_severity(service: Service, phone: Phone) -> None:
    phone.find()
    phone.find("left-side/wheels", spot="1", fault="cracked", severity="dangerous")
    phone.find("left-side/wheels", spot="2", fault="cracked", severity="dangerous")
    taken(service, phone)
    assert {tuple(one) for one in service.store.by_station("otter")} == {
        ("left-side", "major", 1),
        ("left-side", "dangerous", 2),
    }


def test_a_fault_closed_and_seen_again_came_back(service: Service, phone: Phone) -> None:
    opening = phone.find()
    taken(service, phone)
    service.write(Draft("ruling", {"about": opening, "set": {"closed": {"reason": "done"}}}), by="AB")
    assert service.store.came_back("otter") == ()
    phone.walk(day="2026-10-24", knows={service.device: service.store.highest_seq(service.device)})
    phone.find()
    taken(service, phone)
    (back,) = service.store.came_back("otter")
    assert (back.check, back.fault, back.times, back.first_seen, back.last_seen) == (
        "left-side/sag", "slack", 2, "2026-10-17", "2026-10-24",
    )  # fmt: skip
    assert back.codes[0] == service.store.defects("otter")[0].code
    assert len(service.store.at_check("otter", "left-side/sag")) == 2


def test_what_holds_a_step_is_found(service: Service, phone: Phone) -> None:
    phone.find()
    wheel = phone.find("left-side/wheels", spot="1", fault="cracked", severity="dangerous")
    taken(service, phone)
    assert [defect.opening for defect in service.store.holding("otter")] == [wheel]


def test_a_photo_that_has_not_come_is_counted_by_its_phone(service: Service, phone: Phone) -> None:
    phone.find(photos=["0" * 64, "1" * 64])
    taken(service, phone)
    assert service.store.wanted_by_device() == {"d-one": 2}
    assert service.store.device_names() == {"d-one": "AB phone", service.device: "this desk"}


def test_lines_set_aside_are_counted_by_reason(service: Service, phone: Phone) -> None:
    phone.write("ruling", about="otter", knows={}, set={"state": "static"})
    phone.write("ruling", about="otter", knows={}, set={"state": "away"})
    taken(service, phone)
    assert service.store.aside_counts() == {"desk kind": 2}


def test_a_revivals_open_defects_are_counted_apart(service: Service, phone: Phone) -> None:
    phone.find()
    taken(service, phone)
    assert service.store.open_revivals() == 0
    service.write(Draft("ruling", {"about": "otter", "set": {"state": "revival"}}), by="AB")
    assert service.store.open_revivals() == 1


def test_what_a_lead_ruled_void_is_no_look_and_no_run_until_that_is_taken_back(service: Service, phone: Phone) -> None:
    look = phone.find("left-side/sag", "sound")
    run = phone.write("run", vehicle="otter", day="2026-10-17", hours=99)
    taken(service, phone)

    def seen() -> tuple[int, int, int]:
        store = service.store
        looks = store.looks_at("otter", "left-side/sag"), store.last_looks("otter", ["left-side/sag"])
        return len(looks[0]), len(looks[1]), len(store.runs("otter"))

    void = [Draft("ruling", {"about": one, "set": {"void": {"reason": "misread"}}}) for one in (look, run)]
    service.write_all(void, by="AB")
    assert seen() == (0, 0, 0)
    service.write_all([Draft("ruling", {"about": one, "set": {"void": None}}) for one in (look, run)], by="AB")
    assert seen() == (1, 1, 1)
    service.rebuild()
    assert seen() == (1, 1, 1)


def test_a_correction_that_came_before_what_it_corrects_counts_as_one(service: Service, phone: Phone) -> None:
    wrong = phone.find("left-side/sag", "sound", note="wrong")
    right = phone.find("left-side/sag", "sound", note="right", corrects=wrong)
    service.take_in("later", [phone.hand_in(3)])
    service.take_in("all", [phone.hand_in()])
    assert [look.finding.id for look in service.store.looks_at("otter", "left-side/sag")] == [right]


def test_a_desks_own_finding_that_knows_hides_no_other_look(service: Service, phone: Phone) -> None:
    phone.find("left-side/sag", "sound", knows={"desk-x": 1})
    phone.find("left-side/wheels", "sound", spot="1")
    taken(service, phone)
    assert len(service.store.looks_of("otter", [phone.walk_id])) == 2


def test_one_walk_of_two_devices_is_two_walks(service: Service, edition: bytes, phone: Phone) -> None:
    copy = Phone("d-two", edition)
    copy.write("walk", id=phone.walk_id, walk=phone.walk_id, vehicle="otter", round="hot", day="2026-10-18",
               state="finished", covered=3, of=3, knows={})  # fmt: skip
    phone.find("left-side/sag", "sound")
    service.take_in_all([(p.device, [p.hand_in()]) for p in (phone, copy)])
    assert {(walk.device, walk.day) for walk in service.store.walks("otter")} == {
        ("d-one", "2026-10-17"),
        ("d-two", "2026-10-18"),
    }
    assert [look.day for look in service.store.looks_at("otter", "left-side/sag")] == ["2026-10-17"]


def test_what_was_taken_back_goes_by_what_people_knew_and_not_by_what_came_first(
    service: Service, edition: bytes, phone: Phone
) -> None:
    look = phone.find("left-side/sag", "sound")
    taken(service, phone)
    desk = Phone("desk-zzzzzzzz", edition, "AB")
    desk.write("ruling", about=look, set={"void": {"reason": "misread"}}, knows={"d-one": 2})
    desk.write("ruling", about=look, set={"void": None}, knows={"d-one": 2})
    for first in (2, 1):  # that it stands after all comes first
        service.take_in("other", [hand_in_of([desk.lines[first - 1]], desk)], desk=True)
    assert voided(service.store, [look]) == {}
    desk.write("ruling", about=look, set={"void": {"reason": "wet through"}}, knows={"d-one": 2})
    service.take_in("other", [desk.hand_in()], desk=True)
    assert voided(service.store, [look])[look].reason == "wet through"


def test_what_no_walk_gives_a_day_is_shown_by_the_day_it_was_written(service: Service) -> None:
    fields = {"vehicle": "otter", "station": "left-side", "severity": "major", "note": "belt missing"}
    service.write(Draft("finding", {**fields, "result": "defect", "how": "at the desk", "photos": []}), by="AB")
    (row,) = service.store.backlog(START.date()).rows
    assert row.first_seen == START.date().isoformat()
    assert service.store.defects()[0].first_day == ""
