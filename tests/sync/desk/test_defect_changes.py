"""What is said of a defect at the desk: each form becomes an entry by the desk's device, or is refused in words."""

import json
from typing import Any

import pytest

from sync.state import Defect
from tests.sync.desk.window import TODAY, Window, words

SLACK = "/defect/kettle-ewcvh"  # tracks, major, in conflict
WORN = "/defect/kettle-9tpbk"  # tracks, major
WATER = "/defect/kettle-skuh2"  # hull, minor
HUB = "/defect/kettle-fqb8v"  # suspension, dangerous
JIB = "/defect/clog-9nw5m"  # something else
AHEAD = "2026-10-30"
PERMIT = {"own_power": "yes", "no_danger": "yes", "no_damage": "yes", "limits": "walking pace, to bay 1, two guides",
          "until": "2026-10-20", "reason": "she blocks the door"}  # fmt: skip


def defect(window: Window, address: str) -> Defect:
    return window.service.store.defect(address.rpartition("/")[2])


def said(window: Window, address: str, change: str, **fields: Any) -> str:
    """Open the page, fill in one of its forms."""
    window.open(address)
    return window.say(f"{address}/{change}", fields)


CHANGES = [
    ("work", {"state": "in hand", "hours": "1,5", "cost": "12", "note": "deck off"}, "work"),
    ("owner", {"owner": "TA"}, "ruling"),
    ("found", {"fault": "adjuster thread stripped", "cause": "run slack"}, "ruling"),
    ("for-now", {"what": "link taken out", "until": AHEAD, "undo": "put it back"}, "ruling"),
    ("part", {"part": "link pins", "part_state": "ordered", "part_where": "merchant", "part_due": AHEAD}, "part"),
    ("severity", {"to_severity": "dangerous", "reason": "pin half out"}, "ruling"),
    ("escalate", {"reason": "sag and adjuster together"}, "ruling"),
    ("ask", {"who": "BC"}, "ruling"),
    ("close", {"reason": "measured on soft ground"}, "ruling"),
    ("know-how", {"know_how": "slack it off before the last pin"}, "ruling"),
    ("place", {"place": "left-track/links|cracked", "spot": ""}, "ruling"),
]


@pytest.mark.parametrize(("change", "fields", "kind"), CHANGES, ids=[one[0] for one in CHANGES])
def test_every_change_is_an_entry_by_the_desks_device(
    window: Window, change: str, fields: dict[str, str], kind: str
) -> None:
    before = len(window.written())
    if change == "place":
        view = window.service.store.edition().by_vehicle["kettle"]
        check = next(c for c in view.checks.values() if c.station == "left-track" and not c.spots and c.faults)
        fields = {"place": f"{check.id}|{check.faults[0].id}", "spot": ""}
    text = said(window, WORN, change, **fields)
    assert "That did not work" not in text
    written = window.written()[before:]
    assert [(row.kind, row.device, json.loads(row.body)["by"]) for row in written] == [
        (kind, window.service.device, "MF")
    ]


class TestWork:
    def test_hours_and_money_add_up(self, window: Window) -> None:
        said(window, WORN, "work", state="in hand", hours="1,5", cost="10")
        said(window, WORN, "work", state="in hand", hours="2")
        found = defect(window, WORN)
        assert (found.status, found.spent.hours, found.spent.cost) == ("in hand", 3.5, 10)

    def test_a_unit_sent_out_is_shown_with_its_tag_and_firm_date(self, window: Window) -> None:
        fields = {"wait_for": "adjuster", "wait_kind": "sent out", "wait_where": "foundry, tag 14", "wait_due": AHEAD,
                  "wait_firm": "yes"}  # fmt: skip
        text = said(window, WORN, "work", state="waiting", **fields)
        assert "waits for adjuster (sent out) at foundry, tag 14, promised by 2026-10-30" in text
        assert "waits for adjuster" in words(window.open("/backlog?waiting=yes"))

    def test_an_owners_leave_is_waited_for_without_a_date(self, window: Window) -> None:
        text = said(window, WORN, "work", state="waiting", wait_for="leave to drill", wait_kind="owner")
        assert "waits for leave to drill (owner)" in text

    @pytest.mark.parametrize(
        ("fields", "why"),
        [
            ({"state": "waiting", "wait_kind": "part"}, "What it waits for is missing"),
            ({"state": "waiting", "wait_for": "pump", "wait_kind": "sent out"}, "under which tag is missing"),
            ({"state": "waiting", "wait_for": "pump", "wait_kind": "luck"}, "is no kind of wait"),
            ({"state": "signed off"}, "is no state of work"),
            ({"state": "open", "hours": "many"}, "is no number"),
            ({"state": "open", "hours": "-2"}, "possible is 0 or more"),
            ({"state": "waiting", "wait_for": "p", "wait_kind": "part", "wait_due": "soon"}, "is no day"),
        ],
    )
    def test_what_cannot_be_is_refused_in_words(self, window: Window, fields: dict[str, str], why: str) -> None:
        before = len(window.written())
        assert why in said(window, WORN, "work", **fields)
        assert len(window.written()) == before


