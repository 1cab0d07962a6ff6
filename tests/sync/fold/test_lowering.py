"""Nobody without authority lowers: the gravest severity stands until a lead says otherwise."""

import pytest

from sync.fold.authority import gravest
from tests.sync.fold.shed import LATER, LATEST, Desk, Phone, folded, only, open_defects, shed


@pytest.fixture
def rm() -> Phone:
    return Phone("d-rm", "RM")


@pytest.fixture
def tw() -> Phone:
    return Phone("d-tw", "TW")


@pytest.fixture
def desk() -> Desk:
    return Desk("desk-1", "RM")


def test_the_gravest_severity_since_its_opening_stands(rm, tw):
    opening = rm.walk().defect("sag", "slack", "dangerous")
    tw.learn(rm).walk("cold", LATER).verdict("same", "sag", opening, severity="minor")
    found = only(folded(rm, tw).defects)
    assert (found.severity, found.severity_why) == ("dangerous", "was dangerous; only a lead lowers it")


@pytest.mark.parametrize("severity", ["advisory", "minor"])
@pytest.mark.parametrize("how", ["gone", "sound"])
def test_a_knowing_look_closes_what_is_advisory_or_minor(rm, tw, severity, how):
    opening = rm.walk().defect("sag", "tight", severity)
    walk = tw.learn(rm).walk("cold", LATER)
    walk.sound("sag") if how == "sound" else walk.verdict("gone", "sag", opening)
    closed = only(folded(rm, tw).defects).closed
    assert (closed.how, closed.by, closed.day) == (how, "TW", LATER)


@pytest.mark.parametrize("severity", ["major", "dangerous"])
@pytest.mark.parametrize("by", ["TW", "RM"])
def test_on_a_major_or_dangerous_one_it_means_to_confirm(rm, severity, by):
    looker = Phone("d-look", by)
    opening = rm.walk().defect("sag", "slack", severity)
    looker.learn(rm).walk("cold", LATER).verdict("gone", "sag", opening)
    found = only(open_defects(folded(rm, looker)))
    assert (found.status, found.severity) == ("to confirm", severity)
    assert found.to_confirm == (f"{by} saw it no longer slack at the cold round of {LATER}; a lead confirms that")


def test_seen_again_it_is_no_longer_to_confirm(rm, tw):
    opening = rm.walk().defect("sag", "slack", "major")
    tw.learn(rm).walk("cold", LATER).verdict("gone", "sag", opening)
    rm.learn(tw).walk("cold", LATEST).verdict("same", "sag", opening, severity="major")
    assert only(folded(rm, tw).defects).status == "open"


def test_a_repair_for_now_means_to_confirm_whatever_the_severity(rm, tw, desk):
    opening = rm.walk().defect("sag", "tight", "minor")
    tw.learn(rm)
    desk.learn(rm).rule(opening, temporary={"what": "shim", "until": "2026-11-30"})
    tw.walk("cold", LATER).sound("sag")
    found = only(open_defects(folded(rm, tw, desk)))
    assert (found.status, found.temporary.what) == ("to confirm", "shim")


def test_a_lead_closes_any_with_a_reason(rm, desk):
    opening = rm.walk().defect("sag", "slack", "dangerous")
    desk.learn(rm).rule(opening, closed={"reason": "wrong vehicle"})
    closed = only(folded(rm, desk).defects).closed
    assert (closed.how, closed.by, closed.reason) == ("closed by lead", "RM", "wrong vehicle")


def test_another_person_closes_only_what_is_minor(rm, desk):
    walk = rm.walk()
    grave, light = walk.defect("sag", "slack", "major"), walk.defect("sag", "tight", "minor")
    desk.learn(rm).rule(grave, by="TW", closed={"reason": "no"})
    desk.rule(light, by="TW", closed={"reason": "adjusted"})
    state = folded(rm, desk)
    assert (only(open_defects(state)).opening, only(open_defects(state)).status) == (grave, "to confirm")


def test_a_closing_that_did_not_know_of_it_closes_nothing(rm, tw, desk):
    opening = rm.walk().defect("sag", "slack", "major")
    late = tw.walk().defect("sag", "slack", "major")
    desk.learn(rm).rule(opening, closed={"reason": "adjusted"})
    found = only(open_defects(folded(rm, tw, desk)))
    assert late in {s.entry for s in found.sightings}


