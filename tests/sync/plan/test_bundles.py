"""Which defects share an opening, what that saves, and that the openings are the cheapest there are."""

from itertools import pairwise, product

from hypothesis import given
from hypothesis import strategies as st

from sync.plan.access import Access
from sync.plan.bundles import Bundle, bundles
from sync.plan.openings import Want, cheapest, cost_of
from sync.plan.problem import Job, Problem, Task
from sync.plan.sessions import Calendar
from tests.sync.plan.shed import BADGER, item, problem, waits

LEAK = item("leak", needs=("pack-out",))
MOUNT = item("mount", needs=("pack-out",))
COVER = item("cover", needs=("deck-clear",))


def made(asked: Problem) -> dict[str, Bundle]:
    found, _ = bundles(Access(asked), Calendar(asked.workshop, asked.as_of))
    return {bundle.id: bundle for bundle in found}


def grouped(asked: Problem) -> list[tuple[str, ...]]:
    return sorted(bundle.items for bundle in made(asked).values())


def test_defects_that_share_a_step_become_one_job() -> None:
    assert grouped(problem(LEAK, MOUNT, COVER)) == [("cover", "leak", "mount")]


def test_a_shared_step_counts_once_out_and_back() -> None:
    bundle = made(problem(LEAK, MOUNT, COVER))["badger:cover"]
    deck, pack = 2 * (1 + 1) * 4, 3 * (6 + 8) * 4  # person-quarter-hours: people, hours out and back
    assert bundle.access == deck + pack
    assert bundle.apart == 3 * deck + 2 * pack
    assert bundle.saved == 2 * deck + pack


def test_defects_that_share_no_step_stay_apart() -> None:
    assert grouped(problem(COVER, item("pump", needs=("floor-out",)))) == [("cover",), ("pump",)]


def test_a_dangerous_defect_is_not_put_off_for_anothers_part() -> None:
    leak = LEAK.but(severity="dangerous")
    plates = MOUNT.but(severity="major", waits=waits(21))
    assert grouped(problem(leak, plates)) == [("leak",), ("mount",)]


def test_a_minor_defect_waits_for_the_opening_that_comes_anyway() -> None:
    assert grouped(problem(LEAK, MOUNT.but(waits=waits(21)))) == [("leak", "mount")]


def test_what_bars_the_vehicle_waits_only_while_something_else_bars_it_too() -> None:
    leak = LEAK.but(severity="major")
    minor = MOUNT.but(waits=waits(21))
    major = minor.but(severity="major")
    assert grouped(problem(leak, minor)) == [("leak",), ("mount",)]
    assert grouped(problem(leak, major)) == [("leak", "mount")]


def test_a_job_that_a_person_made_stands_as_made() -> None:
    job = Job(id="job-1", title="Pack job", items=("leak", "mount"))
    found = made(problem(LEAK, MOUNT, COVER, jobs=(job,)))
    assert (found["job-1"].items, found["job-1"].accepted) == (("leak", "mount"), True)
    assert found["badger:cover"].items == ("cover",)


def test_a_job_parted_by_a_person_is_not_bundled() -> None:
    job = Job(id="job-1", title="Pack job", items=("leak", "mount"), apart=True)
    assert grouped(problem(LEAK, MOUNT, jobs=(job,))) == [("leak",), ("mount",)]


def test_jobs_that_wait_for_each_other_become_one_with_a_note() -> None:
    first = item("first", needs=("floor-out",), holds=("deck-clear",))
    second = item("second", needs=("deck-clear",))
    third = item("third", needs=("floor-out",), after=("second",))
    jobs = (Job(id="a", title="A", items=("first", "third")), Job(id="b", title="B", items=("second",)))
    (bundle,) = made(problem(first, second, third, jobs=jobs)).values()
    assert bundle.items == ("first", "second", "third")
    assert bundle.note


