"""From an edition and the folded state to the planner's problem."""

from datetime import UTC, date, datetime
from functools import cache
from typing import Any

from builder.edition import Edition, compile_edition, read_edition
from builder.fleet import (
    Access,
    Check,
    DisplayDay,
    Fault,
    FirstStart,
    Fleet,
    FleetFile,
    Person,
    Service,
    Station,
    Template,
    VehicleFile,
    WhileOpen,
    Workshop,
)
from sync.entries import Diagnosis, Run, Temporary, Wait
from sync.plan.gather import gather
from sync.plan.problem import Item, Problem
from sync.state import Cost, Defect, JobState, Pair, PartState, State, TagState, TaskState, VehicleRulings

TODAY = date(2026, 10, 19)
LEAKS = Fault(
    id="leaks",
    name="Leaks",
    severity="major",
    hours=(2, 4),
    people=2,
    needs=("pack-out",),
    uses=("pit",),
    parts=("hose",),
)
CRACKED = Fault(id="cracked", name="Block cracked", severity="dangerous", hours=40, needs=("floor-out",))


@cache
def edition() -> Edition:
    template = Template(
        name="Hull",
        station=(
            Station(
                id="bay", name="Engine bay", order=1, at=(0.5, 0.5),
                check=(Check(id="coolant", ask="Coolant", system="cooling", fault=(LEAKS, CRACKED)),),
            ),
        ),
        access=(
            Access(id="pack-out", name="Engine pack out", hours_out=6, hours_back=8, people=2, uses=("lifting",)),
            Access(id="floor-out", name="Floor out", hours_out=1, hours_back=1),
        ),
        while_open=(WhileOpen(id="mounts", name="Engine mounts", access="pack-out", hours=4, every_months=60),),
        service=(Service(id="oil", name="Engine oil", hours=1, every_months=12, every_hours=25, parts=("oil",)),),
        first_start=(FirstStart(id="bar", name="Bar it over"), FirstStart(id="prime", name="Prime the oil")),
    )  # fmt: skip
    file = FleetFile(
        name="Kestrel Lane",
        code="kestrel-lane",
        people=(Person(name="Rosa", initials="RM", lead=True, signs_off=("cooling",)),),
        workshop=Workshop(hours_per_week=30, people_at_once=3, resources={"lifting": 1}, open_days=("wed", "sat")),
        display_day=(DisplayDay(name="Frost Run", date=date(2026, 12, 12)),),
    )
    vehicles = tuple(
        VehicleFile(id=name, name=name.title(), kind="carrier", location="shed", templates=("hull",), display_weight=2)
        for name in ("badger", "otter")
    )
    return read_edition(compile_edition(Fleet(file=file, templates={"hull": template}, vehicles=vehicles)))


def defect(name: str = "o-1", **given: Any) -> Defect:
    """A leaking hose of badger, as the fold gives it."""
    usual = {
        "opening": name, "code": f"badger-{name}", "vehicle": "badger", "check": "bay/coolant", "check_name": "Coolant",
        "fault": "leaks", "fault_name": "Leaks", "severity": "major", "hours": (2.0, 4.0), "people": 2,
        "needs": ("pack-out",), "parts": ("hose",), "system": "cooling",
    }  # fmt: skip
    return Defect(**{**usual, **given})


def gathered(*defects: Defect, runs: tuple[Run, ...] = (), **state: Any) -> Problem:
    return gather(edition(), State(edition="x", defects=defects, **state), TODAY, runs)


def only(*defects: Defect, **state: Any) -> Item:
    (found,) = gathered(*defects, **state).items
    return found


def run(day: str, hours: float) -> Run:
    return Run(
        id="0199f5c2-7d10-7c3e-9a51-2f0c8e6b1a01", device="d-rm", seq=1, at=datetime(2026, 1, 1, tzinfo=UTC), by="RM",
        edition="x", vehicle="badger", day=date.fromisoformat(day), hours=hours,
    )  # fmt: skip


