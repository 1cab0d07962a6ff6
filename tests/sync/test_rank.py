"""Rank: severity in force, then what it holds up, worse or recurring, how much the vehicle is wanted, age."""

import itertools

from hypothesis import given
from hypothesis import strategies as st

from builder.edition import Edition, compile_edition, read_edition
from builder.fleet import Access, DisplayDay, Fleet, FleetFile, Template, VehicleFile
from sync.entries import Temporary
from sync.rank import ranked
from sync.state import Closing, Defect
from tests.sync.fold.shed import on

TODAY = on("2026-10-18")


def edition(days: tuple[DisplayDay, ...] = (DisplayDay(name="Spring", date=on("2027-04-01")),)) -> Edition:
    steps = (
        Access(id="deck", name="Deck off", hours_out=1, hours_back=1),
        Access(id="pack", name="Pack out", needs=("deck",), hours_out=6, hours_back=8),
    )
    vehicles = [("badger", 1.0), ("stoat", 5.0)]
    fleet = Fleet(
        file=FleetFile(name="Kestrel Lane", code="kestrel-lane", display_day=days),
        templates={"all": Template(name="All", access=steps)},
        vehicles=tuple(
            VehicleFile(id=v, name=v, kind="k", location="l", templates=("all",), display_weight=w) for v, w in vehicles
        ),
    )
    return read_edition(compile_edition(fleet))


count = itertools.count(1)


def defect(**fields) -> Defect:
    number = next(count)
    base = {"opening": f"o-{number:04}", "code": f"c-{number}", "vehicle": "badger", "severity": "minor"}
    return Defect(**{**base, "first_day": "2026-10-18", **fields})


def order(*defects: Defect, of: Edition | None = None) -> list[str]:
    return [r.opening for r in ranked(reversed(defects), of or edition(), TODAY)]


def comes_first(one: Defect, other: Defect) -> bool:
    return order(one, other) == order(other, one) == [one.opening, other.opening]


def test_the_graver_first():
    grave = [defect(severity=s) for s in ("dangerous", "major", "minor", "advisory")]
    assert order(*reversed(grave)) == [d.opening for d in grave]


def test_then_what_holds_up_others():
    holds, held = defect(holds=("deck",)), defect(needs=("pack",), worse=True)
    assert comes_first(holds, held)


def test_what_holds_up_nothing_on_its_own_vehicle_does_not_count():
    holds = defect(holds=("deck",), first_day="2026-10-18")
    older, elsewhere = defect(first_day="2026-10-01"), defect(vehicle="stoat", needs=("deck",), severity="advisory")
    assert order(holds, older, elsewhere)[0] == older.opening


def test_only_those_that_need_the_step_are_held_up_and_a_step_that_the_edition_does_not_know_is_needed_all_the_same():
    hinge = defect(holds=("deck", "bogie-off"))
    others = [defect(needs=("pack",)), defect(needs=("bogie-off",)), defect(needs=("tank-out",)), defect()]
    first = ranked([hinge, *others], edition(), TODAY)[0]
    assert (first.opening, "holds up 2 others" in first.why) == (hinge.opening, True)


def test_what_waits_on_a_vehicle_that_the_edition_does_not_know_is_held_up_all_the_same():
    hinge, other = defect(vehicle="walrus", holds=("deck",)), defect(vehicle="walrus", needs=("deck",))
    assert "holds up 1 other" in ranked([hinge, other], edition(), TODAY)[0].why


def test_severity_before_holding():
    assert comes_first(defect(severity="major"), defect(holds=("deck",)))


def test_then_worse_or_recurring():
    assert comes_first(defect(worse=True), defect(vehicle="stoat"))
    assert comes_first(defect(episode=2), defect(vehicle="stoat"))


def test_then_how_much_the_vehicle_is_wanted():
    assert comes_first(defect(vehicle="stoat", first_day="2026-10-18"), defect(first_day="2020-01-01"))


def test_no_display_day_to_come_nothing_is_wanted():
    past = edition((DisplayDay(name="Autumn", date=on("2026-10-17")),))
    older, wanted = defect(first_day="2020-01-01"), defect(vehicle="stoat")
    assert order(wanted, older, of=past) == [older.opening, wanted.opening]


def test_then_the_older():
    assert comes_first(defect(first_day="2026-10-01"), defect(first_day="2026-10-02"))


def test_a_lapsed_repair_for_now_ranks_like_a_dangerous_one():
    lapsed = defect(temporary=Temporary(what="wire", until=on("2026-10-17")))
    held = defect(temporary=Temporary(what="wire", until=on("2026-10-18")))
    assert order(defect(severity="major"), lapsed, held)[0] == lapsed.opening


def test_the_reason_says_each_part_in_order():
    one = defect(severity="major", holds=("deck",), worse=True, episode=3, vehicle="stoat")
    other = defect(vehicle="stoat", needs=("pack",))
    first = ranked([one, other], edition(), TODAY)[0]
    assert first.why == (
        "major, holds up 1 other, got worse, came back 2 times, vehicle wanted 5 at Spring, seen since 2026-10-18"
    )


def test_the_reason_leaves_out_what_says_nothing_and_counts_what_there_is():
    past = edition(())
    plain = defect(first_day="")
    assert ranked([plain], past, TODAY)[0].why == "minor"
    again = defect(episode=2)
    assert ranked([again], past, TODAY)[0].why == "minor, came back, seen since 2026-10-18"
    holds, two = defect(holds=("deck", "pack")), [defect(needs=("pack",)), defect(needs=("deck",))]
    assert ranked([holds, *two], past, TODAY)[0].why == "minor, holds up 2 others, seen since 2026-10-18"


def test_the_reason_says_when_a_repair_for_now_lapsed_and_not_before():
    until = defect(temporary=Temporary(what="wire", until=on("2026-10-17")), first_day="")
    assert ranked([until], edition(()), TODAY)[0].why == "minor, repair for now lapsed on 2026-10-17"
    assert ranked([until], edition(()), on("2026-10-17"))[0].why == "minor"


def test_a_display_day_is_still_to_come_on_its_own_day():
    today = edition((DisplayDay(name="Autumn", date=TODAY),))
    assert ranked([defect(first_day="")], today, TODAY)[0].why == "minor, vehicle wanted 1 at Autumn"


def test_what_the_edition_does_not_know_is_wanted_for_nothing_and_ranks_all_the_same():
    stranger = defect(vehicle="walrus", needs=("flux",), first_day="")
    known = defect(first_day="", vehicle="badger")
    reasons = [r.why for r in ranked([stranger, known], edition(), TODAY)]
    assert reasons == ["minor, vehicle wanted 1 at Spring", "minor"]


def test_without_a_day_it_comes_after_those_with_one():
    assert comes_first(defect(first_day="2026-10-18"), defect(first_day=""))


def test_closed_ones_have_no_rank():
    shut = defect(closed=Closing(entry="e", by="RM", day="2026-10-18", how="gone"))
    assert ranked([shut], edition(), TODAY) == ()


@given(st.permutations([defect(severity=s, worse=w) for s in ("major", "minor") for w in (True, False)]))
def test_the_order_given_does_not_matter(defects):
    found = ranked(defects, edition(), TODAY)
    assert [r.rank for r in found] == [1, 2, 3, 4]
    assert found == ranked(sorted(defects, key=lambda d: d.opening), edition(), TODAY)