class TestSignOff:
    def test_work_that_nobody_mended_is_not_signed_off(self, window: Window) -> None:
        assert "it is signed off after somebody wrote that it is mended" in said(window, WORN, "sign-off", note="drove")

    def test_on_the_tracks_a_second_person_signs(self, window: Window) -> None:
        said(window.sit("TA"), WORN, "work", state="mended", note="new adjuster")
        assert "TA mended it, and a second person signs it off" in said(window, WORN, "sign-off", note="drove it")
        assert defect(window, WORN).closed is None
        text = said(window.sit("MF"), WORN, "sign-off", note="driven, measured again: 30 mm")
        assert "Signed off by MF. The defect is closed." in text
        closed = defect(window, WORN).closed
        assert closed is not None
        assert (closed.how, closed.by) == ("signed off", "MF")

    def test_who_may_not_sign_off_that_system_is_told_who_may(self, window: Window) -> None:
        said(window, WORN, "work", state="mended")
        text = said(window.sit("OG"), WORN, "sign-off", note="looked")
        assert "OG may not sign off work on tracks; MF or TA may" in text
        assert defect(window, WORN).closed is None

    def test_a_dangerous_one_is_always_for_a_second_person(self, window: Window) -> None:
        said(window, HUB, "work", state="mended")
        assert "for it was dangerous" in said(window, HUB, "sign-off", note="ran ten minutes, cool")

    def test_elsewhere_the_mender_may_sign_who_may_sign_that_system(self, window: Window) -> None:
        said(window.sit("BC"), WATER, "work", state="mended")
        assert "The defect is closed" in said(window, WATER, "sign-off", note="dry after rain")

    def test_how_it_was_tested_is_asked_for(self, window: Window) -> None:
        said(window, WATER, "work", state="mended")
        assert "say how it was tested" in said(window.sit("BC"), WATER, "sign-off")

    def test_a_wrong_sign_off_is_taken_back_by_a_lead(self, window: Window) -> None:
        said(window.sit("BC"), WATER, "work", state="mended")
        said(window, WATER, "sign-off", note="dry")
        entry = window.last().id
        window.sit("MF").open(WATER)
        assert "is taken back" in window.say(f"/entry/{entry}/void", reason="wet again", vehicle="kettle", to=WATER)
        assert defect(window, WATER).closed is None

    def test_nothing_more_is_changed_in_a_closed_one(self, window: Window) -> None:
        said(window, WATER, "close", reason="spilt tea")
        assert "is closed (closed by lead by MF)" in said(window, WATER, "work", state="in hand")
        assert "Opened again." in said(window, WATER, "close", take_back="yes")
        assert defect(window, WATER).closed is None


class TestSeverity:
    def test_anybody_says_graver(self, window: Window) -> None:
        assert "It is major now." in said(window.sit("JS"), WATER, "severity", to_severity="major", reason="rising")

    def test_only_a_lead_says_milder(self, window: Window) -> None:
        text = said(window.sit("TA"), WORN, "severity", to_severity="minor", reason="not so bad")
        assert "lowering major to minor is for a lead; ask MF" in text
        assert "It is minor now." in said(window.sit("MF"), WORN, "severity", to_severity="minor", reason="measured")

    def test_a_published_rule_holds_against_a_lead_and_is_said(self, window: Window) -> None:
        text = said(window, "/defect/thimble-zdbhm", "severity", to_severity="minor", reason="only damp")
        assert "Written, but it stays dangerous" in text

    def test_one_category_up_needs_another_of_its_test_area(self, window: Window) -> None:
        assert "Moved up one category: dangerous" in said(window, WORN, "escalate", reason="sag and adjuster together")
        assert "taken back" in said(window, WORN, "escalate", take_back="yes")
        alone = said(window, "/defect/dumpling-c492w", "escalate", reason="worse together")
        assert "is the only open defect of test area" in alone
        assert "is dangerous already" in said(window, HUB, "escalate", reason="worse")


