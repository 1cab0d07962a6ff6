"""The season's figures against what a hand reckons, and the page that shows them."""

import re
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from builder.edition import read_edition
from sync.demo import Places, build_sample, take_in_day
from sync.desk.page import Desk
from sync.desk.season import material
from sync.desk.season_chart import BAR_WIDE, bar, lines
from sync.entries import Run
from sync.errors import DeskError
from sync.season import Flow, Material, Period, Step, as_one, counts, flow, open_on
from sync.season_use import available, between, down_days
from sync.service import Draft, Service
from sync.state import Defect, Sighting, WalkState
from sync.store import Store
from sync.store_rows import Spell
from tests.sync.desk.asking import asked
from tests.sync.desk.season_story import Yard, season
from tests.sync.phones import START, Dice, edition_of

YEAR = Period(date(2026, 1, 1), date(2026, 10, 1))
TODAY = date(2026, 10, 1)


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Yard]:
    made = season(tmp_path_factory.mktemp("yard"))
    yield made
    made.store.close()


def desk_on(service: Service, today: date = TODAY) -> Desk:
    return Desk(service.store, service, lambda: today)


def page(desk: Desk, address: str = "/season") -> str:
    return asked(desk, address).text


def of(yard: Yard) -> Material:
    return material(desk_on(yard.service), YEAR)


# --- counts


def test_what_broke_is_counted_by_system_with_what_came_back(yard: Yard) -> None:
    found = counts(YEAR, of(yard))
    assert [(b.name, b.total, b.again) for b in found.systems] == [
        ("tracks", 2, 1),
        ("brakes", 1, 0),
        ("electrical", 1, 0),
    ]
    assert (found.systems[0].major, found.systems[1].dangerous, found.systems[2].minor) == (2, 1, 1)


def test_every_vehicle_is_listed_with_its_walks_also_where_nothing_was_found(yard: Yard) -> None:
    found = counts(YEAR, of(yard))
    assert [(b.name, b.total, b.walks) for b in found.vehicles] == [("Otter", 3, 4), ("Stoat", 1, 1), ("Heron", 0, 0)]


def test_a_fault_found_twice_is_told_as_one(yard: Yard) -> None:
    first = counts(YEAR, of(yard)).faults[0]
    assert (first.name, first.total) == ("Slack: Sag of the top run", 2)


def test_opened_less_closed_is_what_stands_open(yard: Yard) -> None:
    found = counts(YEAR, of(yard)).flow
    assert found.before == 0
    assert [(s.first.month, s.opened, s.closed, s.open) for s in found.steps if s.opened or s.closed] == [
        (5, 1, 0, 1), (6, 0, 1, 0), (7, 2, 1, 1), (9, 1, 0, 2),
    ]  # fmt: skip


def test_what_was_open_before_the_season_is_carried_into_it(yard: Yard) -> None:
    autumn = Period(date(2026, 8, 1), date(2026, 10, 1))
    found = counts(autumn, material(desk_on(yard.service), autumn))
    assert (found.flow.before, found.found, found.flow.steps[-1].open) == (1, 1, 2)


def test_a_display_day_shows_what_it_left_behind(yard: Yard) -> None:
    fair, hay, apple = counts(YEAR, of(yard)).days
    assert (fair.before, fair.found.dangerous, fair.after, fair.mended) == ((0, 0), 1, (1, 1), 0)
    assert (hay.before, hay.found.total, hay.vehicles, hay.after, hay.mended) == ((0, 0), 2, 2, (1, 0), 1)
    assert (apple.before, apple.found.again, apple.after, apple.whole) == ((1, 0), 1, (2, 0), True)


def test_a_display_days_week_is_not_over_before_it_is(yard: Yard) -> None:
    short = Period(date(2026, 1, 1), date(2026, 9, 14))
    apple = counts(short, material(desk_on(yard.service), short)).days[-1]
    assert (apple.last, apple.whole) == (date(2026, 9, 14), False)


