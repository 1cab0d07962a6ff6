"""Disagreement: which statements are in conflict, what stands meanwhile, and what ends it."""

import pytest

from tests.sync.fold.shed import DAY, LATER, Desk, Phone, conflict, folded, only, open_defects, sides


@pytest.fixture
def rm() -> Phone:
    return Phone("d-rm", "RM")


@pytest.fixture
def tw() -> Phone:
    return Phone("d-tw", "TW")


def test_result(rm, tw):
    rm.walk().sound("sag")
    slack = tw.walk().defect("sag", "slack", "major")
    state = folded(rm, tw)
    assert (conflict(state).kind, conflict(state).stands, conflict(state).defect) == ("result", slack, slack)
    assert only(open_defects(state)).conflicts == (conflict(state).id,)


def test_severity(rm, tw):
    rm.walk().defect("sag", "slack", "minor")
    graver = tw.walk().defect("sag", "slack", "major")
    state = folded(rm, tw)
    assert (conflict(state).kind, conflict(state).stands) == ("severity", graver)
    assert only(state.defects).severity == "major"


@pytest.mark.parametrize(("value", "kinds"), [(63, []), (63.5, ["reading"])])
def test_reading_within_and_beyond_the_tolerance(rm, tw, value, kinds):
    rm.walk().defect("sag", "slack", "major", reading={"value": 60, "unit": "mm"})
    tw.walk().defect("sag", "slack", "major", reading={"value": value, "unit": "mm"})
    assert [c.kind for c in folded(rm, tw).conflicts] == kinds


def test_readings_in_different_units_are_compared(rm, tw):
    rm.walk().defect("sag", "slack", "major", reading={"value": 50.8, "unit": "mm"})
    tw.walk().defect("sag", "slack", "major", reading={"value": 2, "unit": "in"})
    assert folded(rm, tw).conflicts == ()


def test_three_readings_agree_only_if_largest_minus_smallest_is_within_the_tolerance(rm, tw):
    ab = Phone("d-ab", "AB")
    for phone, value in ((rm, 60), (tw, 62), (ab, 64)):
        phone.walk().defect("sag", "slack", "major", reading={"value": value, "unit": "mm"})
    assert conflict(folded(rm, tw, ab)).kind == "reading"


def test_the_reading_farther_outside_its_limits_stands(rm, tw):
    rm.walk().defect("sag", "slack", "major", reading={"value": 10, "unit": "mm"})  # 5 below 15
    far = tw.walk().defect("sag", "slack", "major", reading={"value": 45, "unit": "mm"})  # 10 above 35
    state = folded(rm, tw)
    assert conflict(state).stands == far
    assert only(state.defects).reading.value == 45


def test_a_reading_that_cannot_be_is_no_claim_and_is_kept_at_its_sighting(rm, tw):
    rm.walk().defect("sag", "slack", "major", reading={"value": 61, "unit": "mm"})
    tw.walk().defect("sag", "slack", "major", reading={"value": -610, "unit": "mm"})
    state = folded(rm, tw)
    found = only(state.defects)
    assert state.conflicts == ()
    assert found.reading.value == 61
    assert sorted(s.reading.value for s in found.sightings) == [-610, 61]


def test_a_newer_reading_that_cannot_be_does_not_take_the_place_of_one_that_can(rm):
    rm.walk().defect("sag", "slack", "major", reading={"value": 61, "unit": "mm"})
    rm.walk().defect("sag", "slack", "major", reading={"value": 6100, "unit": "mm"})
    assert only(folded(rm).defects).reading.value == 61


def test_a_reading_that_cannot_be_is_shown_where_there_is_no_other(rm):
    rm.walk().defect("sag", "slack", "major", reading={"value": 6100, "unit": "mm"})
    assert only(folded(rm).defects).reading.value == 6100


def test_below_the_limit_counts_like_above(rm, tw):
    far = rm.walk().defect("sag", "slack", "major", reading={"value": 1, "unit": "mm"})  # 14 below 15
    tw.walk().defect("sag", "slack", "major", reading={"value": 45, "unit": "mm"})
    assert conflict(folded(rm, tw)).stands == far


def test_a_conflict_keeps_its_id_when_a_third_side_joins(rm, tw):
    rm.walk().sound("sag")
    tw.walk().defect("sag", "slack", "major")
    before = conflict(folded(rm, tw)).id
    ab = Phone("d-ab", "AB")
    ab.walk().defect("sag", "slack", "minor")
    after = conflict(folded(rm, tw, ab))
    assert (after.id, len(after.sides)) == (before, 3)


def test_each_side_is_shown_whole(rm, tw):
    photo = "ab" * 32
    rm.walk().sound("sag", note="looked straight")
    tw.walk().defect("sag", "slack", "major", photos=[photo], reading={"value": 61, "unit": "mm"})
    sound, slack = conflict(folded(rm, tw)).sides
    assert (sound.by, sound.round, sound.day, sound.note) == ("RM", "cold", DAY, "looked straight")
    assert (slack.photos, slack.reading.value, slack.at[:10]) == ((photo,), 61, "2026-10-18")


