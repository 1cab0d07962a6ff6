"""What each piece of work needs out of the way, what holds it, and what cannot be done at all."""

from sync.plan.access import Access, in_words
from sync.plan.problem import Problem, Step, Vehicle, Wait
from sync.plan.rank import ranked
from tests.sync.plan.shed import BADGER, item, problem

LEAK = item("coolant-leak", severity="dangerous", needs=("pack-out",))
HINGE = item("deck-hinge-seized", title="deck hinge seized", holds=("deck-clear",))


def chains(asked: Problem, name: str) -> list[str]:
    access = Access(asked)
    return [in_words(chain) for chain in access.chains(asked.by_item[name])]


def test_a_held_step_is_told_with_the_whole_chain() -> None:
    told = chains(problem(LEAK, HINGE), "coolant-leak")
    assert told == ["coolant leak <- pack out <- deck clear <- held by: deck hinge seized"]


def test_a_chain_goes_on_through_what_the_holding_defect_itself_needs() -> None:
    hinge = HINGE.but(needs=("floor-out",))
    told = chains(problem(LEAK, hinge), "coolant-leak")
    assert told == ["coolant leak <- pack out <- deck clear <- held by: deck hinge seized <- floor out"]


def test_a_step_that_is_out_already_is_held_by_nothing() -> None:
    badger = BADGER.but(open_steps=("deck-clear",))
    told = chains(problem(LEAK, HINGE, vehicles=(badger,)), "coolant-leak")
    assert told == ["coolant leak <- pack out <- deck clear"]


def test_the_steps_of_an_item_come_lowest_first() -> None:
    assert Access(problem(LEAK)).steps_for(LEAK) == ("deck-clear", "pack-out")


def test_a_holding_defect_rises_above_graver_ones_and_says_why() -> None:
    other = item("belt-worn", severity="major")
    first = ranked(Access(problem(LEAK, HINGE, other)))[0]
    assert (first.item, first.risen) == ("deck-hinge-seized", True)
    assert first.reason == "minor itself, but holds deck clear, and so coolant leak (dangerous)"


def test_a_defect_that_holds_nothing_stands_by_its_own_severity() -> None:
    rows = ranked(Access(problem(LEAK, HINGE, item("belt-worn", severity="major"))))
    assert [row.item for row in rows] == ["deck-hinge-seized", "coolant-leak", "belt-worn"]


def test_what_waits_without_a_date_cannot_be_planned() -> None:
    waiting = item("gauge", waits=(Wait(what="a new gauge"),))
    blocked = Access(problem(waiting)).blocked["gauge"]
    assert (blocked.kind, blocked.why) == ("no date", "waits for a new gauge, and nobody has named a date")


def test_what_nobody_has_diagnosed_is_to_be_found_out_first() -> None:
    assert Access(problem(item("knock", hours=None))).blocked["knock"].kind == "find out"


def test_what_a_blocked_defect_holds_is_blocked_with_the_root_named() -> None:
    hinge = HINGE.but(hours=None)
    blocked = Access(problem(LEAK, hinge)).blocked["coolant-leak"]
    assert (blocked.kind, blocked.root) == ("held", "deck-hinge-seized")
    assert "held by deck hinge seized" in blocked.why


def test_work_that_takes_more_people_than_there_are_says_so() -> None:
    blocked = Access(problem(item("turret", people=5))).blocked["turret"]
    assert (blocked.kind, blocked.why) == ("people", "turret takes 5 people at once, and there are 3")


def test_work_that_needs_what_the_workshop_has_not_says_so() -> None:
    blocked = Access(problem(item("hull", uses=("crane",)))).blocked["hull"]
    assert (blocked.kind, blocked.why) == ("resource", "needs crane, which the workshop does not have")


def test_a_step_that_the_vehicle_does_not_have_is_named() -> None:
    blocked = Access(problem(item("hull", needs=("belly-off",)))).blocked["hull"]
    assert blocked.kind == "unknown step"
    assert '"belly-off"' in blocked.why


def test_a_defect_that_holds_what_it_needs_is_a_circle_told_in_words() -> None:
    stuck = item("stuck", needs=("deck-clear",), holds=("deck-clear",))
    blocked = Access(problem(stuck)).blocked["stuck"]
    assert blocked.kind == "circle"
    assert "stuck" in blocked.why
    assert "deck clear" in blocked.why


def test_two_defects_that_wait_for_each_other_are_a_circle() -> None:
    one = item("one", needs=("deck-clear",), holds=("floor-out",))
    two = item("two", needs=("floor-out",), holds=("deck-clear",))
    assert {b.kind for b in Access(problem(one, two)).blocked.values()} == {"circle"}


def test_steps_that_need_each_other_block_what_needs_them() -> None:
    ring = (Step(id="a", name="a", needs=("b",)), Step(id="b", name="b", needs=("a",)))
    badger = Vehicle(id="badger", name="Badger", steps=ring)
    assert Access(problem(item("x", needs=("a",)), vehicles=(badger,))).blocked["x"].kind == "circle"