def test_hours_are_counted_once_by_system_and_vehicle(yard: Yard) -> None:
    spent = counts(YEAR, of(yard)).spent
    assert (spent.total, spent.by_system, spent.by_vehicle) == (
        6.5,
        (("brakes", 5), ("tracks", 1.5)),
        (("Otter", 6.5),),
    )
    assert spent.silent == 2


def test_hours_of_a_job_on_two_systems_are_counted_once(tmp_path: Path) -> None:
    yard = Yard(tmp_path)
    found = yard.walk("otter", "2026-05-17", ("hose", "weeps", "dangerous"), ("sag", "slack", "major"))
    yard.service.write(Draft("job", {"job": "j1", "title": "Left side", "defects": found}), by="AB")
    yard.work("j1", "2026-06-07", "in hand", 4)
    spent = counts(YEAR, of(yard)).spent
    assert (spent.total, spent.by_system) == (4, (("several systems", 4),))
    yard.store.close()


def test_defects_joined_by_a_person_count_as_one(tmp_path: Path) -> None:
    yard = Yard(tmp_path)
    found = yard.walk("otter", "2026-05-17", ("hose", "weeps", "dangerous"), ("sag", "slack", "major"))
    yard.service.write(Draft("same", {"of": found, "joined": True}), by="AB")
    counted = counts(YEAR, of(yard))
    assert (counted.found, counted.systems[0].name, counted.systems[0].dangerous) == (1, "brakes", 1)
    yard.store.close()


# --- use


def test_waiting_counts_against_availability(yard: Yard) -> None:
    """Otter: seen from 1 March, 215 days; stopped 17 May to 9 June, 24 days, of which 7, 8 and 9 June in work."""
    otter = available(YEAR, of(yard))[0]
    assert (otter.observed, otter.up, otter.mending, otter.waiting, otter.stoppages) == (215, 191, 3, 21, 1)
    assert otter.share == pytest.approx(100 * 191 / 215)
    assert otter.unwaited == pytest.approx(100 * 191 / 194)


def test_a_vehicle_that_is_not_asked_to_run_has_no_availability(yard: Yard) -> None:
    assert {a.vehicle for a in available(YEAR, of(yard))} == {"otter", "stoat"}


def test_a_few_days_are_not_enough_for_availability(yard: Yard) -> None:
    short = Period(date(2026, 9, 10), date(2026, 9, 20))
    otter = available(short, material(desk_on(yard.service), short))[0]
    assert (otter.share, otter.why_not) == (None, "not enough: 11 of 28 days")


def test_the_bound_between_failures_is_reached_at_least(yard: Yard) -> None:
    """4.5 h with 3 failures: 2 x 4.5 / chi-square(95 %, 8) = 9 / 15.507, from a table of chi-square."""
    otter = next(b for b in between(YEAR, of(yard)) if b.vehicle == "otter")
    assert (otter.hours, otter.failures) == (4.5, 3)
    assert otter.bound == pytest.approx(9 / 15.507, abs=1e-4)
    assert otter.trend == "not enough: 3 failures at 3 times; 4 at 3 are needed"


def test_without_hours_there_is_no_bound(yard: Yard) -> None:
    stoat = next(b for b in between(YEAR, of(yard)) if b.vehicle == "stoat")
    assert (stoat.bound, stoat.each, stoat.trend, stoat.without) == (None, None, "not enough: no hours were kept", 1)


@pytest.fixture
def bare(tmp_path: Path) -> Material:
    return Material(edition=read_edition(edition_of(tmp_path / "fleet")), states={"otter": "runner"})


def spell(first: str, closed: str = "", severity: str = "dangerous", opening: str = "x", episode: int = 1) -> Spell:
    return Spell(opening, opening, "otter", "left-side/sag", "slack", "", "", "", severity, first, closed, episode)