class TestOccasions:
    def test_earlier_absent_and_later_present_is_what_running_does(self, rm, tw):
        rm.walk("before").sound("sag")
        tw.walk("hot").defect("sag", "slack", "major")
        state = folded(rm, tw)
        assert state.conflicts == ()
        assert only(state.defects).severity == "major"

    def test_an_absent_that_did_not_know_of_an_open_defect_never_closes_it(self, rm, tw):
        opening = rm.walk("before").defect("sag", "tight", "advisory")
        tw.walk("cold").sound("sag")
        state = folded(rm, tw)
        assert conflict(state).kind == "closing"
        assert only(open_defects(state)).opening == opening

    @pytest.mark.parametrize("other", ["before", "hot", "cold", "full"])
    def test_full_is_the_same_occasion_as_any_round_of_its_day(self, rm, tw, other):
        rm.walk("full").sound("sag")
        tw.walk(other).defect("sag", "slack", "major")
        assert conflict(folded(rm, tw)).kind == "result"

    def test_full_of_another_day_is_another_occasion(self, rm, tw):
        rm.walk("full", DAY).sound("sag")
        tw.walk("before", LATER).defect("sag", "slack", "major")
        assert folded(rm, tw).conflicts == ()

    @pytest.mark.parametrize("days", [(DAY, LATER), (LATER, DAY)])
    def test_severity_on_different_occasions_is_listed_as_changed_and_the_safer_stands(self, rm, tw, days):
        graver = rm.walk("cold", days[0]).defect("sag", "slack", "major")
        tw.walk("cold", days[1]).defect("sag", "slack", "minor")
        state = folded(rm, tw)
        assert (conflict(state).kind, conflict(state).stands) == ("changed", graver)
        assert only(state.defects).severity == "major"

    def test_a_finding_without_its_walk_is_on_no_occasion_and_disagrees_at_once(self, rm, tw):
        rm.walk("before").sound("sag")
        walk = tw.walk("hot")
        walk.defect("sag", "slack", "major", walk=None)
        assert conflict(folded(rm, tw)).kind == "result"


