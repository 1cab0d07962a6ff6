"""What a plan does with holds, waits, open steps, what is in hand, and the three goals; told by examples."""

from datetime import timedelta

from sync.plan.plan import Plan
from sync.plan.problem import DisplayDay, Job, Vehicle
from sync.plan.verify import violations
from tests.sync.plan.shed import BADGER, MONDAY, SATURDAY, WORKSHOP, item, planned, waits

OTTER = Vehicle(id="otter", name="Otter", display_weight=1)


def first(plan: Plan, *names: str) -> list[str]:
    """Some activities in the order in which they begin."""
    return sorted(names, key=lambda name: (plan.start(name), name))


def test_what_holds_a_step_is_mended_before_the_step_comes_out() -> None:
    plan = planned(item("leak", needs=("pack-out",)), item("hinge", holds=("deck-clear",)))
    assert plan.end("work/hinge") <= plan.start("badger:leak/out/deck-clear")


def test_a_step_goes_back_only_when_all_work_under_it_is_done() -> None:
    plan = planned(item("leak", needs=("pack-out",)), item("mount", needs=("pack-out",)))
    back = plan.start("badger:leak/back/pack-out")
    assert max(plan.end("work/leak"), plan.end("work/mount")) <= back


def test_the_lower_step_goes_back_last() -> None:
    plan = planned(item("leak", needs=("pack-out",)))
    assert plan.end("badger:leak/back/pack-out") <= plan.start("badger:leak/back/deck-clear")


def test_a_step_does_not_come_out_while_its_work_waits_for_a_part() -> None:
    plan = planned(item("clutch", needs=("pack-out",), waits=waits(21)))
    assert plan.first_day("badger:clutch/out/deck-clear") >= MONDAY + timedelta(days=21)


def test_a_step_may_stand_open_across_a_wait_where_that_was_accepted() -> None:
    job = Job(id="job-1", title="Clutch", items=("clutch", "look"), leave_open=True)
    clutch = item("clutch", needs=("pack-out",), waits=waits(21))
    plan = planned(clutch, item("look", needs=("pack-out",), severity="dangerous"), jobs=(job,))
    assert plan.first_day("job-1/out/pack-out") < MONDAY + timedelta(days=21)
    assert plan.first_day("work/clutch") >= MONDAY + timedelta(days=21)


def test_a_step_opened_twice_is_closed_between() -> None:
    plan = planned(
        item("leak", needs=("pack-out",), severity="dangerous"), item("clutch", needs=("pack-out",), waits=waits(21))
    )
    assert plan.end("badger:leak/back/pack-out") <= plan.start("badger:clutch/out/pack-out")


def test_a_step_that_is_out_is_not_taken_out_again() -> None:
    badger = BADGER.but(open_steps=("deck-clear", "pack-out"))
    plan = planned(item("leak", needs=("pack-out",)), vehicles=(badger,))
    assert [a.doing for a in plan.in_order] == ["work", "back", "back"]


def test_a_dangerous_defect_comes_before_a_shorter_minor_one() -> None:
    plan = planned(item("bulb", hours=(1, 1), people=3), item("brake", severity="dangerous", hours=(6, 6), people=3))
    assert first(plan, "work/bulb", "work/brake") == ["work/brake", "work/bulb"]


def test_what_is_in_hand_goes_on_before_anything_new() -> None:
    started = item("valve", hours=(4, 4), people=3, status="in hand")
    plan = planned(started, item("brake", severity="dangerous", people=3))
    assert plan.start("work/valve") == 0


def test_hours_already_booked_are_not_planned_again() -> None:
    plan = planned(item("valve", hours=(4, 4), hours_done=3, status="in hand"))
    assert plan.net.by_id["work/valve"].slots == 4


def test_the_most_wanted_vehicle_is_fit_when_there_is_time_for_one() -> None:
    day = DisplayDay(name="Shown", date=SATURDAY + timedelta(days=1))
    work = [item(v, vehicle=v, severity="major", hours=(8, 8), people=3) for v in ("badger", "otter")]
    plan = planned(*work, vehicles=(BADGER, OTTER), display_days=(day,))
    assert plan.fit == {"badger"}


def test_no_vehicle_stands_open_on_the_day_it_is_to_be_fit() -> None:
    day = DisplayDay(name="Shown", date=SATURDAY + timedelta(days=7))
    plan = planned(item("radio", needs=("pack-out",), hours=(8, 8), people=3), display_days=(day,))
    assert "badger" in plan.fit
    assert plan.first_day("badger:radio/out/deck-clear") >= SATURDAY + timedelta(days=7)


def test_a_lift_is_not_left_half_done_from_one_day_to_the_next() -> None:
    plan = planned(item("brake", severity="dangerous", hours=(6, 6), people=3), item("leak", needs=("pack-out",)))
    out = "badger:leak/out/pack-out"
    assert plan.first_day(out) == plan.last_day(out)


def test_long_work_goes_on_the_next_open_day() -> None:
    plan = planned(item("hull", hours=(14, 14)))
    assert (plan.first_day("work/hull"), plan.last_day("work/hull")) == (SATURDAY, SATURDAY + timedelta(days=7))


def test_nothing_is_planned_on_a_day_on_which_the_workshop_is_closed() -> None:
    plan = planned(item("hull"), workshop=WORKSHOP.but(closed=(SATURDAY,)))
    assert plan.first_day("work/hull") == SATURDAY + timedelta(days=7)


def test_what_nobody_knows_is_planned_as_a_job_to_find_out() -> None:
    plan = planned(item("knock", hours=None))
    (only,) = plan.net.activities
    assert (only.doing, only.name, only.slots) == ("find out", "Find out first: knock", 8)


def test_nothing_is_opened_long_before_its_work_is_done() -> None:
    """The brake keeps everybody on the first day; the deck could come out beside it, and stand open."""
    brake = item("brake", severity="dangerous", hours=(10, 10), people=1)
    plan = planned(brake, item("leak", needs=("pack-out",)))
    assert plan.first_day("badger:leak/out/deck-clear") == plan.first_day("badger:leak/out/pack-out")


def test_the_check_of_a_plan_sees_a_step_that_stands_open_across_a_wait() -> None:
    plan = planned(item("clutch", needs=("floor-out",), waits=waits(21)))
    early = {**plan.schedule.starts, "badger:clutch/out/floor-out": 0}
    told = violations(plan.net, early, plan.calendar, WORKSHOP)
    assert "badger:clutch/out/floor-out stands open while work/clutch waits" in told