def test_availability_of_60_5_and_15_days_is_three_quarters(bare: Material) -> None:
    """Operational availability's worked example: 60, 5, 15 give 0.75."""
    first = date(2026, 1, 1)
    down = (first + timedelta(days=60)).isoformat()
    hands = (first + timedelta(days=75)).isoformat()
    work = Sighting(entry="w", device="desk", seq=1, by="AB", at=f"{hands}T09:00:00Z", kind="work", said="in hand")
    defect = Defect(opening="x", code="x", vehicle="otter", severity="dangerous", work=(work,))
    walk = WalkState(walk="w", vehicle="otter", round="full", day="2026-01-01", by="AB", device="d")
    given = Material(bare.edition, spells=[spell(down)], worked=[defect], walks=[walk], states=bare.states)
    (otter,) = available(Period(first, first + timedelta(days=79)), given)
    assert (otter.up, otter.mending, otter.waiting, otter.share) == (60, 5, 15, 75)


def test_the_trend_of_failures_is_nists(bare: Material) -> None:
    """NIST e-Handbook 8.2.3.4: ten repairs in 1500 h give -1.33, no trend."""
    times = (5, 40, 43, 175, 389, 712, 747, 795, 1299, 1478, 1500)
    days = [date(2026, 1, 1) + timedelta(days=n) for n in range(len(times))]
    hours = [b - a for a, b in zip((0, *times), times, strict=False)]
    head = {"device": "d", "by": "AB", "edition": "e", "at": START, "vehicle": "otter"}
    runs = [
        Run(id=f"r{n}", seq=n + 1, day=day, hours=h, **head) for n, (day, h) in enumerate(zip(days, hours, strict=True))
    ]  # type: ignore[arg-type]
    spells = [spell(day.isoformat(), opening=f"x{n}") for n, day in enumerate(days[:-1])]
    (otter,) = between(YEAR, Material(bare.edition, spells=spells, runs=runs))
    assert (otter.hours, otter.failures, otter.trend) == (1500, 10, "no trend can be told (Laplace -1.33)")


def test_800_hours_without_a_failure_have_a_bound_and_no_estimate(bare: Material) -> None:
    """800 h, none failed, 95 % one-sided: 267.05 h."""
    run = Run(
        id="r", device="d", seq=1, at=START, by="AB", edition="e", vehicle="otter", day=date(2026, 2, 1), hours=800
    )
    (otter,) = between(YEAR, Material(bare.edition, runs=[run]))
    assert (round(otter.bound or 0, 2), otter.each) == (267.05, None)


def test_a_day_with_hands_on_one_of_two_defects_is_no_waiting_day(bare: Material) -> None:
    work = {"a": [("2026-03-02", "in hand")]}
    spells = [spell("2026-03-01", "2026-03-05", opening="a"), spell("2026-03-01", "2026-03-05", opening="b")]
    waiting, mending = down_days(Period(date(2026, 1, 1), date(2026, 6, 1)), spells, work)
    assert [date.fromordinal(day).day for day in sorted(waiting)] == [1]
    assert [date.fromordinal(day).day for day in sorted(mending)] == [2, 3, 4]


def test_a_dangerous_defect_found_and_closed_on_one_day_stops_it_for_that_day(bare: Material) -> None:
    given = Material(bare.edition, spells=[spell("2026-03-01", "2026-03-01")], states=bare.states)
    (otter,) = available(Period(date(2026, 1, 1), date(2026, 6, 1)), given)
    assert (otter.waiting + otter.mending, otter.stoppages) == (1, 1)


# --- laws

DAYS = st.integers(0, 400).map(lambda n: date(2026, 1, 1) + timedelta(days=n))
FOUND = st.tuples(DAYS, st.none() | st.integers(0, 200), st.sampled_from(["dangerous", "major", "minor"]))


def spell_of(number: int, first: date, lasts: int | None, severity: str) -> Spell:
    closed = "" if lasts is None else (first + timedelta(days=lasts)).isoformat()
    return spell(first.isoformat(), closed, severity, f"x{number:02}")


SPELLS = st.lists(FOUND, max_size=12).map(lambda found: [spell_of(n, *one) for n, one in enumerate(found)])


@given(SPELLS, DAYS, st.integers(0, 400))
def test_the_last_step_ends_with_what_is_open_on_the_last_day(spells: list[Spell], first: date, length: int) -> None:
    period = Period(first, first + timedelta(days=length))
    found = flow(period, spells)
    assert found.steps[-1].open == len(open_on(spells, period.until))
    assert (found.steps[0].first, found.steps[-1].last) == (period.since, period.until)