class TestEnding:
    def disagree(self, rm: Phone, tw: Phone, severity: str = "major") -> tuple[str, str]:
        return rm.walk().sound("sag"), tw.walk().defect("sag", "slack", severity)

    def test_a_settlement_that_knew_both_ends_it(self, rm, tw):
        sound, _ = self.disagree(rm, tw)
        desk = Desk("desk-1", "RM").learn(rm, tw)
        desk.settle("sag", "slack", choose=sound)
        state = folded(rm, tw, desk)
        assert state.conflicts == ()
        assert only(state.defects).closed.how == "settled"

    def test_a_settlement_for_the_defect_leaves_it_open_without_conflict(self, rm, tw):
        _, slack = self.disagree(rm, tw)
        desk = Desk("desk-1", "RM").learn(rm, tw)
        desk.settle("sag", "slack", choose=slack)
        state = folded(rm, tw, desk)
        assert state.conflicts == ()
        assert (only(open_defects(state)).opening, only(state.defects).severity) == (slack, "major")

    def test_a_settlement_can_give_the_outcome_itself(self, rm, tw):
        self.disagree(rm, tw)
        desk = Desk("desk-1", "RM").learn(rm, tw)
        desk.settle("sag", "slack", result="defect", severity="minor", reading={"value": 37, "unit": "mm"})
        state = folded(rm, tw, desk)
        assert state.conflicts == ()
        assert (only(state.defects).severity, only(state.defects).reading.value) == ("minor", 37)

    def test_a_settlement_that_did_not_know_a_side_leaves_it_open(self, rm, tw):
        sound, slack = self.disagree(rm, tw)
        desk = Desk("desk-1", "RM").learn(rm)
        settle = desk.settle("sag", "slack", choose=sound)
        assert sides(conflict(folded(rm, tw, desk))) == {settle, slack}

    def test_a_settlement_of_something_that_has_not_arrived_says_nothing(self, rm, tw):
        self.disagree(rm, tw)
        desk = Desk("desk-1", "RM").learn(rm, tw)
        desk.settle("sag", "slack", choose="0199f5c2-7d10-7c3e-9a51-00000000dead")
        assert len(folded(rm, tw, desk).conflicts) == 1

    def test_a_settlement_that_chose_what_was_taken_back_says_nothing_however_it_came_to_choose_it(self, rm, tw):
        _, slack = self.disagree(rm, tw)
        desk = Desk("desk-1", "RM").learn(rm, tw)
        first = desk.settle("sag", "slack", choose=slack)
        desk.settle("sag", "slack", choose=first)
        assert only(open_defects(folded(rm, tw, desk))).severity == "major"
        tw.walk().sound("lamp", corrects=slack)
        assert folded(rm, tw, desk).defects == ()

    def test_a_late_statement_the_settler_did_not_know_reopens_it_where_it_disagrees(self, rm, tw):
        sound, _ = self.disagree(rm, tw)
        desk = Desk("desk-1", "RM").learn(rm, tw)
        settle = desk.settle("sag", "slack", choose=sound)
        ab = Phone("d-ab", "AB")
        late = ab.walk().defect("sag", "slack", "major")
        assert sides(conflict(folded(rm, tw, desk, ab))) == {settle, late}

    def test_a_late_statement_that_agrees_with_the_settlement_does_not(self, rm, tw):
        _, slack = self.disagree(rm, tw)
        desk = Desk("desk-1", "RM").learn(rm, tw)
        desk.settle("sag", "slack", choose=slack)
        ab = Phone("d-ab", "AB")
        ab.walk().defect("sag", "slack", "major")
        assert folded(rm, tw, desk, ab).conflicts == ()

    def test_a_third_look_that_knew_both_sides_does_not_end_it(self, rm, tw):
        both = self.disagree(rm, tw, "minor")
        ab = Phone("d-ab", "AB").learn(rm, tw)
        ab.walk("cold", LATER).sound("sag")
        state = folded(rm, tw, ab)
        assert sides(conflict(state)) == set(both)
        assert only(open_defects(state)).severity == "minor"

    def test_two_settlements_unaware_of_each_other_are_a_conflict_of_their_own(self, rm, tw):
        sound, slack = self.disagree(rm, tw)
        one, other = Desk("desk-1", "RM").learn(rm, tw), Desk("desk-2", "RM").learn(rm, tw)
        both = {one.settle("sag", "slack", choose=sound), other.settle("sag", "slack", choose=slack)}
        state = folded(rm, tw, one, other)
        assert sides(conflict(state)) == both
        assert len(open_defects(state)) == 1

    def test_the_same_device_that_looks_again_is_compared_by_its_newer_look(self, rm, tw):
        self.disagree(rm, tw)
        rm.walk().defect("sag", "slack", "major")
        assert folded(rm, tw).conflicts == ()

    def test_a_correction_that_takes_the_disagreement_back_ends_it(self, rm, tw):
        sound, _ = self.disagree(rm, tw)
        rm.walk().defect("sag", "slack", "major", corrects=sound)
        assert folded(rm, tw).conflicts == ()

    def test_a_closing_with_authority_ends_it(self, rm, tw):
        _, slack = self.disagree(rm, tw)
        desk = Desk("desk-1", "LB").learn(rm, tw)
        desk.work(slack, "signed off")
        state = folded(rm, tw, desk)
        assert state.conflicts == ()
        assert only(state.defects).closed.how == "signed off"

    def test_a_settlement_by_one_who_may_not_lower_leaves_it_open_and_says_so(self, rm, tw):
        sound, _ = self.disagree(rm, tw)
        desk = Desk("desk-1", "TW").learn(rm, tw)
        desk.settle("sag", "slack", choose=sound)
        found = conflict(folded(rm, tw, desk))
        assert "TW settled it for the milder, which a lead may and TW may not" in found.why

    def test_a_leads_word_on_the_severity_does_not_say_whether_it_is_there(self, rm, tw):
        _, slack = self.disagree(rm, tw)
        desk = Desk("desk-1", "RM").learn(rm, tw)
        desk.rule(slack, severity={"to": "minor", "reason": "static"})
        assert conflict(folded(rm, tw, desk)).kind == "result"

    def test_a_leads_word_on_the_severity_ends_a_dispute_over_it(self, rm, tw):
        slack = rm.walk().defect("sag", "slack", "minor")
        tw.walk().defect("sag", "slack", "dangerous")
        desk = Desk("desk-1", "RM").learn(rm, tw)
        desk.rule(slack, severity={"to": "major", "reason": "seen together"})
        state = folded(rm, tw, desk)
        assert state.conflicts == ()
        assert only(state.defects).severity == "major"

    def test_anybody_settles_for_the_safer(self, rm, tw):
        _, slack = self.disagree(rm, tw)
        desk = Desk("desk-1", "TW").learn(rm, tw)
        desk.settle("sag", "slack", choose=slack)
        assert folded(rm, tw, desk).conflicts == ()

    def test_anybody_settles_what_is_minor(self, rm, tw):
        sound, _ = self.disagree(rm, tw, "minor")
        desk = Desk("desk-1", "TW").learn(rm, tw)
        desk.settle("sag", "slack", choose=sound)
        state = folded(rm, tw, desk)
        assert state.conflicts == ()
        assert open_defects(state) == []