class TestForNow:
    def test_the_defect_stays_open_with_its_end_and_its_undoing(self, window: Window) -> None:
        text = said(window, WORN, "for-now", what="link taken out", until=AHEAD, undo="put it back")
        assert "To undo: put it back" in text
        found = defect(window, WORN)
        assert found.temporary is not None
        assert found.closed is None

    def test_only_a_lead_gives_it_longer_or_takes_it_back(self, window: Window) -> None:
        said(window.sit("TA"), WORN, "for-now", what="link out", until=AHEAD, undo="put it back")
        later = said(window, WORN, "for-now", what="link out", until="2026-11-30", undo="put it back")
        assert "is for a lead; ask MF" in later
        assert "is for a lead; ask MF" in said(window, WORN, "for-now", take_back="yes")
        assert "until 2026-11-30" in said(window.sit("MF"), WORN, "for-now", what="link out", until="2026-11-30",
                                          undo="put it back")  # fmt: skip

    def test_a_day_that_is_over_is_refused(self, window: Window) -> None:
        assert "is over or too far off" in said(window, WORN, "for-now", what="x", until="2026-10-17", undo="y")


class TestPermit:
    def test_it_is_written_with_its_limits_and_lifts_nothing(self, window: Window) -> None:
        text = said(window, HUB, "permit", **PERMIT)
        assert "Move permit until 2026-10-20. The vehicle stays counted as stopped." in text
        standing = window.service.store.standing_of("kettle", TODAY)
        assert (standing.standing, len(standing.permits)) == ("stopped", 1)
        assert "taken back" in said(window, HUB, "permit", take_back="yes")

    @pytest.mark.parametrize(
        ("change", "why"),
        [
            ({"until": "2026-10-26"}, "within 7 days"),
            ({"until": "2026-10-17"}, "is over"),
            ({"no_damage": ""}, "not ticked: it does itself no further damage"),
            ({"limits": ""}, "The limits (speed, distance, with whom) is missing"),
        ],
    )
    def test_what_it_must_be_is_held_to(self, window: Window, change: dict[str, str], why: str) -> None:
        assert why in said(window, HUB, "permit", **{**PERMIT, **change})
        assert defect(window, HUB).permit is None

    def test_who_may_not_sign_off_writes_none(self, window: Window) -> None:
        assert "a move permit is for those who may sign the work off" in said(window.sit("JS"), HUB, "permit", **PERMIT)

    def test_what_stops_nothing_needs_none(self, window: Window) -> None:
        assert "stops nothing" in said(window, WATER, "permit", **PERMIT)


class TestPlace:
    def test_something_else_finds_its_check(self, window: Window) -> None:
        view = window.service.store.edition().by_vehicle["clog"]
        check = next(c for c in view.checks.values() if c.station == "tail" and not c.spots and c.faults)
        said(window.sit("TA"), JIB, "place", place=f"{check.id}|{check.faults[0].id}", spot="")
        assert [d.check for d in window.service.store.defects("clog") if "pawl" in d.note] == [check.id]
        assert "To be placed: 0" in words(window.open("/reports"))

    def test_from_a_check_only_a_lead_moves_it(self, window: Window) -> None:
        text = said(window.sit("TA"), WORN, "place", place="left-track/sag|slack", spot="")
        assert "moving a defect to another check is for a lead" in text

    def test_a_spot_that_is_none_is_named_with_those_there_are(self, window: Window) -> None:
        view = window.service.store.edition().by_vehicle["clog"]
        check = next(c for c in view.checks.values() if len(c.spots) > 1 and c.faults)
        text = said(window, JIB, "place", place=f"{check.id}|{check.faults[0].id}", spot="99")
        assert f"expected one of {', '.join(check.spots)}" in text


