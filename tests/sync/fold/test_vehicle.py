"""Reports, perhaps-the-same, tags: what stands beside a vehicle's defects."""

import pytest

from sync.fold.pairs import groups
from tests.sync.fold.shed import LATER, Desk, Phone, folded, only


@pytest.fixture
def rm() -> Phone:
    return Phone("d-rm", "RM")


@pytest.fixture
def desk() -> Desk:
    return Desk("desk-1", "RM")


class TestReports:
    def test_a_report_has_no_severity_and_asks_for_a_look(self, rm):
        rm.report("pulls to the left", "downhill, hot")
        state = folded(rm)
        assert [(r.symptom, r.explained) for r in state.reports] == [("pulls to the left", "")]
        assert state.defects == ()

    def test_it_closes_when_a_ruling_says_which_defect_explains_it(self, rm, desk):
        report = rm.report("pulls to the left")
        opening = rm.walk().defect("sag", "slack", "major")
        desk.learn(rm).rule(report, explains=opening)
        assert folded(rm, desk).reports[0].explained == opening

    def test_or_about_the_defect_which_report_it_explains(self, rm, desk):
        report = rm.report("pulls to the left")
        opening = rm.walk().defect("sag", "slack", "major")
        desk.learn(rm).rule(opening, explains=report)
        assert folded(rm, desk).reports[0].explained == opening

    def test_a_defect_that_was_taken_back_explains_nothing(self, rm, desk):
        report = rm.report("pulls to the left")
        walk = rm.walk()
        slip = walk.defect("sag", "slack", "major")
        desk.learn(rm).rule(report, explains=slip)
        walk.sound("sag", corrects=slip)
        assert folded(rm, desk).reports[0].explained == ""

    def test_a_closed_ruling_alone_does_not_close_it(self, rm, desk):
        report = rm.report("pulls to the left")
        desk.learn(rm).rule(report, closed={"reason": "imagination"})
        assert folded(rm, desk).reports[0].explained == ""

    def test_it_closes_when_driven_again_under_the_same_conditions(self, rm, desk):
        rm.report("pulls to the left", "downhill, hot")
        desk.learn(rm).say("run", vehicle="badger", day=LATER, conditions="Downhill,  hot")
        assert folded(rm, desk).reports[0].explained == "driven again"

    @pytest.mark.parametrize("conditions", ["uphill, cold", None])
    def test_other_conditions_do_not(self, rm, desk, conditions):
        rm.report("pulls to the left", "downhill, hot")
        desk.learn(rm).say("run", vehicle="badger", day=LATER, conditions=conditions)
        assert folded(rm, desk).reports[0].explained == ""

    def test_a_run_by_somebody_who_did_not_know_the_report_does_not(self, rm, desk):
        desk.say("run", vehicle="badger", day=LATER, conditions="downhill, hot")
        rm.report("pulls to the left", "downhill, hot")
        assert folded(rm, desk).reports[0].explained == ""

    def test_who_is_asked_shows(self, rm, desk):
        report = rm.report("pulls to the left")
        desk.learn(rm).rule(report, ask={"who": "the driver"})
        assert folded(rm, desk).reports[0].ask == "the driver"


