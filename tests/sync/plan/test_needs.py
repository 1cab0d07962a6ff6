"""One list of what planned work needs to have, and work alike in batches."""

from datetime import date

from sync.plan.needs import batches, needs, robbed
from sync.plan.problem import Part, Task, Vehicle
from tests.sync.plan.shed import BADGER, SATURDAY, item, planned, problem, waits

OTTER = Vehicle(id="otter", name="Otter")
SEAL = Part(name="hub seal")


def test_a_part_that_two_vehicles_need_is_one_line() -> None:
    plan = planned(item("a", parts=(SEAL,)), item("b", vehicle="otter", parts=(SEAL,)), vehicles=(BADGER, OTTER))
    (need,) = needs(plan)
    assert (need.name, need.needed, need.vehicles, need.wanted) == ("hub seal", 2, ("badger", "otter"), SATURDAY)


def test_what_is_here_says_on_which_shelf() -> None:
    (need,) = needs(planned(item("a", parts=(Part(name="hub seal", state="here", where="shelf 3"),))))
    assert (need.here, need.shelves, need.to_order) == (1, ("shelf 3",), False)


def test_what_is_ordered_says_when_it_is_due() -> None:
    due = date(2026, 11, 4)
    (need,) = needs(planned(item("a", parts=(Part(name="hub seal", state="ordered", due=due),))))
    assert (need.ordered, need.due) == (1, due)


def test_what_is_to_order_comes_first() -> None:
    here = Part(name="grease", state="here")
    assert [need.name for need in needs(planned(item("a", parts=(here, SEAL))))] == ["hub seal", "grease"]


def test_the_parts_of_an_accepted_task_are_in_the_list() -> None:
    task = Task(id="t", vehicle="badger", title="Mounts", step="pack-out", hours=4, accepted=True, parts=(SEAL,))
    assert [need.name for need in needs(planned(item("a", needs=("pack-out",)), tasks=(task,)))] == ["hub seal"]


def test_a_part_taken_from_another_vehicle_opens_a_defect_there() -> None:
    taken = Part(name="starter", state="here", taken_from="otter")
    (one,) = robbed(problem(item("a", parts=(taken,)), vehicles=(BADGER, OTTER)))
    assert (one.taken_from, one.defect) == ("otter", "starter missing: taken for a")


def test_the_same_work_on_two_vehicles_is_one_batch() -> None:
    asked = problem(
        item("a", alike="Sag: slack", parts=(SEAL,)),
        item("b", vehicle="otter", alike="Sag: slack"),
        vehicles=(BADGER, OTTER),
    )
    (batch,) = batches(asked)
    assert (batch.name, batch.items, batch.parts) == ("Sag: slack", ("a", "b"), ("hub seal",))
    assert len(batch.vehicles) == 2


def test_the_same_work_twice_on_one_vehicle_is_no_batch() -> None:
    assert batches(problem(item("a", alike="Sag: slack"), item("b", alike="Sag: slack"))) == ()


def test_units_sent_to_one_place_are_one_batch() -> None:
    asked = problem(
        item("a", waits=waits(14, what="starter", kind="sent out", where="the rewinder")),
        item("b", vehicle="otter", waits=waits(21, what="generator", kind="sent out", where="the rewinder")),
        vehicles=(BADGER, OTTER),
    )
    (batch,) = batches(asked)
    assert (batch.kind, batch.name, batch.vehicles) == ("sent out", "the rewinder", ("badger", "otter"))
