"""What a job card says."""

from sync.paper.cards import Bench, defect_card, job_card, step_hours
from sync.paper.models import CardPart
from sync.state import Defect, JobState


def test_steps_come_in_the_order_they_come_out(slack: Defect, bench: Bench) -> None:
    card = defect_card(slack, bench)
    assert [step.name for step in card.steps] == ["Track guard off", "Track open"]
    assert step_hours(card) == "2.5 h out, 4 h back"


def test_a_step_says_which_defect_holds_it(slack: Defect, bench: Bench) -> None:
    assert defect_card(slack, bench).steps[0].held_by == ("badger-7k3qd",)


def test_cautions_of_the_check_and_of_each_step_are_on_it(slack: Defect, bench: Bench) -> None:
    assert defect_card(slack, bench).cautions == ("Fingers out of the run of the track.", "The guard has sharp edges.")


def test_it_asks_for_as_many_people_as_its_heaviest_part(slack: Defect, bench: Bench) -> None:
    assert defect_card(slack, bench).people == 3


def test_the_measure_stands_beside_its_limits(slack: Defect, bench: Bench) -> None:
    line = defect_card(slack, bench).defects[0]
    assert (line.reading, line.limits) == ("61 mm", "20 to 40 mm")


def test_a_conflict_and_a_temporary_repair_are_told(slack: Defect, bench: Bench) -> None:
    line = defect_card(slack, bench).defects[0]
    assert line.conflicts == ("RM says slack, TA says sound",)
    assert line.temporary == "shortened by a link, until 2026-11-20; to undo: put the link back"


def test_a_part_that_was_ordered_says_where(slack: Defect, bench: Bench) -> None:
    assert defect_card(slack, bench).parts == (CardPart(name="link pins", state="ordered", where="Brass merchant"),)


def test_a_photo_that_is_not_here_is_passed_over(slack: Defect, bench: Bench) -> None:
    assert defect_card(slack, bench).defects[0].photos == ("data:image/jpeg;base64,AAAA",)


def test_grave_work_is_signed_off_by_a_second_person_who_may(slack: Defect, fuel: Defect, bench: Bench) -> None:
    assert defect_card(slack, bench).second_person == ("tracks",)
    assert defect_card(slack, bench).may_sign == ("RM", "TA")
    assert defect_card(fuel, bench).second_person == ("dangerous", "fuel")


def test_a_job_holds_all_its_defects_and_is_as_grave_as_the_gravest(slack: Defect, fuel: Defect, bench: Bench) -> None:
    job = JobState(job="j-1", title="Saturday", tasks=("badger/while-open/wash", "grease it"))
    card = job_card(job, (fuel, slack), bench)
    assert (card.title, card.severity, card.may_sign) == ("Saturday", "dangerous", ("RM",))
    assert card.tasks == ("Wash out the sponson", "grease it")
    assert card.hours == "2 to 4 h and 1 not known"


def test_a_defect_of_unknown_steps_makes_a_card_all_the_same(fuel: Defect, bench: Bench) -> None:
    card = defect_card(fuel, bench)
    assert (card.steps, card.hours) == ((), "not known")
