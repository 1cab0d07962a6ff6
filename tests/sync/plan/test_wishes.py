"""What people want of the plan is obeyed, and said beside the work and where it changed a day."""

from datetime import date
from typing import Any

from sync.entries import PlanWish
from sync.plan.changes import changes, kept
from sync.plan.day import day_list
from sync.plan.path import path_in_words, path_to_fit
from sync.plan.plan import Plan
from sync.plan.problem import Item, Job, Wish
from sync.plan.readiness import readiness
from sync.plan.report import as_json
from sync.plan.told import plan_told
from sync.plan.verify import violations
from sync.state import TaskState, VehicleRulings
from tests.sync.plan.shed import BADGER, FROST_RUN, SATURDAY, WORKSHOP, item, planned
from tests.sync.plan.test_gather import defect, gathered, only

NEXT = date(2026, 10, 31)
LEAK = item("leak", title="Coolant leak", severity="dangerous", hours=(8, 8), people=3)
PAINT = item("paint", title="Paint", severity="advisory", hours=(8, 8), people=3)


def wish(order: str | None = None, **given: Any) -> Wish:
    return Wish(order=order, by="MF", **given)  # type: ignore[arg-type]


def day_of(found: Plan, name: str) -> date | None:
    return found.first_day(f"work/{name}") if f"work/{name}" in found.net.by_id else None


def whys(found: Plan, day: date | None = None) -> dict[str, str]:
    return {stint.item: stint.why for stint in day_list(found, day).stints}


def with_wish(one: Item, order: str | None = None, **given: Any) -> Item:
    return one.but(wish=wish(order, **given))


def test_what_is_put_first_goes_before_what_is_dangerous() -> None:
    found = planned(LEAK, with_wish(PAINT, "first", reason="the paint is mixed"))
    assert (day_of(found, "paint"), day_of(found, "leak")) == (SATURDAY, SATURDAY)
    assert found.start("work/paint") < found.start("work/leak")
    assert whys(found)["paint"] == "MF: first of all (the paint is mixed)"


def test_without_a_wish_what_is_dangerous_goes_first() -> None:
    found = planned(LEAK, PAINT)
    assert found.start("work/leak") < found.start("work/paint")


def test_what_must_not_be_this_saturday_comes_later() -> None:
    found = planned(with_wish(LEAK, "not before", day=NEXT), PAINT)
    assert (day_of(found, "leak"), day_of(found, "paint")) == (NEXT, SATURDAY)
    assert whys(found, NEXT)["leak"] == "MF: not before Sat 31 Oct 2026"


def test_what_is_pinned_to_a_day_begins_on_it_though_other_work_must_give_way() -> None:
    found = planned(
        LEAK, item("wiring", severity="dangerous", hours=(9, 9), people=3), with_wish(PAINT, "on", day=NEXT)
    )
    assert (day_of(found, "paint"), found.start("work/paint")) == (NEXT, 40)


def test_what_is_pinned_to_a_day_on_which_it_cannot_be_says_so() -> None:
    first = item("strip", hours=(30, 30), severity="dangerous")
    found = planned(first, with_wish(PAINT, "on", day=SATURDAY).but(after=("strip",)))
    day = day_of(found, "paint")
    assert day is not None
    assert day > SATURDAY
    assert whys(found, day)["paint"].endswith("; not sooner, for what must come before it")


def test_the_opening_of_a_pinned_job_begins_on_the_day() -> None:
    found = planned(with_wish(item("leak", needs=("pack-out",)), "on", day=NEXT))
    (bundle,) = found.bundles
    assert found.first_day(f"{bundle.id}/out/deck-clear") == NEXT


def test_what_is_left_out_is_not_planned_and_says_who_left_it_out() -> None:
    found = planned(with_wish(item("brakes", severity="major"), "left out", reason="her owner mends it"), PAINT)
    assert day_of(found, "brakes") is None
    assert found.access.blocked["brakes"].why == "MF: left out of the plan (her owner mends it)"
    (row,) = readiness(found, FROST_RUN.date)
    assert row.in_the_way is not None
    assert (row.ready, row.in_the_way.kind) == (False, "left out")