class TestParts:
    def test_a_part_stands_on_the_page_and_on_the_card(self, window: Window) -> None:
        text = said(window, WORN, "part", part="adjuster nut", part_state="ordered", part_where="merchant",
                    part_due=AHEAD)  # fmt: skip
        assert "adjuster nut ordered merchant 2026-10-30" in text
        assert "adjuster nut" in words(window.open("/papers/card?defect=kettle-9tpbk"))

    def test_two_defects_parts_of_one_name_stay_two(self, window: Window) -> None:
        said(window, WORN, "part", part="link pins", part_state="needed")
        said(window, SLACK, "part", part="link pins", part_state="here")
        states = {part.part: part.state for part in window.service.store.parts()}
        assert states == {"link pins": "needed", "link pins (for kettle-ewcvh)": "here"}


class TestHistory:
    def test_everything_said_is_there_newest_first(self, window: Window) -> None:
        said(window.sit("TA"), WORN, "owner", owner="TA")
        text = said(window, WORN, "found", fault="thread stripped", cause="run slack")
        history = text[text.index("All that was said") :]
        assert history.index("found: thread stripped, run slack") < history.index("TA has it")

    def test_a_lead_takes_back_what_somebody_said_with_a_reason(self, window: Window) -> None:
        said(window.sit("TA"), WORN, "owner", owner="TA")
        entry = window.last().id
        window.sit("MF").open(WORN)
        text = window.say(f"/entry/{entry}/void", reason="she is away", vehicle="kettle", to=WORN)
        assert "MF took this back: she is away" in text
        assert defect(window, WORN).owner == ""

    def test_nobody_else_does(self, window: Window) -> None:
        said(window, WORN, "owner", owner="TA")
        entry = window.last().id
        window.sit("TA").open(WORN)
        assert "is for a lead; ask MF" in window.say(f"/entry/{entry}/void", reason="no", vehicle="kettle")
        assert defect(window, WORN).owner == "TA"

    def test_a_photo_and_a_name_go_for_good(self, window: Window) -> None:
        found = defect(window, SLACK)
        photo, entry = next((s.photos[0], s.entry) for s in found.sightings if s.photos)
        path = window.service.store.photo_path(photo)
        window.open(SLACK)
        fields = {"field": ["by", "note"], "photo": [photo], "reason": "a visitor is on it", "to": SLACK}
        assert "Taken out for good" in window.say(f"/entry/{entry}/redact", fields)
        assert not path.exists()
        page = window.open(SLACK)
        assert photo not in page
        assert "Measured again after coasting" not in page
        assert "(redacted)" in page

    def test_what_is_ticked_is_asked_for(self, window: Window) -> None:
        entry = defect(window, SLACK).sightings[0].entry
        window.open(SLACK)
        assert "nothing is ticked" in window.say(f"/entry/{entry}/redact", reason="x")

    def test_know_how_comes_again_with_the_fault(self, window: Window) -> None:
        text = said(window, WORN, "know-how", know_how="slack it off before the last pin")
        assert "Know-how, MF: slack it off before the last pin" in text
        assert "slack it off" in words(window.open("/know-how"))
        assert "slack it off" in words(window.open("/vehicle/kettle"))


def test_a_report_is_explained_from_the_defects_page(window: Window) -> None:
    report = next(r for r in window.service.store.reports("kettle"))
    assert "Explains what the driver said" in said(window, SLACK, "explain", report=report.entry)
    assert window.service.store.reports("kettle") == ()


def test_nobody_at_the_desk_says_nothing(window: Window) -> None:
    window.sit("").open(WORN)
    assert "say first who you are" in window.say(f"{WORN}/owner", owner="TA")
    assert window.post(f"{WORN}/owner", owner="TA").status_code == 409


def test_a_change_there_is_not_is_no_page(window: Window) -> None:
    window.open(WORN)
    assert window.post(f"{WORN}/sing", note="la").status_code == 404


def test_a_form_without_what_its_page_had_shown_is_refused(window: Window) -> None:
    answer = window.http.post(f"{WORN}/owner", data={"owner": "TA"})
    assert "the form came without what its page had shown" in words(answer.text)
