"""A defect runs from its opening to its closing; what is seen knowing of the closing is a recurrence."""

import pytest

from sync.codes import ALPHABET, code, codes
from tests.sync.fold.shed import DAY, LATER, LATEST, Desk, Phone, conflict, entry_id, folded, only, open_defects, sides


@pytest.fixture
def rm() -> Phone:
    return Phone("d-rm", "RM")


@pytest.fixture
def tw() -> Phone:
    return Phone("d-tw", "TW")


@pytest.fixture
def desk() -> Desk:
    return Desk("desk-1", "RM")


def test_a_sighting_that_knew_of_the_closing_is_a_recurrence(rm, tw, desk):
    first = rm.walk().defect("sag", "slack", "major")
    desk.learn(rm).work(first, "signed off")
    again = tw.learn(rm, desk).walk("cold", LATER).defect("sag", "slack", "minor")
    state = folded(rm, tw, desk)
    assert state.conflicts == ()
    assert [(d.opening, d.episode, d.closed is None) for d in state.defects] == [(first, 1, False), (again, 2, True)]


def test_the_severity_of_an_earlier_episode_does_not_carry_over(rm, tw, desk):
    first = rm.walk().defect("sag", "slack", "dangerous")
    desk.learn(rm).work(first, "signed off")
    tw.learn(rm, desk).walk("cold", LATER).defect("sag", "slack", "minor")
    assert only(open_defects(folded(rm, tw, desk))).severity == "minor"


def test_one_that_did_not_know_of_it_asks_before_or_after_mending_and_stands_open(rm, tw, desk):
    first = rm.walk("cold", DAY).defect("sag", "slack", "major")
    late = tw.walk("cold", LATER).defect("sag", "slack", "major")
    closing = desk.learn(rm).work(first, "signed off")
    state = folded(rm, tw, desk)
    assert (conflict(state).kind, sides(conflict(state))) == ("before or after mending", {late, closing})
    assert "was it seen before or after mending?" in conflict(state).why
    found = only(open_defects(state))
    assert (found.opening, found.episode, len(found.sightings)) == (first, 1, 2)


def test_settled_as_before_mending_it_is_closed(rm, tw, desk):
    first = rm.walk("cold", DAY).defect("sag", "slack", "major")
    tw.walk("cold", LATER).defect("sag", "slack", "major")
    closing = desk.learn(rm).work(first, "signed off")
    desk.learn(tw).settle("sag", "slack", choose=closing)
    state = folded(rm, tw, desk)
    assert state.conflicts == ()
    assert open_defects(state) == []


def test_settled_as_after_mending_it_stays_open_under_its_code(rm, tw, desk):
    first = rm.walk("cold", DAY).defect("sag", "slack", "major")
    late = tw.walk("cold", LATER).defect("sag", "slack", "major")
    desk.learn(rm).work(first, "signed off")
    desk.learn(tw).settle("sag", "slack", choose=late)
    state = folded(rm, tw, desk)
    assert state.conflicts == ()
    assert only(open_defects(state)).opening == first


def test_a_recurrence_seen_by_two_unaware_of_each_other_is_one(rm, tw, desk):
    first = rm.walk().defect("sag", "slack", "major")
    desk.learn(rm).work(first, "signed off")
    rm.learn(desk).walk("cold", LATER).defect("sag", "slack", "major")
    tw.learn(rm, desk).walk("cold", LATER).defect("sag", "slack", "major")
    found = only(open_defects(folded(rm, tw, desk)))
    assert (found.episode, found.seen_by) == (2, ("RM", "TW"))


def test_who_knew_one_of_two_closings_saw_a_recurrence(rm, tw, desk):
    other = Desk("desk-2", "RM")
    first = rm.walk().defect("sag", "slack", "major")
    desk.learn(rm).work(first, "signed off")
    other.learn(rm).rule(first, closed={"reason": "adjusted"})
    tw.learn(rm, desk).walk("cold", LATER).defect("sag", "slack", "major")
    state = folded(rm, tw, desk, other)
    assert state.conflicts == ()
    assert only(open_defects(state)).episode == 2


