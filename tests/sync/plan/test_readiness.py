"""What can be ready before a day, and the one thing in the way, with how much is lacking."""

from datetime import date, timedelta

from sync.plan.plan import Plan
from sync.plan.problem import Problem, Vehicle, Wait
from sync.plan.readiness import InTheWay, Ready, readiness
from tests.sync.plan.shed import BADGER, FROST_RUN, MONDAY, SATURDAY, item, planned, waits

OTTER = Vehicle(id="otter", name="Otter", display_weight=5)
DAY = FROST_RUN.date


def badger(plan: Plan, before: date = DAY) -> Ready:
    return next(row for row in readiness(plan, before) if row.vehicle == "badger")


def way(plan: Plan, before: date = DAY) -> InTheWay:
    found = badger(plan, before).in_the_way
    assert found is not None
    return found


def test_a_vehicle_without_open_work_is_fit_today() -> None:
    row = badger(planned())
    assert (row.ready, row.day, row.in_the_way) == (True, MONDAY, None)


def test_a_vehicle_that_can_be_mended_in_time_is_ready_on_its_day() -> None:
    row = badger(planned(item("brake", severity="major")))
    assert (row.ready, row.day, row.sure) == (True, SATURDAY, True)


def test_the_most_wanted_vehicle_is_told_first() -> None:
    assert [row.vehicle for row in readiness(planned(vehicles=(BADGER, OTTER)), DAY)] == ["otter", "badger"]


def test_a_vehicle_is_not_sure_if_it_is_late_when_work_takes_its_longest() -> None:
    before = SATURDAY + timedelta(days=7)
    row = badger(planned(item("hull", severity="major", hours=(5, 15)), by=before), before)
    assert (row.ready, row.sure, row.slow_day) == (True, False, before)


def test_a_part_that_comes_too_late_is_named_with_the_day_it_had_to_be_here() -> None:
    plan = planned(item("clutch", severity="major", hours=(4, 4), waits=waits(75)))
    found = way(plan)
    assert (found.kind, found.item, found.needed_by) == ("part", "clutch", date(2026, 12, 5))
    assert found.days == 22  # the first open day after 75 days is Saturday 2 January
    assert "clutch plates for clutch, due Sat 2 Jan 2027, makes it 22 days late" in found.words


def test_a_unit_sent_out_is_named_as_such() -> None:
    plan = planned(item("starter", severity="major", waits=waits(75, what="the starter", kind="sent out")))
    assert way(plan).kind == "sent out"


def test_a_wait_without_a_date_is_named() -> None:
    plan = planned(item("gauge", severity="major", waits=(Wait(what="a gauge"),)))
    assert (way(plan).kind, badger(plan).day) == ("no date", None)


def test_what_is_not_diagnosed_is_named() -> None:
    assert way(planned(item("knock", severity="major", hours=None))).kind == "find out"


def test_a_tag_is_named() -> None:
    tagged = BADGER.but(barred_by=("tag of RM: hand in the hull",))
    found = way(planned(vehicles=(tagged,)))
    assert (found.kind, found.words) == ("tag", "tag of RM: hand in the hull")


def test_a_holding_defect_that_makes_all_too_late_is_named() -> None:
    before = SATURDAY + timedelta(days=1)
    hinge = item("hinge", hours=(6, 6), holds=("floor-out",))
    plan = planned(item("pump", severity="major", hours=(4, 4), needs=("floor-out",)), hinge, by=before)
    found = way(plan, before)
    assert (found.kind, found.item, found.hours) == ("held by", "hinge", 3)


def test_work_that_is_too_long_by_itself_says_until_when_it_takes() -> None:
    before = SATURDAY + timedelta(days=1)
    found = way(planned(item("hull", severity="major", hours=(14, 14)), by=before), before)
    assert (found.kind, found.days) == ("work", 7)


def test_hours_that_other_work_has_are_counted() -> None:
    before = SATURDAY + timedelta(days=1)
    other = item("otter-brake", vehicle="otter", severity="dangerous", hours=(9, 9), people=3)
    mine = item("hull", severity="major", hours=(4, 4), people=2)
    plan = planned(other, mine, vehicles=(BADGER, OTTER), by=before)
    found = way(plan, before)
    assert (found.kind, found.hours) == ("hours", 6)
    assert found.words == "6 hours of people's time short: other work comes first"


def test_work_that_is_more_than_the_workshop_can_do_says_so() -> None:
    before = SATURDAY + timedelta(days=1)
    work = [item(f"hull-{n}", severity="major", hours=(5, 5), people=3) for n in range(3)]
    found = way(planned(*work, by=before), before)
    assert (found.kind, found.hours) == ("hours", 15)
    assert found.words.startswith("its own work is more than the workshop can do in time")


def test_minor_defects_keep_no_vehicle_from_being_ready() -> None:
    assert badger(planned(item("paint", hours=(400, 400)))).ready


def test_a_step_left_open_for_what_cannot_be_planned_is_in_the_way() -> None:
    asked: Problem = planned().problem
    opened = BADGER.but(open_steps=("floor-out",))
    plan = planned(item("pump", needs=("floor-out",), people=9), vehicles=(opened,), display_days=asked.display_days)
    assert way(plan).kind == "open step"
