"""Corrections: the same device takes back what it said, with all its effects."""

from tests.sync.fold.shed import LATER, Desk, Phone, conflict, folded, only, open_defects


def test_a_corrected_mark_is_as_if_never_said():
    rm = Phone("d-rm", "RM")
    walk = rm.walk()
    slip = walk.defect("sag", "slack", "dangerous")
    walk.sound("sag", corrects=slip)
    assert folded(rm).defects == ()


def test_a_correction_of_a_correction_stands_in_for_both():
    rm = Phone("d-rm", "RM")
    walk = rm.walk()
    first = walk.defect("sag", "slack", "dangerous")
    second = walk.defect("sag", "tight", "minor", corrects=first)
    walk.defect("sag", "worn", "advisory", corrects=second)
    assert [d.fault for d in folded(rm).defects] == ["worn"]


def test_a_slip_gone_taken_back_opens_the_defect_again():
    rm, tw = Phone("d-rm", "RM"), Phone("d-tw", "TW")
    opening = rm.walk().defect("sag", "tight", "minor")
    walk = tw.learn(rm).walk("cold", LATER)
    slip = walk.verdict("gone", "sag", opening)
    assert open_defects(folded(rm, tw)) == []
    walk.verdict("same", "sag", opening, corrects=slip)
    assert only(open_defects(folded(rm, tw))).episode == 1


def test_another_device_corrects_nothing():
    rm, tw = Phone("d-rm", "RM"), Phone("d-tw", "TW")
    opening = rm.walk().defect("sag", "slack", "major")
    tw.walk().sound("sag", corrects=opening)
    state = folded(rm, tw)
    assert only(open_defects(state)).opening == opening
    assert conflict(state).kind == "result"


def test_a_correction_of_what_its_device_wrote_later_counts_for_nothing():
    rm = Phone("d-rm", "RM")
    walk = rm.walk()
    later = "0199f5c2-7d10-7c3e-9a51-0000ffffffff"
    walk.sound("tyre", spot="1", corrects=later)
    walk.defect("sag", "slack", "major", id=later)
    assert only(folded(rm).defects).opening == later


def test_a_correction_that_arrives_before_what_it_corrects_still_holds():
    rm = Phone("d-rm", "RM")
    walk = rm.walk()
    slip = walk.defect("sag", "slack", "dangerous")
    walk.sound("sag", corrects=slip)
    start, wrong, right = rm.lines
    rm.lines = [start, right, wrong]
    assert folded(rm).defects == ()


def test_a_corrected_walk_gives_its_findings_the_right_day():
    rm = Phone("d-rm", "RM")
    walk = rm.walk("cold", "2026-10-17")
    walk.defect("sag", "tight", "minor")
    fields = {"walk": walk.id, "vehicle": "badger", "round": "cold", "day": "2026-10-18", "state": "started"}
    rm.write("walk", **fields, corrects=rm.ids[0])
    assert only(folded(rm).defects).first_day == "2026-10-18"


def test_work_and_rulings_follow_to_what_replaced_a_corrected_sighting():
    rm, desk = Phone("d-rm", "RM"), Desk("desk-1", "RM")
    walk = rm.walk()
    slip = walk.defect("sag", "tight", "minor")
    desk.learn(rm).rule(slip, owner="LB")
    desk.work(slip, "in hand")
    right = walk.defect("sag", "slack", "major", corrects=slip)
    found = only(folded(rm, desk).defects)
    assert (found.opening, found.owner, found.status) == (right, "LB", "in hand")
    assert slip in found.also


def test_rulings_stay_with_a_defect_that_others_saw_too():
    rm, tw, desk = Phone("d-rm", "RM"), Phone("d-tw", "TW"), Desk("desk-1", "RM")
    walk = rm.walk()
    first = walk.defect("sag", "tight", "minor")
    tw.walk().defect("sag", "tight", "minor")
    desk.learn(rm, tw).rule(first, owner="LB")
    walk.defect("sag", "slack", "major", corrects=first)
    assert {d.fault: d.owner for d in folded(rm, tw, desk).defects} == {"slack": "", "tight": "LB"}


def test_a_lead_voids_what_another_device_said_with_a_reason():
    rm, desk = Phone("d-rm", "RM"), Desk("desk-1", "RM")
    wrong = rm.walk().defect("sag", "slack", "dangerous")
    desk.learn(rm).rule(wrong, void={"reason": "that was the stoat"})
    assert folded(rm, desk).defects == ()


def test_nobody_else_voids():
    rm, desk = Phone("d-rm", "RM"), Desk("desk-1", "TW")
    wrong = rm.walk().defect("sag", "slack", "dangerous")
    desk.learn(rm).rule(wrong, void={"reason": "no"})
    assert only(folded(rm, desk).defects).severity == "dangerous"


def test_a_void_that_is_taken_back_brings_the_sighting_back():
    rm, desk = Phone("d-rm", "RM"), Desk("desk-1", "RM")
    opening = rm.walk().defect("sag", "slack", "dangerous")
    desk.learn(rm).rule(opening, void={"reason": "wrong vehicle"})
    desk.rule(opening, void=None)
    assert only(folded(rm, desk).defects).opening == opening


def test_a_lead_who_voids_a_correction_brings_back_what_it_took_back():
    rm, desk = Phone("d-rm", "RM"), Desk("desk-1", "RM")
    walk = rm.walk()
    opening = walk.defect("sag", "slack", "major")
    wrong = walk.sound("sag", corrects=opening)
    desk.learn(rm).rule(wrong, void={"reason": "pressed by mistake"})
    assert only(folded(rm, desk).defects).opening == opening


def test_at_a_desk_only_the_same_person_or_a_lead_takes_back_a_ruling():
    rm, desk = Phone("d-rm", "RM"), Desk("desk-1", "TW")
    opening = rm.walk().defect("sag", "tight", "minor")
    raised = desk.learn(rm).rule(opening, severity={"to": "dangerous", "reason": "idler cracked"})
    desk.say("ruling", by="AB", about=opening, set={"owner": "AB"}, corrects=raised)
    assert only(folded(rm, desk).defects).severity == "dangerous"
    desk.say("ruling", by="RM", about=opening, set={"owner": "AB"}, corrects=raised)
    assert only(folded(rm, desk).defects).severity == "minor"
