"""Conflicts settled, pairs joined and parted, reports explained, lines changed in bulk, hand-ins taken in."""

import re

import pytest

from sync.demo import SAMPLE
from sync.service import Service
from tests.sync.desk.window import Window, words
from tests.sync.phones import Phone


class TestConflicts:
    def test_a_side_is_chosen_and_a_reason_given(self, window: Window) -> None:
        conflict = window.service.store.conflicts("hobnail")[0]
        window.open("/conflicts")
        text = window.say(f"/conflicts/{conflict.id}", choose=conflict.stands, reason="crawled under, it drips")
        assert "Settled. Both sides stay readable" in text
        assert "“crawled under, it drips”" in text
        assert window.service.store.conflicts("hobnail") == ()

    def test_neither_was_right_and_the_value_is_given(self, window: Window) -> None:
        conflict = next(c for c in window.service.store.conflicts("kettle") if c.check == "left-track/sag")
        window.open("/conflicts")
        fields = {"choose": "neither", "result": "defect", "severity": "major", "value": "55", "unit": "mm"}
        window.say(f"/conflicts/{conflict.id}", fields, reason="measured together")
        found = window.service.store.defect("kettle-ewcvh")
        assert (found.conflicts, found.reading and found.reading.value) == ((), 55)

    def test_a_settlement_is_taken_back_by_a_lead_and_the_conflict_is_open_again(self, window: Window) -> None:
        conflict = window.service.store.conflicts("hobnail")[0]
        window.open("/conflicts")
        window.say(f"/conflicts/{conflict.id}", choose=conflict.stands, reason="crawled under")
        entry = window.last().id
        window.open("/conflicts")
        assert "taken back" in window.say(f"/entry/{entry}/void", reason="the wrong one", to="/conflicts")
        assert [c.id for c in window.service.store.conflicts("hobnail")] == [conflict.id]

    def test_who_may_not_lower_is_told_that_it_stays_open(self, window: Window) -> None:
        conflict = window.service.store.conflicts("hobnail")[0]
        sound = next(side.entry for side in conflict.sides if not side.present)
        window.sit("JS").open("/conflicts")
        text = window.say(f"/conflicts/{conflict.id}", choose=sound, reason="looks dry to me")
        assert "Written, but it stays open" in text

    @pytest.mark.parametrize(
        ("fields", "why"),
        [
            ({"reason": "x"}, "no side is chosen"),
            ({"choose": "neither", "result": "defect", "severity": "awful", "reason": "x"}, "has a severity"),
            ({"choose": "neither", "result": "perhaps", "reason": "x"}, "sound or a defect"),
            ({"choose": "neither", "result": "sound"}, "The reason is missing"),
        ],
    )
    def test_what_cannot_be_is_refused_in_words(self, window: Window, fields: dict[str, str], why: str) -> None:
        conflict = window.service.store.conflicts("hobnail")[0]
        window.open("/conflicts")
        assert why in window.say(f"/conflicts/{conflict.id}", fields)
        assert len(window.service.store.conflicts("hobnail")) == 1


class TestPairs:
    def test_a_pair_is_joined_and_parted_again(self, window: Window) -> None:
        pair = window.service.store.pairs()[0]
        of = {"first": pair.first, "second": pair.second}
        window.open("/perhaps-the-same")
        assert "Joined: 1" in window.say("/perhaps-the-same", of, joined="yes", reason="one bracket")
        window.open("/perhaps-the-same")
        assert "Parted: 1" in window.say("/perhaps-the-same", of, joined="no")

    def test_two_that_nobody_offered_are_joined_by_their_codes(self, window: Window) -> None:
        window.open("/perhaps-the-same")
        text = window.say("/perhaps-the-same", first="kettle-ewcvh", second="kettle-9tpbk", joined="yes")
        assert "Joined: 1" in text
        assert "Joined with" in words(window.open("/defect/kettle-ewcvh"))

    def test_two_vehicles_defects_are_never_one(self, window: Window) -> None:
        window.open("/perhaps-the-same")
        text = window.say("/perhaps-the-same", first="kettle-ewcvh", second="hobnail-8pruq", joined="yes")
        assert "are on two vehicles" in text


class TestReports:
    def test_a_report_is_explained_and_opened_again(self, window: Window) -> None:
        report = window.service.store.reports("kettle")[0]
        slack = window.service.store.defect("kettle-ewcvh").opening
        window.open("/reports")
        text = window.say(f"/reports/{report.entry}", what="explain", defect=slack)
        assert "Explained by kettle-ewcvh." in text
        window.open("/reports")
        assert "Open again." in window.say(f"/reports/{report.entry}", what="reopen")
        assert len(window.service.store.reports("kettle")) == 1

    def test_a_look_is_asked_for(self, window: Window) -> None:
        report = window.service.store.reports("trowel")[0]
        window.open("/reports")
        assert "a look is asked for of TA" in window.say(f"/reports/{report.entry}", what="ask", who="TA")

    def test_another_vehicles_defect_explains_nothing(self, window: Window) -> None:
        report = window.service.store.reports("trowel")[0]
        window.open("/reports")
        text = window.say(f"/reports/{report.entry}", what="explain", defect="kettle-ewcvh")
        assert "is on another vehicle" in text

    def test_a_visitors_words_go_for_good(self, window: Window) -> None:
        report = window.service.store.reports("lantern")[0]
        window.open("/reports")
        window.say(f"/entry/{report.entry}/redact", {"field": ["symptom"]}, reason="named", to="/reports")
        page = words(window.open("/reports"))
        assert "bonnet tied down" not in page
        assert "(redacted)" in page