@pytest.mark.parametrize(("by", "is_open"), [("RM", False), ("LB", False), ("TW", True)])
def test_work_signed_off_closes_by_a_lead_or_who_may_sign_off_its_system(rm, desk, by, is_open):
    opening = rm.walk().defect("sag", "slack", "dangerous")
    desk.learn(rm).work(opening, "signed off", by=by)
    found = only(folded(rm, desk).defects)
    assert (found.closed is None) == is_open
    assert found.status == ("tested" if is_open else "open")


def test_who_signs_off_one_system_does_not_sign_off_another(rm, desk):
    opening = rm.walk().defect("pipe", "weep", "dangerous")
    desk.learn(rm).work(opening, "signed off", by="LB")
    assert only(folded(rm, desk).defects).closed is None


def test_authority_is_judged_by_the_entrys_own_edition(rm, desk):
    opening = rm.walk().defect("sag", "slack", "dangerous")
    desk.edition = "00000000"
    desk.learn(rm).rule(opening, closed={"reason": "adjusted"})
    assert only(folded(rm, desk).defects).closed is None


def test_a_lead_lowers_with_a_reason(rm, desk):
    opening = rm.walk().defect("sag", "slack", "dangerous")
    desk.learn(rm).rule(opening, severity={"to": "minor", "reason": "static display only"})
    found = only(folded(rm, desk).defects)
    assert (found.severity, found.severity_why) == ("minor", "RM ruled it minor: static display only")


def test_anybody_else_raises_and_does_not_lower(rm, desk):
    walk = rm.walk()
    low, high = walk.defect("sag", "slack", "minor"), walk.defect("sag", "tight", "dangerous")
    desk.learn(rm)
    desk.rule(low, by="TW", severity={"to": "major", "reason": "worse than it looks"})
    desk.rule(high, by="TW", severity={"to": "minor", "reason": "fine"})
    assert {d.fault: d.severity for d in folded(rm, desk).defects} == {"slack": "major", "tight": "dangerous"}


def test_what_the_lead_did_not_know_when_lowering_still_counts(rm, tw, desk):
    opening = rm.walk().defect("sag", "slack", "major")
    tw.walk().defect("sag", "slack", "dangerous")
    desk.learn(rm).rule(opening, severity={"to": "minor", "reason": "fine"})
    assert only(folded(rm, tw, desk).defects).severity == "dangerous"


def test_seen_worse_after_the_lead_lowered_it_raises_again(rm, tw, desk):
    opening = rm.walk().defect("sag", "slack", "dangerous")
    desk.learn(rm).rule(opening, severity={"to": "minor", "reason": "fine"})
    tw.learn(rm, desk).walk("cold", LATER).verdict("worse", "sag", opening, severity="major")
    assert only(folded(rm, tw, desk).defects).severity == "major"


def test_a_lead_who_takes_the_lowering_back_leaves_the_gravest(rm, desk):
    opening = rm.walk().defect("sag", "slack", "dangerous")
    desk.learn(rm).rule(opening, severity={"to": "minor", "reason": "fine"})
    desk.rule(opening, severity=None)
    assert only(folded(rm, desk).defects).severity == "dangerous"


def test_lowering_in_two_steps_by_a_helper_does_not_work(rm, tw, desk):
    opening = rm.walk().defect("sag", "slack", "dangerous")
    tw.learn(rm).walk("cold", LATER).verdict("same", "sag", opening, severity="minor")
    desk.learn(rm, tw).settle("sag", "slack", by="TW", result="defect", severity="minor")
    desk.rule(opening, by="TW", closed={"reason": "was only minor"})
    found = only(open_defects(folded(rm, tw, desk)))
    assert found.severity == "dangerous"


def test_a_published_rule_sets_a_floor_that_not_even_a_lead_goes_below(rm, desk):
    opening = rm.walk().defect("pipe", "weep", "minor")
    desk.learn(rm).rule(opening, severity={"to": "advisory", "reason": "a smear"})
    found = only(folded(rm, desk).defects)
    assert found.severity == "dangerous"
    assert "published rule: no fuel leak of any class" in found.severity_why


