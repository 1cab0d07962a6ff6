"""Who knew what when writing: a statement replaces what its writer knew, and nothing else."""

import pytest

from tests.sync.fold.shed import DAY, LATER, Phone, conflict, folded, only, open_defects, sides


@pytest.fixture
def rm() -> Phone:
    return Phone("d-rm", "RM")


@pytest.fixture
def tw() -> Phone:
    return Phone("d-tw", "TW")


def test_a_device_knows_its_own_earlier_entries(rm):
    rm.walk("before").defect("sag", "tight", "minor")
    rm.walk("cold").sound("sag")
    state = folded(rm)
    assert state.conflicts == ()
    assert open_defects(state) == []


def test_a_walk_gives_its_findings_what_its_phone_knew(rm, tw):
    rm.walk("before").defect("sag", "tight", "minor")
    tw.learn(rm).walk("cold").sound("sag")
    assert only(folded(rm, tw).defects).closed.by == "TW"


def test_what_a_phone_learns_during_a_walk_does_not_count_for_that_walk(rm, tw):
    walk = tw.walk("cold")
    rm.walk("cold").defect("sag", "tight", "minor")
    tw.learn(rm)
    walk.sound("sag")
    assert conflict(folded(rm, tw)).kind == "result"


def test_a_finding_whose_walk_has_not_arrived_knows_its_own_device_alone(rm, tw):
    rm.walk("before").defect("sag", "tight", "minor")
    tw.learn(rm).walk("cold").sound("sag")
    walk_start = tw.lines.pop(0)
    assert len(folded(rm, tw).conflicts) == 1
    tw.lines.insert(0, walk_start)
    assert folded(rm, tw).conflicts == ()


def test_two_that_claim_to_know_each_other_know_nothing_of_each_other(rm, tw):
    rm.knows, tw.knows = {"d-tw": 99}, {"d-rm": 99}
    one = rm.walk("cold").sound("sag")
    other = tw.walk("cold").defect("sag", "slack", "major")
    assert sides(conflict(folded(rm, tw))) == {one, other}


def test_a_ring_of_claims_loses_nobody(rm, tw):
    ab = Phone("d-ab", "AB")
    rm.knows, tw.knows, ab.knows = {"d-tw": 2}, {"d-ab": 2}, {"d-rm": 2}
    rm.walk().defect("sag", "slack", "dangerous")
    tw.walk().defect("sag", "slack", "minor")
    ab.walk().sound("sag")
    state = folded(rm, tw, ab)
    assert len(sides(conflict(state))) == 3
    assert only(open_defects(state)).severity == "dangerous"


def test_knowledge_of_entries_that_never_arrive_changes_nothing(rm, tw):
    tw.knows = {"d-nobody": 500}
    rm.walk().sound("sag")
    tw.walk().defect("sag", "slack", "major")
    assert len(folded(rm, tw).conflicts) == 1


def test_an_entry_named_by_its_id_is_known_though_what_came_before_it_is_not(rm, tw):
    rm.walk("before")
    tight = rm.walk("before").defect("sag", "tight", "minor")
    tw.knows = {"d-rm": 1, tight: 3}
    tw.walk("cold").sound("sag")
    assert only(folded(rm, tw).defects).closed.by == "TW"


def test_clocks_decide_nothing(rm, tw):
    first = rm.walk("cold", DAY).defect("sag", "tight", "minor", at="2031-01-01T00:00:00+00:00")
    tw.learn(rm).walk("cold", LATER).sound("sag", at="1999-01-01T00:00:00+00:00")
    found = only(folded(rm, tw).defects)
    assert (found.opening, found.closed.by) == (first, "TW")
