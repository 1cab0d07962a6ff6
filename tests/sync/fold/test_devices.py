"""Clones, clocks, adoption, redaction, walks: what concerns devices and the log itself."""

import msgspec
import pytest

from builder.fleet import Fault
from sync.fold.clones import find_clones
from sync.fold.redacting import redacted_body
from tests.sync.fold.shed import (
    DAY,
    LAMP,
    LATER,
    PIPE,
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
    sides,
    template,
)


@pytest.fixture
def rm() -> Phone:
    return Phone("d-rm", "RM")


@pytest.fixture
def desk() -> Desk:
    return Desk("desk-1", "RM")


class TestClones:
    def cloned(self) -> tuple[Phone, Phone]:
        """A phone and its copy, both writing on from seq 2."""
        one, copy = Phone("d-rm", "RM"), Phone("d-rm", "TW")
        start = one.walk()
        copy.lines, copy.ids = list(one.lines), list(one.ids)
        start.defect("sag", "slack", "major")
        Phone.walk(copy).phone.write("walk", walk=start.id, vehicle="badger", round="cold", day=DAY, state="finished")
        return one, copy

    def test_two_contents_under_one_seq_are_both_kept_and_listed(self):
        one, copy = Phone("d-rm", "RM"), Phone("d-rm", "RM")
        slack = one.walk().defect("sag", "slack", "major")
        sound = copy.walk().sound("sag")
        state = folded(one, copy)
        assert {(c.device, c.seq) for c in state.clones} == {("d-rm", 1), ("d-rm", 2)}
        assert sides(conflict(state)) == {slack, sound}
        assert only(open_defects(state)).opening == slack

    def test_one_id_with_two_contents_is_listed_and_both_count(self):
        one, other = Phone("d-rm", "RM"), Phone("d-tw", "TW")
        slack = one.walk().defect("sag", "slack", "major")
        other.walk().defect("sag", "tight", "minor", id=slack)
        state = folded(one, other)
        assert [(c.seq, c.entries) for c in state.clones] == [(0, (slack, slack))]
        assert [d.fault for d in state.defects] == ["slack", "tight"]

    def test_what_a_clone_wrote_before_the_copy_is_known_as_before(self):
        one, copy = self.cloned()
        tw = Phone("d-tw", "TW")
        tw.knows = {"d-rm": 1}
        assert folded(one, copy, tw).clones

    def test_a_number_does_not_say_which_of_two_was_known(self):
        one, copy = Phone("d-rm", "RM"), Phone("d-rm", "RM")
        one.walk().defect("sag", "tight", "minor")
        copy.walk().defect("tyre", "chunk", "minor", spot="1")
        tw = Phone("d-tw", "TW")
        tw.knows = {"d-rm": 2}
        tw.walk("cold", LATER).sound("sag")
        assert len(open_defects(folded(one, copy, tw))) == 2

    def test_an_id_in_knows_says_which(self):
        one, copy = Phone("d-rm", "RM"), Phone("d-rm", "RM")
        tight = one.walk().defect("sag", "tight", "minor")
        copy.walk().defect("tyre", "chunk", "minor", spot="1")
        tw = Phone("d-tw", "TW")
        tw.knows = {"d-rm": 2, tight: 2}
        tw.walk("cold", LATER).sound("sag")
        assert [d.fault for d in open_defects(folded(one, copy, tw))] == ["chunk"]

    def test_a_settlement_that_names_both_sides_by_id_ends_a_clones_conflict(self, desk):
        one, copy = Phone("d-rm", "RM"), Phone("d-rm", "RM")
        slack = one.walk().defect("sag", "slack", "major")
        sound = copy.walk().sound("sag")
        assert len(folded(one, copy).conflicts) == 1
        desk.settle("sag", "slack", choose=sound, knows={"d-rm": 2})
        assert len(folded(one, copy, desk).conflicts) == 1
        desk.settle("sag", "slack", choose=sound, knows={slack: 2, sound: 2})
        assert folded(one, copy, desk).conflicts == ()

    def test_an_id_that_two_contents_share_is_not_taken_back_by_it(self):
        one, other = Phone("d-rm", "RM"), Phone("d-tw", "TW")
        walk = one.walk()
        slack = walk.defect("sag", "slack", "major")
        other.walk().defect("sag", "tight", "minor", id=slack)
        walk.sound("tyre", spot="1", corrects=slack)
        assert len(folded(one, other).defects) == 2

    def test_a_delivery_twice_is_no_clone(self, rm):
        rm.walk().sound("sag")
        assert folded(rm, rm).clones == ()

    def test_find_clones_tells_a_shared_id_of_one_device_by_its_first_seq(self):
        found = find_clones([("d", 3, "x", "h1"), ("d", 5, "x", "h2"), ("d", 6, "y", "h3")])
        assert [(c.device, c.seq, c.hashes) for c in found] == [("d", 3, ("h1", "h2"))]


