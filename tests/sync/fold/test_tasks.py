"""Tasks that are no defect, and know-how about steps and faults: named "vehicle/kind/id"."""

import pytest

from tests.sync.fold.shed import Desk, conflict, folded

STEP = "badger/first-start/bar-over"


@pytest.fixture
def lead() -> Desk:
    return Desk("desk-1", "RM")


def test_a_task_is_signed_off_by_a_lead(lead: Desk) -> None:
    lead.work(STEP, "mended", hours=2)
    lead.work(STEP, "signed off", hours=0.5)
    (task,) = folded(lead).tasks
    assert (task.about, task.vehicle, task.state, task.spent.hours) == (STEP, "badger", "signed off", 2.5)
    assert task.signed == ("2026-10-18",)


def test_a_task_that_somebody_else_signs_off_is_only_tested(lead: Desk) -> None:
    lead.work(STEP, "signed off", by="LB")
    (task,) = folded(lead).tasks
    assert (task.state, task.signed) == ("tested", ())


def test_of_two_desks_unaware_of_each_other_the_less_advanced_state_of_a_task_stands(lead: Desk) -> None:
    other = Desk("desk-2", "RM")
    lead.work(STEP, "signed off")
    other.work(STEP, "in hand")
    state = folded(lead, other)
    assert (state.tasks[0].state, conflict(state).field) == ("in hand", "work")


def test_work_taken_back_leaves_no_task(lead: Desk) -> None:
    work = lead.work(STEP, "signed off")
    lead.rule(work, void={"reason": "the wrong vehicle"})
    assert folded(lead).tasks == ()


def test_a_task_taken_up_again_keeps_the_days_it_was_signed_off(lead: Desk) -> None:
    lead.work("badger/service/grease", "signed off", at="2026-05-02T10:00:00+01:00")
    lead.work("badger/service/grease", "in hand")
    (task,) = folded(lead).tasks
    assert (task.state, task.signed) == ("in hand", ("2026-05-02",))


def test_know_how_may_be_about_a_step_or_a_fault_of_a_vehicle(lead: Desk) -> None:
    lead.rule("badger", know_how="second gear on the ramp")
    lead.rule("badger/access/idler-free", know_how="pry from behind", by="LB")
    found = next(v for v in folded(lead).vehicles if v.vehicle == "badger")
    assert found.know_how == (
        ("badger", "RM", "second gear on the ramp"),
        ("badger/access/idler-free", "LB", "pry from behind"),
    )


@pytest.mark.parametrize(("by", "state"), [("RM", "signed off"), ("AB", "tested")])
def test_a_job_is_signed_off_by_a_lead_alone(by: str, state: str) -> None:
    desk = Desk("desk-1", by)
    desk.say("job", job="j-1", title="Left track", defects=[])
    desk.work("j-1", "signed off")
    assert folded(desk).jobs[0].state == state