def test_a_defect_takes_what_its_usual_fault_needs() -> None:
    found = only(defect())
    assert (found.id, found.title) == ("badger-o-1", "Coolant: Leaks (badger-o-1)")
    assert (found.hours, found.people, found.needs, found.parts[0].name) == ((2, 4), 2, ("pack-out",), "hose")


def test_needs_and_hours_follow_the_diagnosis() -> None:
    found = only(defect(diagnosis=Diagnosis(fault="cracked")))
    assert (found.hours, found.needs) == ((40, 40), ("floor-out",))


def test_a_diagnosis_in_words_alone_changes_nothing() -> None:
    assert only(defect(diagnosis=Diagnosis(cause="perished"))).needs == ("pack-out",)


def test_what_fits_no_check_is_to_be_found_out() -> None:
    found = only(defect(check="", check_name="", fault_name="", hours=None, station_name="Bay", note="a rattle"))
    assert (found.hours, found.title) == (None, "Bay: a rattle (badger-o-1)")


def test_a_wait_of_the_defect_comes_with_its_date() -> None:
    wait = Wait(for_="hose", kind="part", due=date(2026, 11, 4))
    found = only(defect(status="waiting", wait=wait))
    assert (found.status, found.waits[0].what, found.waits[0].due) == ("waiting", "hose", date(2026, 11, 4))


def test_a_wait_of_its_job_holds_for_the_defect() -> None:
    job = JobState(job="j", title="Pack", defects=("o-1",), wait=Wait(for_="crane", kind="owner"))
    assert only(defect(), jobs=(job,)).waits[0].what == "crane"


def test_mended_work_is_left_to_be_tested_and_signed_off() -> None:
    found = only(defect(status="mended"))
    assert (found.kind, found.needs, found.hours) == ("sign off", (), (0.5, 0.5))


def test_what_was_called_gone_is_left_to_be_confirmed() -> None:
    assert only(defect(status="to confirm")).kind == "confirm"


def test_hours_booked_are_counted() -> None:
    assert only(defect(status="in hand", spent=Cost(hours=1.5))).hours_done == 1.5


def test_a_repair_for_now_that_lapsed_counts_as_dangerous() -> None:
    lapsed = Temporary(what="tape", until=date(2026, 10, 1))
    assert only(defect(severity="minor", temporary=lapsed)).severity == "dangerous"


def test_what_is_said_of_a_part_is_kept() -> None:
    said = PartState(part="hose", for_="o-1", state="here", where="shelf 3")
    assert only(defect(), parts=(said,)).parts[0].where == "shelf 3"


def test_a_part_from_another_vehicle_is_known_as_taken() -> None:
    said = PartState(part="hose", for_="badger-o-1", state="here", where="Otter")
    assert only(defect(), parts=(said,)).parts[0].taken_from == "otter"


def test_a_part_asked_for_besides_the_usual_ones_is_needed_too() -> None:
    said = PartState(part="clip", for_="o-1", state="ordered", due="2026-11-04")
    assert [part.name for part in only(defect(), parts=(said,)).parts] == ["hose", "clip"]


def test_defects_joined_as_the_same_are_mended_once_as_the_graver() -> None:
    pair = Pair(first="o-1", second="o-2", why="", joined=True)
    found = only(defect(), defect("o-2", severity="dangerous"), pairs=(pair,))
    assert (found.id, found.also) == ("badger-o-2", ("badger-o-1",))


def test_defects_offered_as_the_same_are_two_until_somebody_joins_them() -> None:
    pair = Pair(first="o-1", second="o-2", why="")
    assert len(gathered(defect(), defect("o-2"), pairs=(pair,)).items) == 2


def test_a_job_names_its_defects_by_id_or_code() -> None:
    job = JobState(job="j", title="Pack", defects=("o-1", "badger-o-2"))
    (found,) = gathered(defect(), defect("o-2"), jobs=(job,)).jobs
    assert (found.items, found.leave_open, found.apart) == (("badger-o-1", "badger-o-2"), False, False)