def test_the_first_look_that_closed_it_is_named_however_many_follow(rm, tw):
    rm.walk("before").defect("sag", "tight", "minor")
    for phone, day in ((tw, DAY), (rm, LATER), (tw, LATEST)):
        phone.learn(rm).walk("cold", day).sound("sag")
    assert (only(folded(rm, tw).defects).closed.by, only(folded(rm, tw).defects).closed.day) == ("TW", DAY)


def test_a_closing_taken_back_opens_it_again(rm, desk):
    first = rm.walk().defect("sag", "slack", "major")
    desk.learn(rm).rule(first, closed={"reason": "adjusted"})
    desk.rule(first, closed=None)
    found = only(folded(rm, desk).defects)
    assert (found.closed, found.episode) == (None, 1)


def test_work_that_goes_back_opens_it_again(rm, desk):
    first = rm.walk().defect("sag", "slack", "major")
    desk.learn(rm).work(first, "signed off")
    desk.work(first, "in hand")
    found = only(folded(rm, desk).defects)
    assert (found.closed, found.status) == (None, "in hand")


def test_work_on_a_recurrence_does_not_open_the_earlier_episode(rm, desk):
    first = rm.walk().defect("sag", "slack", "major")
    desk.learn(rm).work(first, "signed off")
    again = rm.learn(desk).walk("cold", LATER).defect("sag", "slack", "major")
    desk.learn(rm).work(again, "in hand")
    state = folded(rm, desk)
    assert {d.opening: d.status for d in open_defects(state)} == {again: "in hand"}
    assert len(state.defects) == 2


def test_a_third_episode_counts_on(rm, desk):
    for day in (DAY, LATER, LATEST):
        opening = rm.learn(desk).walk("cold", day).defect("sag", "tight", "minor")
        if day != LATEST:
            desk.learn(rm).rule(opening, closed={"reason": "adjusted"})
    assert [d.episode for d in folded(rm, desk).defects] == [1, 2, 3]


def test_with_several_openers_the_smallest_id_is_shown_and_the_others_still_find_it(rm, tw):
    one = rm.walk().defect("sag", "slack", "major")
    other = tw.walk().defect("sag", "slack", "major")
    found = only(folded(rm, tw).defects)
    assert (found.opening, found.also) == (min(one, other), (max(one, other),))
    assert (found.code, found.also_codes) == (code("badger", min(one, other)), (code("badger", max(one, other)),))


def test_a_ruling_about_any_opener_is_about_the_defect(rm, tw, desk):
    rm.walk().defect("sag", "slack", "major")
    other = tw.walk().defect("sag", "slack", "major")
    desk.learn(rm, tw).rule(other, owner="LB")
    assert only(folded(rm, tw, desk).defects).owner == "LB"


class TestCodes:
    def test_a_code_is_the_vehicle_and_five_of_31_letters_and_digits(self):
        assert len(ALPHABET) == 31
        assert not set("01oil") & set(ALPHABET)
        vehicle, _, letters = code("badger", entry_id(7)).rpartition("-")
        assert (vehicle, len(letters)) == ("badger", 5)
        assert set(letters) <= set(ALPHABET)

    def test_codes_that_collide_are_longer_and_the_others_stay(self):
        alone = entry_id(999_999)
        by_code: dict[str, str] = {}
        for number in range(200_000):
            text = code("badger", entry_id(number))
            if text in by_code:
                pair = (by_code[text], entry_id(number))
                break
            by_code[text] = entry_id(number)
        found = codes("badger", (*pair, alone))
        assert found[alone] == code("badger", alone)
        assert {len(found[one].rpartition("-")[2]) for one in pair} == {6}
        assert found[pair[0]] != found[pair[1]]
