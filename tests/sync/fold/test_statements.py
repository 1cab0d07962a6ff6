"""What a finding states."""

import pytest

from tests.sync.fold.shed import Phone, conflict, folded, only, open_defects


@pytest.fixture
def rm() -> Phone:
    return Phone("d-rm", "RM")


def test_a_defect_opens_a_line_with_what_was_seen(rm):
    opening = rm.walk("cold").defect("sag", "slack", "major", reading={"value": 61, "unit": "mm"}, note="at its stop")
    found = only(folded(rm).defects)
    assert (found.opening, found.severity, found.status) == (opening, "major", "open")
    assert (found.check_name, found.fault_name, found.station_name) == ("Sag of the top run", "Slack", "Left track")
    assert (found.note, found.reading.value, found.seen_by) == ("at its stop", 61, ("RM",))
    assert (found.first_day, found.last_day) == ("2026-10-18", "2026-10-18")


def test_a_vehicle_found_sound_has_no_line(rm):
    rm.walk().sound("sag")
    assert folded(rm).defects == ()


def test_unchecked_states_nothing(rm):
    walk = rm.walk()
    opening = walk.defect("sag", "tight", "minor")
    rm.walk("full").unchecked("sag")
    assert only(open_defects(folded(rm))).opening == opening


def test_two_faults_at_one_check_are_two_defects(rm):
    walk = rm.walk()
    walk.defect("sag", "slack", "major")
    walk.defect("sag", "tight", "minor")
    assert [d.fault for d in open_defects(folded(rm))] == ["slack", "tight"]


def test_spots_are_apart(rm):
    walk = rm.walk()
    walk.defect("tyre", "chunk", "minor", spot="1")
    walk.sound("tyre", spot="2")
    assert only(open_defects(folded(rm))).spot == "1"


def test_sound_speaks_of_every_fault_at_its_check(rm):
    walk = rm.walk()
    walk.defect("sag", "tight", "minor")
    walk.defect("sag", "worn", "advisory")
    rm.walk("cold", "2026-10-25").sound("sag")
    assert {d.closed.how for d in folded(rm).defects} == {"sound"}


def test_gone_speaks_of_its_own_fault_alone(rm):
    walk = rm.walk()
    tight = walk.defect("sag", "tight", "minor")
    walk.defect("sag", "worn", "advisory")
    rm.walk("cold", "2026-10-25").verdict("gone", "sag", tight)
    assert only(open_defects(folded(rm))).fault == "worn"


def test_a_verdict_finds_the_fault_of_the_defect_it_names(rm):
    tight = rm.walk().defect("sag", "tight", "minor")
    rm.walk("cold", "2026-10-25").verdict("worse", "sag", tight, severity="major")
    found = only(folded(rm).defects)
    assert (found.fault, found.severity, found.worse, len(found.sightings)) == ("tight", "major", True, 2)


def test_a_verdict_on_a_defect_that_has_not_arrived_is_kept(rm):
    rm.walk().verdict("same", "sag", "0199f5c2-7d10-7c3e-9a51-00000000dead", severity="major")
    assert only(folded(rm).defects).severity == "major"


def test_agreement_of_two_people_is_two_sightings_and_no_conflict(rm):
    tw = Phone("d-tw", "TW")
    first = rm.walk().defect("sag", "slack", "major", reading={"value": 60, "unit": "mm"})
    tw.walk().defect("sag", "slack", "major", reading={"value": 63, "unit": "mm"})
    state = folded(rm, tw)
    assert state.conflicts == ()
    assert (only(state.defects).opening, only(state.defects).seen_by) == (first, ("RM", "TW"))


def test_disagreement_on_one_round_says_who_saw_what_and_that_neither_knew(rm):
    tw = Phone("d-tw", "TW")
    rm.walk("cold").sound("sag")
    tw.walk("cold").defect("sag", "slack", "major")
    assert conflict(folded(rm, tw)).why == (
        "RM saw it sound at the cold round of 2026-10-18, TW saw it slack (major) at the same round; "
        "neither knew of the other"
    )
