"""The plan as bars and marks for a drawing."""

from datetime import timedelta
from itertools import pairwise

from sync.plan.plan import Plan
from sync.plan.timeline import Bar, Timeline, timeline
from tests.sync.plan.shed import FROST_RUN, MONDAY, SATURDAY, item, planned, waits


def bars(plan: Plan, look: str) -> list[Bar]:
    (row,) = timeline(plan, ["badger"]).rows
    return [bar for bar in row.bars if bar.look == look]


def drawn(plan: Plan) -> Timeline:
    return timeline(plan)


def test_the_line_begins_today() -> None:
    found = drawn(planned(item("brake")))
    today = next(mark for mark in found.marks if mark.kind == "today")
    assert (found.first, today.at, today.label) == (MONDAY, 0.0, "Today, Mon 19 Oct 2026")


def test_display_days_are_marked_where_they_fall() -> None:
    found = drawn(planned(item("brake")))
    mark = next(mark for mark in found.marks if mark.kind == "display day")
    days = (found.last - found.first).days + 1
    assert (mark.day, mark.at) == (FROST_RUN.date, round((FROST_RUN.date - MONDAY).days / days, 5))


def test_work_is_a_bar_on_its_day() -> None:
    (bar,) = bars(planned(item("brake", severity="dangerous")), "work")
    assert (bar.label, bar.first_day, bar.last_day, bar.dangerous) == ("brake", SATURDAY, SATURDAY, True)


def test_an_opening_is_drawn_from_out_to_back() -> None:
    (bar,) = bars(planned(item("leak", needs=("pack-out",), hours=(14, 14))), "open")
    assert (bar.first_day, bar.label) == (SATURDAY, "pack out")
    assert bar.last_day > SATURDAY


def test_a_wait_reaches_to_the_day_before_it_ends() -> None:
    (bar,) = bars(planned(item("clutch", waits=waits(20))), "wait")
    assert (bar.first_day, bar.last_day) == (MONDAY, MONDAY + timedelta(days=19))


def test_a_held_step_is_drawn_until_what_holds_it_is_mended() -> None:
    plan = planned(item("leak", needs=("deck-clear",)), item("hinge", holds=("deck-clear",)))
    (bar,) = bars(plan, "held")
    assert (bar.label, bar.last_day) == ("deck clear held by hinge", SATURDAY)


def test_bars_of_one_lane_do_not_overlap() -> None:
    plan = planned(*(item(f"n{n}", hours=(6, 6)) for n in range(6)), item("leak", needs=("pack-out",)))
    (row,) = timeline(plan, ["badger"]).rows
    for lane in range(row.lanes):
        mine = sorted((b.first_day, b.last_day) for b in row.bars if b.lane == lane and b.look != "open")
        assert all(one[1] < other[0] for one, other in pairwise(mine))


def test_bars_alike_over_the_same_days_are_one_with_all_their_names() -> None:
    (bar,) = bars(planned(item("bulb"), item("lamp")), "work")
    assert bar.label == "bulb; lamp"


def test_every_bar_lies_within_the_drawing() -> None:
    plan = planned(*(item(f"n{n}", hours=(40, 40)) for n in range(12)), item("clutch", waits=waits(400)))
    found = drawn(plan)
    assert {bar.look for bar in found.rows[0].bars} == {"work", "wait"}
    for row in found.rows:
        assert all(bar.left >= 0 and bar.left + bar.width <= 1.0001 for bar in row.bars)
