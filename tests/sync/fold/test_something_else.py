"""Something else and what fits no place: shown as such, placed by a person, never dropped."""

import pytest

from builder.fleet import Check, Fault
from tests.sync.fold.keeper import Keeper
from tests.sync.fold.shed import (
    LATER,
    SAG,
    WHEELS,
    Desk,
    Phone,
    conflict,
    edition_of,
    folded,
    logged,
    only,
    open_defects,
    shed,
    template,
)


@pytest.fixture
def rm() -> Phone:
    return Phone("d-rm", "RM")


@pytest.fixture
def desk() -> Desk:
    return Desk("desk-1", "RM")


def test_it_is_a_line_of_its_own_at_its_station(rm):
    opening = rm.walk().something_else("bird's nest in the air intake")
    found = only(folded(rm).defects)
    assert (found.opening, found.placing, found.station_name) == (opening, "something else", "Nose")
    assert (found.fault_name, found.severity) == ("bird's nest in the air intake", "minor")


def test_two_of_them_are_two_lines(rm):
    walk = rm.walk()
    walk.something_else("bird's nest in the air intake")
    walk.something_else("bird's nest in the air intake")
    assert len(folded(rm).defects) == 2


def test_a_verdict_finds_it(rm):
    opening = rm.walk().something_else("squeak")
    rm.walk("cold", LATER).verdict("gone", None, opening)
    assert only(folded(rm).defects).closed.how == "gone"


def test_placed_by_a_person_it_is_a_sighting_of_that_fault(rm, desk):
    tw = Phone("d-tw", "TW")
    rm.walk().something_else("track hangs down", severity="major")
    opening = tw.walk().defect("sag", "slack", "major")
    nest = rm.ids[1]
    desk.learn(rm, tw).rule(nest, placed={"check": "left-track/sag", "fault": "slack"})
    found = only(folded(rm, tw, desk).defects)
    assert {s.entry for s in found.sightings} == {nest, opening}
    assert (found.placing, found.fault_name) == ("check", "Slack")


def test_placed_without_a_fault_it_keeps_its_own_words_at_that_check(rm, desk):
    opening = rm.walk().something_else("track hangs down")
    desk.learn(rm).rule(opening, placed={"check": "left-track/sag"})
    found = only(folded(rm, desk).defects)
    assert (found.check, found.fault_name, found.placing) == ("left-track/sag", "track hangs down", "check")


def test_a_sound_at_the_check_it_was_placed_at_closes_it(rm, desk):
    opening = rm.walk().something_else("track hangs down")
    desk.learn(rm).rule(opening, placed={"check": "left-track/sag"})
    rm.learn(desk).walk("cold", LATER).sound("sag")
    assert only(folded(rm, desk).defects).closed.how == "sound"


def test_a_sound_by_one_who_did_not_know_where_it_was_placed_does_not(rm, desk):
    opening = rm.walk().something_else("track hangs down")
    desk.learn(rm).rule(opening, placed={"check": "left-track/sag"})
    rm.walk("cold", LATER).sound("sag")
    state = folded(rm, desk)
    assert len(open_defects(state)) == 1
    assert [c.kind for c in state.conflicts] == ["closing"]


def test_a_closing_from_before_it_was_placed_does_not_close_it(rm, desk):
    opening = rm.walk().defect("sag", "slack", "major")
    nest = rm.walk().something_else("track hangs down", severity="dangerous")
    desk.learn(rm).rule(opening, closed={"reason": "adjusted"})
    desk.rule(nest, by="TW", placed={"check": "left-track/sag", "fault": "slack"})
    assert only(open_defects(folded(rm, desk))).severity == "dangerous"


def test_only_a_lead_moves_what_was_found_at_a_check(rm, desk):
    weep = rm.walk().defect("pipe", "weep", "minor")
    desk.learn(rm).rule(weep, by="TW", placed={"check": "nose/lamp", "fault": "dark"})
    assert only(folded(rm, desk).defects).check == "nose/pipe"
    desk.rule(weep, placed={"check": "nose/lamp", "fault": "dark"})
    assert only(folded(rm, desk).defects).check == "nose/lamp"


def test_placings_in_dispute_leave_it_where_it_was(rm, desk):
    other = Desk("desk-2", "TW")
    opening = rm.walk().something_else("track hangs down")
    desk.learn(rm).rule(opening, by="LB", placed={"check": "left-track/sag"})
    other.learn(rm).rule(opening, placed={"check": "left-track/tyre", "spot": "1"})
    state = folded(rm, desk, other)
    assert only(state.defects).placing == "something else"
    assert [c.field for c in state.conflicts] == ["placed"]


@pytest.mark.parametrize("knows", [True, False])
@pytest.mark.parametrize("elsewhere", [None, {"check": "nose/lamp"}])
def test_from_a_leak_check_with_a_published_floor_only_a_lead_takes_it_away(rm, desk, knows, elsewhere):
    other = Desk("desk-2", "TW").learn(rm)
    opening = rm.walk().something_else("smell of fuel")
    desk.learn(rm).rule(opening, by="LB", placed={"check": "nose/pipe"})
    if knows:
        other.learn(desk)
    other.learn(rm).rule(opening, placed=elsewhere)
    found = only(folded(rm, desk, other).defects)
    assert (found.check, found.severity) == ("nose/pipe", "dangerous")
    desk.learn(other).rule(opening, by="RM", placed=elsewhere)
    assert only(folded(rm, desk, other).defects).check != "nose/pipe"