def test_a_while_open_task_is_offered_and_not_planned_unasked() -> None:
    task = Task(id="mounts", vehicle="badger", title="Engine mounts", step="pack-out", hours=4)
    bundle = made(problem(LEAK, tasks=(task,)))["badger:leak"]
    assert (bundle.offers, bundle.tasks) == (("mounts",), ())


def test_an_accepted_task_is_in_the_job() -> None:
    task = Task(id="mounts", vehicle="badger", title="Engine mounts", step="pack-out", hours=4, accepted=True)
    bundle = made(problem(LEAK, tasks=(task,)))["badger:leak"]
    assert (bundle.offers, bundle.tasks) == ((), ("mounts",))


def test_a_step_that_is_out_is_used_before_it_goes_back() -> None:
    badger = BADGER.but(open_steps=("deck-clear", "pack-out"))
    later = LEAK.but(waits=waits(21))
    assert grouped(problem(later, MOUNT, vehicles=(badger,))) == [("leak", "mount")]


def test_a_step_left_open_for_nothing_is_closed() -> None:
    badger = BADGER.but(open_steps=("floor-out",))
    bundle = made(problem(COVER, vehicles=(badger,)))["badger:close up"]
    assert (bundle.items, bundle.steps) == ((), ("floor-out",))


def test_a_step_stays_open_for_work_that_cannot_be_planned_yet() -> None:
    badger = BADGER.but(open_steps=("floor-out",))
    pump = item("pump", needs=("floor-out",), people=9)
    assert made(problem(pump, vehicles=(badger,))) == {}


def test_what_holds_another_is_not_put_off_past_it_to_save_an_opening() -> None:
    holder, held, other = (
        Want("h", frozenset("a"), 0, 1),
        Want("i", frozenset("b"), 0, 0),
        Want("x", frozenset("a"), 1, 1),
    )
    cost = {(step, time): 4 for step in "ab" for time in (0, 1)}
    assert cheapest([holder, held, other], cost).time_of["h"] == 1
    assert cheapest([holder, held, other], cost, [("h", "i")]).time_of["h"] == 0


@st.composite
def wants(draw: st.DrawFn) -> tuple[list[Want], dict[tuple[str, int], int], list[tuple[str, str]]]:
    times, names = draw(st.integers(1, 3)), ["a", "b", "c"]
    found = []
    for number in range(draw(st.integers(1, 5))):
        first = draw(st.integers(0, times - 1))
        asked = draw(st.sets(st.sampled_from(names), min_size=1))
        found.append(Want(f"i{number}", frozenset(asked), first, draw(st.integers(first, times - 1))))
    cost = {(step, time): draw(st.integers(0, 20)) for step in names for time in range(times)}
    pairs = [(one.item, other.item) for one, other in pairwise(found)]
    before = [(one, other) for one, other in pairs if draw(st.booleans())]
    firsts = {want.item: want.first for want in found}
    lasts = {want.item: want.last for want in found}
    return (
        found,
        cost,
        [(one, other) for one, other in before if firsts[one] <= firsts[other] and lasts[one] <= lasts[other]],
    )


def brute_force(found: list[Want], cost: dict[tuple[str, int], int], before: list[tuple[str, str]]) -> tuple[int, int]:
    """The least cost, and the least sum of times at that cost, by trying everything."""
    best = []
    for chosen in product(*(range(want.first, want.last + 1) for want in found)):
        time_of = {want.item: time for want, time in zip(found, chosen, strict=True)}
        if all(time_of[one] <= time_of[other] for one, other in before):
            best.append((cost_of(found, time_of, cost), sum(chosen)))
    return min(best)


@given(wants())
def test_the_cheapest_openings_are_those_of_brute_force(
    asked: tuple[list[Want], dict[tuple[str, int], int], list[tuple[str, str]]],
) -> None:
    found, cost, before = asked
    chosen = cheapest(found, cost, before)
    assert (chosen.cost, sum(chosen.time_of.values())) == brute_force(found, cost, before)
    assert chosen.proven
