"""Laws of the order of work, on random small workshops."""

from itertools import permutations

from hypothesis import assume, example, given, settings
from hypothesis import strategies as st

from sync.plan.first import first_plan
from sync.plan.goal import Question, Score
from sync.plan.greedy import by_start, opened_late, serial
from sync.plan.lowest import Lowest
from sync.plan.model import Model
from sync.plan.network import Activity, Network
from sync.plan.plan import make_plan
from sync.plan.polish import polish
from sync.plan.problem import Problem
from sync.plan.schedule import schedule
from sync.plan.verify import violations
from sync.plan.whatif import more_helpers
from tests.sync.plan.shed import SMALL, ask, item, problem, problems, question, waits

FEW = settings(max_examples=25, deadline=None)
MORE = settings(max_examples=100, deadline=None)


def best(asked: Question) -> Score:
    found = schedule(asked, SMALL)
    assume(all(stage.proven for stage in found.stages))
    return found.score


@FEW
@given(problems())
def test_a_plan_breaks_no_rule(asked: Problem) -> None:
    plan = make_plan(asked, SMALL)
    left_open = frozenset(bundle.id for bundle in plan.bundles if bundle.left_open)
    assert violations(plan.net, plan.schedule.starts, plan.calendar, asked.workshop, left_open) == []


TWICE = problem(
    item("leak", needs=("floor-out",), severity="dangerous", hours=(30, 30)),
    item("pump", needs=("floor-out",), waits=waits(10)),
)


@FEW
@given(problems())
@example(TWICE)
def test_the_solver_by_itself_breaks_no_rule_and_counts_as_we_do(asked: Problem) -> None:
    put, calendar = question(asked)
    for part in ("unfit", "ends"):
        found, outcome = Model(put).minimise(part, 0, 10**7, SMALL)
        assert found is not None
        assert violations(put.net, found, calendar, asked.workshop) == []
        assert getattr(put.score(found), part) <= outcome.value


@MORE
@given(problems(vehicles=4, most=6))
def test_the_first_plan_breaks_no_rule(asked: Problem) -> None:
    put, calendar = question(asked)
    assert violations(put.net, first_plan(put), calendar, asked.workshop) == []


@MORE
@given(problems(vehicles=4, most=6))
def test_opening_steps_late_breaks_no_rule_and_makes_nothing_worse(asked: Problem) -> None:
    put, calendar = question(asked)
    start = first_plan(put)
    found = opened_late(put.net, start, put.capacity)
    assert violations(put.net, found, calendar, asked.workshop) == []
    assert put.score(found) <= put.score(start)
    assert all(found[a.id] == start[a.id] for a in put.net.activities if a.doing != "out")


@FEW
@given(problems(vehicles=3))
def test_small_moves_break_no_rule_and_make_nothing_worse(asked: Problem) -> None:
    put, calendar = question(asked)
    start = first_plan(put)
    found = polish(put.within(put.net.sequenced(start)), start, "ends", 0.01)
    assert violations(put.net, found, calendar, asked.workshop) == []
    assert put.score(found) <= put.score(start)


@MORE
@given(problems(vehicles=4, most=6))
def test_no_plan_is_better_than_the_bound_that_needs_no_search(asked: Problem) -> None:
    put, _ = question(asked)
    now = put.score(first_plan(put))
    lowest = Lowest(put)
    assert all(getattr(now, part) >= lowest.part(part, now) for part in Score._fields)


@MORE
@given(problems(vehicles=4, most=6))
def test_no_plan_has_more_other_work_before_the_day_than_there_is_room_beside_the_dangerous(asked: Problem) -> None:
    put, _ = question(asked)
    starts, deadline = first_plan(put), put.goal.deadline
    lowest = Lowest(put)
    early = [a for a in put.net.activities if starts[a.id] + a.slots <= (deadline or 0)]
    assert lowest.beside_dangerous(early) <= lowest.room_before(deadline or 0, put.score(starts))


@FEW
@given(problems())
def test_the_best_plan_is_not_below_its_bounds(asked: Problem) -> None:
    put, _ = question(asked)
    found = schedule(put, SMALL)
    lowest = Lowest(put)
    for stage in found.stages:
        assert lowest.part(stage.goal, found.score) <= stage.value
        assert stage.bound <= stage.value


@FEW
@given(problems())
def test_a_helper_more_never_makes_the_best_plan_later(asked: Problem) -> None:
    put, calendar = question(asked)
    helped = more_helpers(asked, 1)
    more = ask(put.net, helped, type(calendar)(helped.workshop, helped.as_of))
    assert best(more) <= best(put)


@FEW
@given(problems(), st.data())
def test_a_defect_less_never_makes_the_best_plan_later(asked: Problem, data: st.DataObject) -> None:
    put, calendar = question(asked)
    work = [activity.id for activity in put.net.activities if activity.doing in ("work", "find out")]
    assume(work)
    gone = data.draw(st.sampled_from(work))
    assert best(ask(without(put.net, gone), asked, calendar)) <= best(put)


def without(net: Network, gone: str) -> Network:
    """The network with one piece of work done already: it takes no time, nothing waits for it, it bars nothing."""
    kept = [activity for activity in net.activities if activity.id != gone]
    freed = tuple(Activity(**{**vars_of(a), "after": tuple(one for one in a.after if one != gone)}) for a in kept)
    return Network(freed, net.opened)


def vars_of(activity: Activity) -> dict[str, object]:
    return {name: getattr(activity, name) for name in Activity.__dataclass_fields__}


@FEW
@given(problems(vehicles=1, most=3))
def test_the_best_plan_is_that_of_brute_force(asked: Problem) -> None:
    """Without a day, some order of placing gives a best plan, but for how long things stand open; so all are tried."""
    asked = asked.but(display_days=())
    put, _ = question(asked)
    assume(2 <= len(put.net.activities) <= 6 and not put.net.shared)
    orders = [order for order in permutations(put.net.activities) if in_order(order)]
    upto = 3 if put.net.opened else 4
    assert best(put)[:upto] == min(put.score(serial(put.net, order, put.capacity))[:upto] for order in orders)


def in_order(order: tuple[Activity, ...]) -> bool:
    place = {activity.id: number for number, activity in enumerate(order)}
    return all(place[one] < place[activity.id] for activity in order for one in activity.after)


@MORE
@given(problems(vehicles=4, most=6))
def test_placing_a_plan_again_in_its_own_order_makes_nothing_later(asked: Problem) -> None:
    put, _ = question(asked)
    starts = {name: start + 7 for name, start in first_plan(put).items()}
    assume(not any(activity.whole for activity in put.net.activities))
    again = serial(put.net, by_start(put.net, starts), put.capacity)
    assert all(again[name] <= start for name, start in starts.items())


@FEW
@given(problems())
def test_the_same_problem_gives_the_same_plan(asked: Problem) -> None:
    shuffled = asked.but(items=asked.items[::-1], vehicles=asked.vehicles[::-1])
    one, other = make_plan(asked, SMALL), make_plan(shuffled, SMALL)
    assert one.schedule.score == other.schedule.score
    assert dict(one.schedule.starts) == dict(other.schedule.starts)