class TestClocks:
    @pytest.mark.parametrize(("offset", "flagged"), [(300, False), (301, True), (-301, True), (86_400, True)])
    def test_past_five_minutes_it_is_flagged(self, desk, offset, flagged):
        desk.say("clock", of="d-rm", offset_s=offset)
        clock = only(folded(desk).clocks)
        assert (clock.device, clock.offset_s, clock.flagged) == ("d-rm", offset, flagged)

    def test_the_newest_measurement_counts_and_of_two_unaware_the_worse(self, desk):
        desk.say("clock", of="d-rm", offset_s=900)
        desk.say("clock", of="d-rm", offset_s=2)
        assert only(folded(desk).clocks).offset_s == 2
        other = Desk("desk-2", "RM")
        other.say("clock", of="d-rm", offset_s=-40)
        assert only(folded(desk, other).clocks).offset_s == -40


class TestAdoption:
    def other(self):
        return edition_of(template(left=(SAG.model_copy(update={"ask": "Sag, measured"}), WHEELS)))

    def third(self):
        dim = LAMP.model_copy(update={"fault": (Fault(id="dark", name="Dim", severity="minor"),)})
        return edition_of(template(nose=(PIPE, dim)))

    def test_an_adopted_edition_is_in_force(self, rm, desk):
        rm.walk().defect("sag", "slack", "major")
        desk.edition = self.other().fingerprint
        desk.say("adopt")
        state = folded(rm, desk, editions=[self.other()])
        assert (state.edition, only(state.defects).check_name) == (self.other().fingerprint, "Sag, measured")

    def test_a_later_one_that_knew_the_earlier_replaces_it(self, desk):
        for edition in (self.other(), shed()):
            desk.edition = edition.fingerprint
            desk.say("adopt")
        assert folded(desk, editions=[self.other()]).adopted == (shed().fingerprint,)

    def test_of_two_unaware_of_each_other_the_smallest_is_used_and_both_are_listed(self, desk):
        other = Desk("desk-2", "RM")
        desk.edition, other.edition = self.other().fingerprint, self.third().fingerprint
        desk.say("adopt")
        other.say("adopt")
        state = folded(desk, other, editions=[self.other(), self.third()])
        assert state.adopted == tuple(sorted([desk.edition, other.edition]))
        assert state.edition == min(state.adopted)

    def test_one_whose_edition_is_not_at_hand_waits(self, desk):
        desk.edition = "00000000"
        desk.say("adopt")
        assert folded(desk).edition == shed().fingerprint