def test_below_the_floor_a_look_closes_nothing(rm, tw):
    rm.walk().defect("pipe", "weep", "minor")
    tw.learn(rm).walk("cold", LATER).sound("pipe")
    assert only(folded(rm, tw).defects).status == "to confirm"


def test_put_right_is_a_sighting_mended_at_once(rm):
    rm.walk().defect("sag", "tight", "minor", put_right=True)
    found = only(folded(rm).defects)
    assert (found.closed.how, len(found.sightings)) == ("put right", 1)


def test_put_right_on_a_major_one_is_to_confirm(rm):
    rm.walk().defect("sag", "slack", "major", put_right=True)
    found = only(open_defects(folded(rm)))
    assert (found.status, found.severity) == ("to confirm", "major")


@pytest.mark.parametrize("device", ["d-ab", "x-ab"])
def test_a_putting_right_and_a_reopening_unaware_of_each_other_are_a_conflict_whatever_the_devices_names(
    rm, device, desk
):
    opening = rm.walk().defect("sag", "tight", "minor")
    ab = Phone(device, "AB").learn(rm)
    ab.walk("cold", LATER).defect("sag", "tight", "advisory", put_right=True)
    desk.learn(rm).rule(opening, closed=None)
    assert [c.kind for c in folded(rm, ab, desk).conflicts] == ["before or after mending"]


@pytest.mark.parametrize("first", [True, False])
def test_what_somebody_saw_unaware_of_the_putting_right_is_a_conflict(rm, tw, first):
    rm.walk().defect("sag", "tight", "minor", put_right=first or None)
    tw.walk().defect("sag", "tight", "minor", put_right=None if first else True)
    state = folded(rm, tw)
    assert [c.kind for c in state.conflicts] == ["before or after mending"]
    assert len(open_defects(state)) == 1


def test_a_defect_without_severity_takes_the_faults_own(rm):
    rm.walk()._find("sag", None, result="defect", fault="slack")
    assert only(folded(rm).defects).severity == "major"


def test_an_escalation_moves_it_up_one_category(rm, desk):
    opening = rm.walk().defect("sag", "tight", "minor")
    desk.learn(rm).rule(opening, by="TW", escalated={"reason": "with the chunked tyres beside it"})
    found = only(folded(rm, desk).defects)
    assert (found.severity, found.escalated) == ("major", "with the chunked tyres beside it")
    assert found.severity_why == "moved up one category: with the chunked tyres beside it"


def test_an_escalated_defect_is_not_closed_by_a_look(rm, tw, desk):
    opening = rm.walk().defect("sag", "tight", "minor")
    desk.learn(rm).rule(opening, escalated={"reason": "together with the tyres"})
    tw.learn(rm, desk).walk("cold", LATER).sound("sag")
    assert only(folded(rm, tw, desk).defects).status == "to confirm"


def test_bars_follow_the_severity_in_force(rm, desk):
    opening = rm.walk().defect("sag", "slack", "major")
    assert only(folded(rm).defects).bars == ("drive",)
    desk.learn(rm).rule(opening, severity={"to": "dangerous", "reason": "sprocket"})
    assert only(folded(rm, desk).defects).bars == ("start", "drive")
    desk.rule(opening, severity={"to": "minor", "reason": "taken up"})
    assert only(folded(rm, desk).defects).bars == ()


def test_who_names_no_severity_and_knew_of_none_means_the_faults_own(rm, desk):
    desk.settle("sag", "slack", by="TW", result="defect")
    rm.walk().defect("sag", "slack", "minor")
    assert only(folded(rm, desk).defects).severity == "major"


def test_nobody_sheds_a_severity_by_forgetting_who_saw_it_first(rm, tw):
    ab = Phone("d-ab", "AB")
    opening = rm.walk().defect("sag", "slack", "dangerous")
    tw.learn(rm).walk("cold", LATER).verdict("same", "sag", opening, severity="minor")
    ab.knows = {"d-tw": tw.seq}
    ab.walk("cold", LATEST).sound("sag")
    assert only(open_defects(folded(rm, tw, ab))).severity == "dangerous"