@given(SPELLS, st.lists(st.tuples(st.integers(0, 11), st.integers(0, 11)), max_size=6), st.randoms())
def test_joining_does_not_depend_on_order(spells: list[Spell], pairs: list[tuple[int, int]], dice: object) -> None:
    joined = [(f"x{a:02}", f"x{b:02}") for a, b in pairs]
    mixed = [pair[::-1] for pair in reversed(joined)]
    assert as_one(spells, joined) == as_one(spells[::-1], mixed)


# --- drawings


def test_a_bar_is_as_long_as_its_values() -> None:
    assert bar([("major", 3), ("minor", 0), ("advisory", 1)], 8) == (
        bar([("major", 3)], 8)[0],
        bar([("major", 3), ("advisory", 1)], 8)[1],
    )
    assert sum(piece.wide for piece in bar([("major", 3), ("advisory", 5)], 8)) == BAR_WIDE


def test_two_labels_at_the_edge_never_lie_on_each_other() -> None:
    day = date(2026, 1, 1)
    steps = tuple(Step(day + timedelta(days=7 * n), day + timedelta(days=7 * n + 6), 1, 1, 0) for n in range(4))
    drawn = lines(Flow(0, steps))
    assert drawn is not None
    upper, lower = drawn.ends
    assert lower.at - upper.at >= 18


# --- the page


def test_the_page_shows_a_drawing_and_its_numbers(yard: Yard) -> None:
    text = page(desk_on(yard.service))
    assert 'role="img"' in text
    assert "4 opened" in text
    assert "88.8 %" in text
    assert "At least, 95 %" in text


def test_one_display_day_is_said_to_be_thin(tmp_path: Path) -> None:
    """The sample collection's one day: no availability, no drawing, and the page says so."""
    places = Places(tmp_path)
    service = Service(Store(places.backlog), lambda: START, Dice("desk"))
    service.adopt(build_sample(places))
    take_in_day(service)
    text = page(desk_on(service, date(2026, 10, 18)))
    assert "Thin evidence" in text
    assert "Not enough for a drawing" in text
    assert "not enough: 2 of 28 days" in text
    assert " %</strong>" not in text
    service.store.close()


def test_an_empty_backlog_has_a_page_that_says_so(tmp_path: Path) -> None:
    yard = Yard(tmp_path)
    text = page(desk_on(yard.service))
    assert "Nobody walked round anything" in text
    yard.store.close()


def test_what_comes_in_is_on_the_page_at_once(tmp_path: Path) -> None:
    yard = Yard(tmp_path)
    desk = desk_on(yard.service)
    assert "0 defects found" in page(desk)
    yard.walk("stoat", "2026-09-13", ("lamp", "dark", "minor"))
    assert "1 defect found" in page(desk)
    yard.store.close()


def test_nothing_on_the_page_counts_by_person(yard: Yard) -> None:
    """What is between the frame's own choice of people and the page's end names none of them."""
    main = page(desk_on(yard.service)).partition("<main")[2]
    assert not re.findall(r"\b(AB|RM)\b", main)


@pytest.mark.parametrize(
    ("address", "words"),
    [
        ("/season?from=yesterday", "is no day"),
        ("/season?from=2026-10-02&to=2026-10-01", "swap the days"),
        ("/season?from=1066-10-14", "more than 10 years"),
    ],
)
def test_a_season_that_is_none_is_refused_in_words(yard: Yard, address: str, words: str) -> None:
    assert words in page(desk_on(yard.service), address)


def test_a_leap_day_has_a_year_before_it(yard: Yard) -> None:
    assert "2027-03-01 to 2028-02-29" in page(desk_on(yard.service, date(2028, 2, 29)))


def test_a_period_that_ends_before_it_begins_is_an_error() -> None:
    with pytest.raises(DeskError, match="swap the days"):
        Period(date(2026, 2, 1), date(2026, 1, 1))