def test_what_stands_of_placings_in_dispute_is_said(rm, desk):
    other = Desk("desk-2", "TW")
    opening = rm.walk().something_else("smell of fuel")
    placed = desk.learn(rm).rule(opening, by="LB", placed={"check": "nose/pipe"})
    other.learn(rm).rule(opening, placed=None)
    found = conflict(folded(rm, desk, other))
    assert (found.field, found.stands, "counts as not said" in found.why) == ("placed", placed, False)


@pytest.mark.parametrize("knows", [True, False])
def test_nobody_but_a_lead_undoes_a_leads_placing(rm, desk, knows):
    opening = rm.walk().something_else("track hangs down")
    desk.learn(rm).rule(opening, placed={"check": "left-track/sag"})
    other = Desk("desk-2", "TW").learn(rm)
    if knows:
        other.learn(desk)
    other.rule(opening, placed={"check": "left-track/sag", "fault": "slack"})
    found = only(folded(rm, desk, other).defects)
    assert (found.check, found.fault_name) == ("left-track/sag", "track hangs down")


def test_a_closing_of_that_very_one_closes_it_wherever_it_is_placed_later(rm, desk):
    opening = rm.walk().something_else("track hangs down", severity="dangerous")
    desk.learn(rm).rule(opening, closed={"reason": "taken up"})
    desk.rule(opening, placed={"check": "left-track/sag", "fault": "slack"})
    assert open_defects(folded(rm, desk)) == []


def test_who_placed_it_places_it_anew(rm, desk):
    opening = rm.walk().something_else("track hangs down")
    desk.learn(rm).rule(opening, by="TW", placed={"check": "nose/lamp"})
    desk.rule(opening, by="TW", placed={"check": "left-track/sag"})
    assert only(folded(rm, desk).defects).check == "left-track/sag"


@pytest.mark.parametrize(
    ("check", "spot", "fault"),
    [("left-track/flux", None, "slack"), ("left-track/tyre", "9", "chunk"), ("left-track/sag", None, "bewitched")],
)
def test_an_unknown_check_spot_or_fault_is_shown_as_not_placed(rm, check, spot, fault):
    rm.walk().defect(check, fault, "major", spot=spot)
    assert only(folded(rm).defects).placing == "not placed"


def test_an_unknown_vehicle_is_shown_as_not_placed(rm):
    rm.walk(vehicle="walrus").defect("sag", "slack", "major")
    found = only(folded(rm).defects)
    assert (found.vehicle, found.placing) == ("walrus", "not placed")


def test_what_is_not_placed_is_placed_by_a_person(rm, desk):
    opening = rm.walk().defect("left-track/flux", "slack", "major")
    desk.learn(rm).rule(opening, placed={"check": "left-track/sag", "fault": "slack"})
    assert only(folded(rm, desk).defects).fault_name == "Slack"


RUN = Check(
    id="run",
    ask="Run of the top track",
    rounds=("cold",),
    formerly=("left-track/sag",),
    fault=(Fault(id="slack", name="Hangs", severity="major"),),
)
RENAMED = template(left=(RUN, WHEELS))
DROPPED = template(left=(WHEELS,))


def test_a_renamed_check_keeps_its_findings(rm):
    edition = edition_of(RENAMED)
    rm.walk().defect("sag", "slack", "major")
    found = only(folded(rm, editions=[edition], adopted=edition).defects)
    assert (found.check, found.fault_name, found.placing) == ("left-track/run", "Hangs", "check")


def test_findings_under_both_names_are_of_one_place(rm):
    edition = edition_of(RENAMED)
    rm.walk().defect("sag", "slack", "minor")
    tw = Phone("d-tw", "TW", edition).learn(rm)
    tw.walk("cold", LATER).sound("left-track/run")
    assert open_defects(folded(rm, tw, editions=[edition], adopted=edition)) == []


def test_a_check_renamed_twice_is_followed_through_the_edition_between(rm):
    between = edition_of(RENAMED)
    last = edition_of(template(left=(RUN.model_copy(update={"id": "top", "formerly": ("left-track/run",)}), WHEELS)))
    rm.walk().defect("sag", "slack", "major")
    found = only(folded(rm, editions=[between, last], adopted=last).defects)
    assert found.check == "left-track/top"


def test_a_check_that_is_gone_is_described_by_the_entrys_own_edition(rm):
    edition = edition_of(DROPPED)
    rm.walk().defect("sag", "slack", "major")
    found = only(folded(rm, editions=[edition], adopted=edition).defects)
    assert (found.check_name, found.fault_name, found.placing) == ("Sag of the top run", "Slack", "check")


def test_a_fault_that_is_gone_is_named_by_the_entrys_own_edition(rm):
    edition = edition_of(template(left=(SAG.model_copy(update={"fault": SAG.fault[:1]}), WHEELS)))
    rm.walk().defect("sag", "tight", "minor")
    found = only(folded(rm, editions=[edition], adopted=edition).defects)
    assert (found.fault_name, found.placing) == ("Tight", "check")


def test_settlements_follow_a_renamed_check(rm, desk):
    edition = edition_of(RENAMED)
    tw = Phone("d-tw", "TW")
    rm.walk().sound("sag")
    slack = tw.walk().defect("sag", "slack", "major")
    desk.learn(rm, tw).settle("sag", "slack", choose=slack)
    assert folded(rm, tw, desk, editions=[edition], adopted=edition).conflicts == ()


def test_a_settlement_where_nothing_was_found_follows_a_check_renamed_later(desk):
    edition = edition_of(RENAMED)
    keeper = Keeper({e.fingerprint: e for e in (shed(), edition)}, shed().fingerprint)
    desk.settle("sag", "slack", result="defect", severity="major")
    keeper.take_in(logged(desk))
    desk.adopt(edition)
    keeper.take_in(logged(desk))
    assert [d.check for d in keeper.state().defects] == ["left-track/run"]