class TestBacklog:
    def test_ticked_lines_are_changed_together(self, window: Window) -> None:
        openings = [window.service.store.defect(code).opening for code in ("kettle-ewcvh", "kettle-9tpbk")]
        window.open("/backlog?vehicle=kettle")
        text = window.say("/backlog", {"defect": openings}, owner="TA", state="in hand", to="/backlog?vehicle=kettle")
        assert "Written for 2 defects." in text
        found = [window.service.store.defect(one) for one in openings]
        assert [(one.owner, one.status) for one in found] == [("TA", "in hand"), ("TA", "in hand")]

    def test_nothing_ticked_or_nothing_chosen_is_said(self, window: Window) -> None:
        window.open("/backlog")
        assert "no line is ticked" in window.say("/backlog", owner="TA")
        opening = window.service.store.defect("kettle-ewcvh").opening
        assert "no change is chosen" in window.say("/backlog", {"defect": [opening]})
        assert "is no state of work for several" in window.say("/backlog", {"defect": [opening]}, state="signed off")

    def test_what_the_list_is_narrowed_to_stays_in_its_links(self, window: Window) -> None:
        page = window.open("/backlog?severity=major&vehicle=kettle&sort=last_seen")
        links = re.findall(r'<th scope="col"[^>]*><a href="([^"]+)"', page)
        assert links
        assert all("severity=major" in link and "vehicle=kettle" in link for link in links)

    def test_a_page_that_there_is_not_is_an_empty_list_not_an_error(self, window: Window) -> None:
        assert "67 open defects" in words(window.open("/backlog?page=9999999"))
        assert "67 open defects" in words(window.open("/backlog?page=-3"))

    def test_a_column_that_there_is_not_is_said(self, window: Window) -> None:
        assert "the backlog has no column 'colour'" in words(window.http.get("/backlog?sort=colour").text)


class TestTakeIn:
    def files(self, *contents: bytes) -> list[tuple[str, tuple[str, bytes, str]]]:
        return [("files", (f"{n}.txt", data, "text/plain")) for n, data in enumerate(contents)]

    def test_files_are_taken_in_and_told(self, window: Window, service: Service) -> None:
        phone = Phone("d-new", service.store.edition_bytes(service.store.edition().fingerprint), "TA")
        phone.walk("nutmeg", knows={})
        phone.find("nose/plates", vehicle="nutmeg", fault=None, severity="minor", note="wet")
        answer = window.http.post("/take-in", data={"knows": window.knows}, files=self.files(phone.hand_in()))
        assert "2 entries new" in words(answer.text)

    def test_the_same_file_twice_counts_once(self, window: Window) -> None:
        data = (SAMPLE / "day/1-maud.txt").read_bytes()
        before = window.service.store.count("entries")
        answer = window.http.post("/take-in", files=self.files(data))
        assert "0 entries new, 279 here already" in words(answer.text)
        assert window.service.store.count("entries") == before

    def test_what_is_no_hand_in_is_told_and_the_others_are_taken(self, window: Window) -> None:
        data = (SAMPLE / "day/1-maud.txt").read_bytes()
        answer = window.http.post("/take-in", files=self.files(b"\xff\xd8 a photo", data))
        text = words(answer.text)
        assert "Nothing was taken. not a hand-in" in text
        assert "279 here already" in text

    def test_a_line_set_aside_says_why_and_what_to_do(self, window: Window, service: Service) -> None:
        phone = Phone("d-odd", service.store.edition_bytes(service.store.edition().fingerprint), "TA")
        phone.write("ruling", about="kettle", knows={}, set={"state": "static"})
        window.http.post("/take-in", files=self.files(phone.hand_in()))
        text = words(window.open("/take-in"))
        assert "Set aside: 1" in text
        assert "Rulings and work count only from a desk." in text
        assert "a ruling counts only from the desk or a paired desk" in text

    def test_what_will_never_come_is_given_up_by_a_lead(self, window: Window, service: Service) -> None:
        phone = Phone("d-gap", service.store.edition_bytes(service.store.edition().fingerprint), "TA")
        for _ in range(4):
            phone.write("report", vehicle="nutmeg", source="driver", symptom="knocks", photos=[])
        window.http.post("/take-in", files=self.files(phone.hand_in(first=3)))
        assert "entries 1–2" in words(window.open("/take-in"))
        asked = {"device": "d-gap", "reason": "the phone fell into the pond"}
        assert "is for a lead" in window.sit("TA").say("/take-in/give-up", asked)
        assert "Given up: 1 gap of d-gap." in window.sit("MF").say("/take-in/give-up", asked)

    def test_no_file_is_said(self, window: Window) -> None:
        assert "no file is chosen" in words(window.http.post("/take-in", data={"x": "y"}).text)