def test_a_look_by_who_did_not_know_that_it_was_ruled_dangerous_does_not_close_it(rm, tw, desk):
    """A history that random ones once found: the sound knew of an advisory defect and not of the ruling."""
    opening = rm.walk().defect("sag", "tight", "advisory")
    desk.rule(opening, by="AB", severity={"to": "dangerous", "reason": "seen"})
    desk.rule(opening, by="AB", severity=None)
    other = Desk("desk-2", "TW").learn(rm)
    other.rule(opening, escalated=None)
    walk = tw.learn(rm).walk("before")
    for _ in range(4):
        walk.sound("sag")
    found = only(open_defects(folded(rm, tw, desk, other)))
    assert (found.fault, found.severity, found.status) == ("tight", "dangerous", "to confirm")


def test_a_look_by_who_did_not_know_of_a_graver_sighting_that_a_lead_closed_does_not_close_the_rest(rm, tw, desk):
    ab = Phone("d-ab", "AB")
    rm.walk().defect("sag", "slack", "advisory")
    grave = ab.walk().defect("sag", "slack", "dangerous")
    desk.learn(ab).rule(grave, closed={"reason": "taken up"})
    before = only(open_defects(folded(rm, ab, desk)))
    tw.learn(rm).walk("cold", LATER).sound("sag")
    found = only(open_defects(folded(rm, ab, desk, tw)))
    assert (before.severity, found.severity, found.status) == ("dangerous", "dangerous", "to confirm")


def test_a_ruling_by_who_knew_that_a_look_had_closed_it_opens_nothing(rm, tw, desk):
    opening = rm.walk().defect("sag", "tight", "advisory")
    tw.learn(rm).walk("cold", LATER).sound("sag")
    desk.learn(rm, tw).rule(opening, by="AB", severity={"to": "dangerous", "reason": "seen"})
    assert open_defects(folded(rm, tw, desk)) == []


def test_a_settlement_of_a_later_minor_sighting_does_not_close_an_earlier_major_one(rm, desk):
    """A history that random ones once found: who sounded it and saw it again had never known how grave it was."""
    ab, other = Phone("d-ab", "AB"), Desk("desk-2", "AB")
    opening = rm.walk().defect("sag", "slack", "major")
    walk = ab.walk("full")
    walk.defect("sag", "slack", "minor")
    walk.sound("sag")
    other.learn(rm, ab)
    again = ab.walk("hot", LATEST).verdict("same", "sag", opening, severity="minor")
    back = desk.learn(rm, ab).rule(again, by="TW", closed=None)
    other.settle("sag", "slack", choose=back)
    assert only(open_defects(folded(rm, ab, desk, other))).severity == "major"


def test_a_look_at_what_came_back_closes_nothing_while_a_graver_one_is_open_from_before(rm, tw, desk):
    ab = Phone("d-ab", "AB")
    first = rm.walk().defect("sag", "slack", "minor")
    ab.walk().defect("sag", "slack", "dangerous")
    desk.learn(rm).rule(first, closed={"reason": "taken up"})
    rm.learn(desk).walk("cold", LATER).defect("sag", "slack", "minor")
    tw.learn(rm, ab, desk).walk("cold", LATEST).sound("sag")
    found = only(open_defects(folded(rm, tw, ab, desk)))
    assert (found.severity, found.status, len(found.sightings)) == ("dangerous", "to confirm", 3)


def test_seen_again_without_a_severity_after_it_was_closed_it_is_the_faults_own_and_nobody_settles_it_milder(rm, desk):
    opening = rm.walk().defect("sag", "slack", "advisory")
    rm.walk("cold", LATER).sound("sag")
    rm.walk("cold", LATEST).verdict("same", "sag", opening)
    desk.learn(rm).settle("sag", "slack", by="TW", result="defect", severity="minor")
    assert only(open_defects(folded(rm, desk))).severity == "major"


def test_without_a_published_rule_there_is_no_floor():
    assert gravest() is None


def test_the_edition_names_a_lead():
    assert [p.initials for p in shed().people if p.lead] == ["RM"]