def test_what_a_left_out_defect_holds_is_held_with_the_reason() -> None:
    hinge = with_wish(item("hinge", holds=("deck-clear",)), "left out")
    found = planned(hinge, item("leak", needs=("deck-clear",)))
    assert found.access.blocked["leak"].why == "held by hinge: MF: left out of the plan"


def test_who_was_named_does_the_work() -> None:
    found = planned(with_wish(item("a"), who=("TA",)), item("b"), item("c"), people=PEOPLE)
    stints = {stint.item: stint for stint in day_list(found, None, ("MF", "OG", "TA")).stints}
    assert (stints["a"].people, stints["a"].why) == (("TA",), "MF: by TA")


PEOPLE = tuple({"initials": name} for name in ("MF", "OG", "PW", "JS", "TA"))


def test_who_was_named_is_counted_on_before_others() -> None:
    found = planned(with_wish(item("a"), who=("JS",)), item("b"), people=PEOPLE)
    assert day_list(found).people == ("JS", "MF", "OG")


def test_who_is_named_for_later_work_is_not_set_to_other_work_then() -> None:
    strip = item("strip", hours=(2, 2))
    named = with_wish(item("a").but(after=("strip",)), who=("MF",))
    found = planned(strip, named, item("long", hours=(9, 9), severity="dangerous"), people=PEOPLE)
    stints = {stint.item: stint.people for stint in day_list(found).stints}
    assert stints["a"] == ("MF",)
    assert stints["long"] != ("MF",)


def test_who_was_named_and_is_at_other_work_hands_it_over() -> None:
    """Two people: both are at long work when the piece begins for which one of them was named."""
    pair = item("pair", hours=(2, 2), people=2, severity="dangerous")
    long = item("long", hours=(6, 6), severity="major").but(after=("pair",))
    strip = item("strip", hours=(1, 1)).but(after=("pair",))
    named = with_wish(item("a").but(after=("strip",)), who=("MF",))
    two = WORKSHOP.but(people_at_once=2, hours_per_week=20)
    found = planned(pair, long, strip, named, workshop=two, people=PEOPLE[:1])
    stints = [(s.item, s.begins, s.ends, s.people) for s in day_list(found).stints if s.item in ("long", "a")]
    assert [s for s in stints if s[0] == "a"] == [("a", 3, 5, ("MF",))]
    assert all("MF" not in people for one, begins, ends, people in stints if one == "long" and begins < 5 and ends > 3)


def test_one_person_named_for_two_pieces_of_work_does_one_after_the_other() -> None:
    both = [with_wish(item(name, hours=(4, 4)), who=("MF",)) for name in ("a", "b")]
    found = planned(*both, people=PEOPLE)
    assert abs(found.start("work/a") - found.start("work/b")) >= 16
    assert violations(found.net, found.schedule.starts, found.calendar, WORKSHOP) == []
    together = dict.fromkeys(found.schedule.starts, 0)
    assert "MF at 2 pieces of work in slot 0" in violations(found.net, together, found.calendar, WORKSHOP)


def test_several_people_named_for_one_piece_of_work_all_do_it() -> None:
    found = planned(with_wish(item("a"), who=("MF", "TA")), people=PEOPLE)
    assert day_list(found, None, ("MF", "OG", "TA")).stints[0].people == ("MF", "TA")


def test_what_changed_for_a_wish_says_whose() -> None:
    was, now = planned(LEAK, PAINT), planned(with_wish(LEAK, "not before", day=NEXT), PAINT)
    said = {change.item: change.words for change in changes(kept(was), kept(now))}
    assert said["leak"] == "Coolant leak: Sat 24 Oct 2026 -> Sat 31 Oct 2026: MF: not before Sat 31 Oct 2026"
    back = {change.item: change.why for change in changes(kept(now), kept(was))}
    assert back["leak"] == "taken back: MF: not before Sat 31 Oct 2026"