class TestRedaction:
    def test_it_takes_note_name_and_photos_and_leaves_what_was_seen(self, rm, desk):
        photo = "ab" * 32
        opening = rm.walk().defect("sag", "slack", "major", note="ask Harry", photos=[photo, "cd" * 32])
        desk.learn(rm).say("redact", entry=opening, fields=["note", "by"], photos=[photo], reason="his wish")
        found = only(folded(rm, desk).defects)
        assert (found.note, found.photos, found.seen_by) == ("", ("cd" * 32,), ("(redacted)",))
        assert (found.severity, found.opening) == ("major", opening)

    def test_what_decides_cannot_be_redacted(self, rm, desk):
        opening = rm.walk().defect("sag", "slack", "major")
        desk.learn(rm).say("redact", entry=opening, fields=["severity", "result", "fault"], reason="no")
        assert only(folded(rm, desk).defects).severity == "major"

    def test_below_a_ruling_the_signature_stays(self, rm, desk):
        opening = rm.walk().defect("sag", "slack", "major")
        closed = desk.learn(rm).rule(opening, closed={"reason": "adjusted"})
        desk.say("redact", entry=closed, fields=["by"], reason="no")
        assert only(folded(rm, desk).defects).closed.by == "RM"

    def test_a_report_keeps_its_line(self, rm, desk):
        report = rm.report("Harry says it pulls")
        desk.say("redact", entry=report, fields=["symptom"], reason="his wish")
        assert folded(rm, desk).reports[0].symptom == "(redacted)"

    def test_a_run_without_its_words_answers_no_report(self, rm, desk):
        rm.report("pulls to the left", "hot")
        run = rm.write("run", vehicle="badger", day=DAY, conditions="hot")
        assert folded(rm, desk).reports[0].explained == "driven again"
        desk.learn(rm).redact(run, "conditions")
        assert folded(rm, desk).reports[0].explained == ""

    def test_no_side_of_a_dispute_keeps_the_words(self, rm, desk):
        other = Desk("desk-2", "TW").learn(rm)
        opening = rm.walk().defect("sag", "slack", "major")
        work = desk.learn(rm).work(opening, "mended", note="Harry did it")
        other.learn(rm).work(opening, "in hand")
        desk.redact(work, "note")
        assert "Harry" not in repr(folded(rm, desk, other))

    def test_what_is_left_of_its_line_is_the_same_but_for_what_was_taken(self, rm, desk):
        photo, left = "ab" * 32, "cd" * 32
        opening = rm.walk().defect("sag", "slack", "major", note="ask Harry", photos=[photo, left])
        desk.redact(opening, "note", "by", "severity", "how", photos=(photo,))
        found, redact = (one.entry for one in logged(rm, desk) if one.entry.id in (opening, desk.ids[-1]))
        body = {**msgspec.to_builtins(found), "unknown": "kept"}
        after = redacted_body(body, found, redact)
        assert {name for name in body if body[name] != after.get(name)} == {"note", "by", "photos"}
        assert (after["by"], after["photos"], "note" in after) == ("(redacted)", [left], False)

    def test_below_a_ruling_the_signature_stays_in_its_line(self, rm, desk):
        opening = rm.walk().defect("sag", "slack", "major")
        closed = desk.learn(rm).rule(opening, closed={"reason": "adjusted"})
        desk.redact(closed, "by")
        ruling, redact = (one.entry for one in logged(desk))
        assert redacted_body(msgspec.to_builtins(ruling), ruling, redact)["by"] == "RM"


class TestWalks:
    def test_a_walk_shows_what_it_covered_and_what_not_and_why(self, rm):
        walk = rm.walk()
        walk.sound("sag")
        rm.write(
            "walk",
            walk=walk.id,
            vehicle="badger",
            round="cold",
            day=DAY,
            state="finished",
            covered=1,
            of=2,
            unchecked=[{"check": "left-track/tyre", "spot": "1", "why": "mud"}],
        )
        state = only(folded(rm).walks)
        assert (state.by, state.round, state.covered, state.of) == ("RM", "cold", 1, 2)
        assert state.unchecked == (("left-track/tyre", "1", "mud"),)
        assert state.finished

    def test_a_walk_taken_back_is_none(self, rm, desk):
        rm.walk()
        desk.learn(rm).rule(rm.ids[0], void={"reason": "wrong vehicle"})
        assert folded(rm, desk).walks == ()

    def test_a_walk_that_a_clone_started_twice_knows_what_both_knew(self):
        one, copy = Phone("d-rm", "RM"), Phone("d-rm", "RM")
        tw = Phone("d-tw", "TW")
        tw.walk().defect("sag", "tight", "minor")
        one.learn(tw)
        walk = one.walk("cold", LATER)
        copy.write("walk", walk=walk.id, vehicle="badger", round="cold", day=LATER, state="started", knows={})
        walk.sound("sag")
        assert len(open_defects(folded(one, copy, tw))) == 1


def test_every_entry_is_read_once_however_often_it_comes(rm):
    rm.walk().defect("sag", "slack", "major")
    assert len(logged(rm, rm)) == 4
    assert len(only(folded(rm, rm).defects).sightings) == 1