class TestPerhapsTheSame:
    def two(self, rm: Phone) -> tuple[str, str]:
        walk = rm.walk()
        return walk.defect("sag", "slack", "major"), walk.defect("right-track/sag", "slack", "major")

    def test_the_same_fault_on_the_other_side_is_offered(self, rm):
        one, other = self.two(rm)
        (pair,) = folded(rm).pairs
        assert (pair.first, pair.second, pair.joined) == (one, other, None)
        assert pair.why == "the same fault on the other side"

    def test_another_fault_on_the_other_side_is_not(self, rm):
        walk = rm.walk()
        walk.defect("sag", "slack", "major")
        walk.defect("right-track/sag", "tight", "minor")
        assert folded(rm).pairs == ()

    @pytest.mark.parametrize(("spot", "offered"), [("2", 1), ("3", 0)])
    def test_neighbouring_spots_are_offered(self, rm, spot, offered):
        walk = rm.walk()
        walk.defect("tyre", "chunk", "minor", spot="1")
        walk.defect("tyre", "chunk", "minor", spot=spot)
        assert len(folded(rm).pairs) == offered

    def test_two_faults_at_one_check_are_offered(self, rm):
        walk = rm.walk()
        walk.defect("sag", "slack", "major")
        walk.defect("sag", "tight", "minor")
        assert only(folded(rm).pairs).why == "at the same check"

    def test_something_else_at_a_defects_station_is_offered(self, rm):
        walk = rm.walk()
        walk.defect("lamp", "dark", "minor")
        walk.something_else("loose cable")
        assert only(folded(rm).pairs).why == "something else at the same station"

    def test_alike_texts_are_offered(self, rm):
        walk = rm.walk()
        walk.defect("lamp", "dark", "minor", note="cable chafed through behind the bracket")
        walk.defect("tyre", "chunk", "minor", spot="1", note="behind the bracket the cable chafed through")
        assert only(folded(rm).pairs).why == "alike in words"

    def test_short_texts_are_not_compared(self, rm):
        walk = rm.walk()
        walk.defect("lamp", "dark", "minor", note="bad")
        walk.defect("tyre", "chunk", "minor", spot="1", note="bad")
        assert folded(rm).pairs == ()

    def test_a_closed_defect_is_not_offered(self, rm):
        self.two(rm)
        walk = rm.walk("cold", LATER)
        walk.defect("tyre", "chunk", "minor", spot="1")
        walk.defect("tyre", "chunk", "minor", spot="2", put_right=True)
        assert len(folded(rm).pairs) == 1

    @pytest.mark.parametrize("joined", [True, False])
    def test_a_person_joins_or_parts(self, rm, desk, joined):
        pair = self.two(rm)
        desk.learn(rm).say("same", of=list(pair), joined=joined)
        assert only(folded(rm, desk).pairs).joined is joined

    def test_in_dispute_they_are_parted(self, rm, desk):
        pair = self.two(rm)
        other = Desk("desk-2", "TW").learn(rm)
        desk.learn(rm).say("same", of=list(pair), joined=True)
        other.say("same", of=list(pair), joined=False)
        state = folded(rm, desk, other)
        assert only(state.pairs).joined is False
        why = "RM joined them, TW parted them; neither knew of the other; parted meanwhile"
        assert only(state.conflicts).why == why

    def test_a_pair_nobody_offered_can_be_joined(self, rm, desk):
        walk = rm.walk()
        one, other = walk.defect("sag", "slack", "major"), walk.defect("lamp", "dark", "minor")
        desk.learn(rm).say("same", of=[one, other], joined=True)
        assert only(folded(rm, desk).pairs).joined is True

    def test_groups_are_connected_pairs(self, rm, desk):
        walk = rm.walk()
        one, other, third = (walk.defect("tyre", "chunk", "minor", spot=spot) for spot in ("1", "2", "3"))
        desk.learn(rm).say("same", of=[one, other], joined=True)
        desk.say("same", of=[other, third], joined=True)
        assert groups(folded(rm, desk).pairs) == [(one, other, third)]


class TestTags:
    def put_on(self, desk: Desk) -> str:
        return desk.say("tag", by="TW", vehicle="badger", tag="t-1", on=True, reason="fingers in the fan")

    def test_a_tag_stands_with_its_owner_and_reason(self, desk):
        self.put_on(desk)
        tag = only(folded(desk).tags)
        assert (tag.vehicle, tag.owner, tag.on, tag.reason) == ("badger", "TW", True, "fingers in the fan")

    @pytest.mark.parametrize(
        ("by", "reason", "left_on"),
        [("TW", None, False), ("RM", "asked TW", False), ("RM", None, True), ("AB", "x", True)],
    )
    def test_its_owner_or_a_lead_with_a_reason_takes_it_off(self, desk, by, reason, left_on):
        self.put_on(desk)
        desk.say("tag", by=by, vehicle="badger", tag="t-1", on=False, reason=reason)
        assert only(folded(desk).tags).on is left_on

    def test_taking_off_what_one_did_not_know_takes_nothing_off(self, desk):
        other = Desk("desk-2", "TW")
        other.say("tag", vehicle="badger", tag="t-1", on=False)
        self.put_on(desk)
        assert only(folded(desk, other).tags).on is True

    def test_each_tag_stands_by_itself(self, desk):
        self.put_on(desk)
        desk.say("tag", by="AB", vehicle="badger", tag="t-2", on=True)
        desk.say("tag", by="TW", vehicle="badger", tag="t-1", on=False)
        assert [(t.tag, t.on) for t in folded(desk).tags] == [("t-1", False), ("t-2", True)]

    def test_put_on_again_it_is_on(self, desk):
        self.put_on(desk)
        desk.say("tag", by="TW", vehicle="badger", tag="t-1", on=False)
        self.put_on(desk)
        assert only(folded(desk).tags).on is True

    def test_nobody_else_corrects_it_away(self, desk):
        tag = self.put_on(desk)
        desk.say("tag", by="AB", vehicle="badger", tag="t-1", on=False, corrects=tag)
        assert only(folded(desk).tags).on is True