def test_what_gives_way_to_a_wish_says_to_which() -> None:
    other = item("wiring", title="Wiring", severity="major", hours=(9, 9), people=3)
    was, now = planned(other, PAINT), planned(other, with_wish(PAINT, "first"))
    said = {change.item: change.why for change in changes(kept(was), kept(now))}
    assert said["wiring"] == "Paint (MF: first of all) goes first"


def test_a_wish_that_makes_a_vehicle_late_is_what_is_in_the_way() -> None:
    late = with_wish(item("brakes", severity="major"), "not before", day=date(2026, 12, 19))
    found = planned(late)
    (row,) = readiness(found, FROST_RUN.date)
    assert row.in_the_way is not None
    assert row.in_the_way.words.startswith("brakes: MF: not before Sat 19 Dec 2026: makes it 8 days late")


def test_the_path_says_that_a_wish_set_the_day() -> None:
    found = planned(with_wish(item("brakes", severity="major"), "not before", day=NEXT))
    assert "waits for MF: not before Sat 31 Oct 2026" in path_in_words(path_to_fit(found, BADGER.id))


class TestGathered:
    SAID = PlanWish(order="on", day=NEXT, who=["RM", "XX"], reason="the pit is free")

    def test_a_defects_wish_comes_with_who_said_it_and_known_people_alone(self) -> None:
        found = only(defect(plan=self.SAID, plan_by="RM"))
        said = {"order": "on", "day": NEXT, "who": ("RM",), "reason": "the pit is free", "by": "RM"}
        assert found.wish == Wish(about="o-1", title=found.title, **said)
        assert found.ready_from == NEXT

    def test_a_wish_about_a_vehicle_holds_for_all_its_work_that_has_none(self) -> None:
        ruled = VehicleRulings(vehicle="badger", plans=(("badger", "RM", PlanWish(order="first")),))
        found = gathered(defect(), defect("o-2", plan=self.SAID, plan_by="RM"), vehicles=(ruled,))
        assert [one.wish.order for one in found.items if one.wish] == ["first", "on"]

    def test_a_wish_about_a_service_is_its_own(self) -> None:
        oil = "badger/service/oil"
        ruled = VehicleRulings(vehicle="badger", plans=((oil, "RM", PlanWish(order="left out")),))
        done = TaskState(about=oil, vehicle="badger", signed=("2024-01-01",))
        (found,) = gathered(vehicles=(ruled,), tasks=(done,)).items
        assert (found.id, found.wish and found.wish.order) == (oil, "left out")


def test_what_moved_around_a_wish_names_it() -> None:
    others = [item(f"job-{n}", hours=(6, 6), people=2, severity="major") for n in range(4)]
    was = planned(*others, PAINT)
    now = planned(*others[:-1], with_wish(others[-1], "not before", day=date(2026, 11, 14)), PAINT)
    moved = [change for change in changes(kept(was), kept(now)) if not change.own]
    assert moved
    assert all("job 3" in change.why for change in moved)


def test_a_job_made_apart_says_so_of_its_work() -> None:
    both = [item(name, needs=("deck-clear",)) for name in ("a", "b")]
    apart = Job(id="j", title="Apart", items=("a", "b"), apart=True)
    said = {c.item: c.why for c in changes(kept(planned(*both)), kept(planned(*both, jobs=(apart,))))}
    assert said["a"] == "somebody said: to be done apart (Apart)"
    back = {c.item: c.why for c in changes(kept(planned(*both, jobs=(apart,))), kept(planned(*both)))}
    assert back["a"] == "the plan decides again; it was to be done apart (Apart)"


def test_the_command_tells_what_was_said_against_the_plan() -> None:
    said = wish("first", about="paint", title="Paint")
    found = planned(PAINT.but(wish=said), wishes=(said,))
    assert "  Paint: MF: first of all" in list(plan_told(found))
    assert as_json(found, None)["said_against"][0]["words"] == "MF: first of all"