def test_a_job_left_open_or_apart_says_so() -> None:
    jobs = (
        JobState(job="a", title="A", defects=("o-1",), state="left open"),
        JobState(job="b", title="B", defects=("o-2",), state="apart"),
    )
    one, other = gathered(defect(), defect("o-2"), jobs=jobs).jobs
    assert (one.leave_open, other.apart) == (True, True)


def test_a_job_that_is_over_binds_nothing() -> None:
    assert gathered(defect(), jobs=(JobState(job="j", title="", defects=("o-1",), state="signed off"),)).jobs == ()


def test_a_tag_bars_its_vehicle() -> None:
    tag = TagState(vehicle="badger", tag="t", owner="RM", on=True, reason="hand in the hull")
    vehicles = gathered(tags=(tag,)).by_vehicle
    assert (vehicles["badger"].barred_by, vehicles["badger"].standing) == (("tag of RM: hand in the hull",), "stopped")


def test_a_vehicle_that_is_away_is_not_worked_on() -> None:
    away = (VehicleRulings(vehicle="badger", state="away"),)
    found = gathered(defect(), vehicles=away)
    assert (found.items, found.by_vehicle["badger"].barred_by) == ((), ("it is away",))


def test_a_step_said_to_be_out_is_out() -> None:
    out = TaskState(about="badger/step/pack-out", vehicle="badger", state="in hand")
    assert gathered(tasks=(out,)).by_vehicle["badger"].open_steps == ("pack-out",)


def test_a_step_said_to_be_back_is_back() -> None:
    back = TaskState(about="badger/step/pack-out", vehicle="badger", state="mended")
    assert gathered(tasks=(back,)).by_vehicle["badger"].open_steps == ()


def test_a_while_open_task_never_done_is_offered() -> None:
    assert [task.id for task in gathered().tasks] == ["badger/while-open/mounts", "otter/while-open/mounts"]


def test_a_while_open_task_done_lately_is_not() -> None:
    done = TaskState(about="badger/while-open/mounts", vehicle="badger", state="signed off", signed=("2024-05-01",))
    assert [task.vehicle for task in gathered(tasks=(done,)).tasks] == ["otter"]


def test_a_while_open_task_taken_in_hand_is_accepted() -> None:
    taken = TaskState(about="badger/while-open/mounts", vehicle="badger", state="in hand")
    assert gathered(tasks=(taken,)).by_task["badger/while-open/mounts"].accepted


def test_a_service_is_due_again_when_its_months_are_over() -> None:
    done = TaskState(about="badger/service/oil", vehicle="badger", state="signed off", signed=("2025-10-19",))
    assert only(tasks=(done,)).title == "Service: Engine oil (Badger)"


def test_a_service_is_due_again_when_its_hours_are_run() -> None:
    done = TaskState(about="badger/service/oil", vehicle="badger", state="signed off", signed=("2026-09-01",))
    assert gathered(tasks=(done,), runs=(run("2026-09-05", 24),)).items == ()
    assert len(gathered(tasks=(done,), runs=(run("2026-09-05", 25),)).items) == 1


def test_services_without_a_record_are_told_and_not_planned() -> None:
    found = gathered()
    assert found.items == ()
    assert found.remarks[0].startswith("2 services of 2 vehicles have no record")


def test_the_steps_of_a_first_start_come_in_order_after_what_bars_the_vehicle() -> None:
    revival = (VehicleRulings(vehicle="badger", state="revival"),)
    items = gathered(defect(), vehicles=revival).by_item
    assert items["badger/first-start/bar"].after == ("badger-o-1",)
    assert items["badger/first-start/prime"].after == ("badger/first-start/bar",)


def test_the_workshop_is_open_on_its_days() -> None:
    assert gathered().workshop.open_days == (2, 5)


def test_the_day_asked_for_comes_before_the_display_day() -> None:
    assert gathered().target == date(2026, 12, 12)
    assert gather(edition(), State(edition="x"), TODAY, by=date(2026, 11, 1)).target == date(2026, 11, 1)
