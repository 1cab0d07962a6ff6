"""Known defects on the walk: asked at their place, a tap each, and what Sound then means."""

import json
from typing import Any

import pytest
from playwright.sync_api import expect

from tests.app.walker import Walker

SLACK = "0199f5c2-7d10-7c3e-9a51-2f0c8e6b1a01"
BENT = "0199f5c2-7d10-7c3e-9a51-2f0c8e6b1a02"
WIRED = "0199f5c2-7d10-7c3e-9a51-2f0c8e6b1a03"


def known(opening: str, **also: Any) -> dict[str, Any]:
    days = {"first_day": "2026-10-17", "last_day": "2026-10-24", "seen_by": ["OG"], "status": "open"}
    return {"defect": opening, "code": f"badger-{opening[-5:]}", "vehicle": "badger", **days, **also}


CARRY = {
    "driptray": 1,
    "carry": True,
    "fleet": "trial",
    "edition": "",
    "made": "2026-10-30T18:00:00+00:00",
    "knows": {"desk-1": 214},
    "defects": [
        known(
            SLACK,
            station="left-track",
            check="left-track/sag",
            fault="slack",
            fault_name="Slack",
            severity="major",
            note="adjuster nearly at its stop",
            reading={"value": 52, "unit": "mm"},
        ),
        known(BENT, station="nose", fault_name="Bracket bent by the tow", severity="advisory"),
        known(
            WIRED,
            station="right-track",
            check="right-track/pads",
            fault="gone",
            fault_name="Pad gone",
            severity="minor",
            temporary_until="2099-12-01",
        ),
    ],
    "standing": {"badger": {"standing": "limited", "barred": ["show"], "moves": ["own power"]}},
}


@pytest.fixture
def carrier(walker: Walker) -> Walker:
    """A phone that the workshop's known defects were opened on."""
    return given(walker, CARRY["defects"])


def given(walker: Walker, defects: list[dict[str, Any]]) -> Walker:
    """The phone with these known defects from the workshop."""
    walker.open("#/hand-in")
    carry = json.dumps({**CARRY, "defects": defects}).encode()
    walker.page.get_by_label("Open a carry file").set_input_files(
        [{"name": "carry.txt", "mimeType": "text/plain", "buffer": carry}]
    )
    walker.page.get_by_text(f"Taken: {len(defects)} known defect").wait_for()
    return walker


def answer(walker: Walker, fault: str, word: str) -> None:
    walker.check(f"Known: {fault}").get_by_role("radio", name=word).click()


def test_a_known_defect_stands_at_its_check_with_all_that_is_known(carrier: Walker) -> None:
    carrier.started().to("Left track")
    card = carrier.check("Known: Slack")
    for words in ("Major", "adjuster nearly at its stop", "52 mm", "OG", "known for"):
        expect(card).to_contain_text(words)


def test_still_there_is_one_tap_and_types_nothing(carrier: Walker) -> None:
    carrier.started().to("Left track")
    answer(carrier, "Slack", "Still there")
    carrier.written(2)
    start, said = carrier.entries()
    assert start["knows"]["desk-1"] == 214
    assert (said["verdict"], said["defect"], said["fault"]) == ("same", SLACK, "slack")
    assert (said["result"], said["severity"]) == ("defect", "major")


def test_another_answer_takes_the_first_back(carrier: Walker) -> None:
    carrier.started().to("Left track")
    answer(carrier, "Slack", "Still there")
    carrier.written(2)
    answer(carrier, "Slack", "Gone")
    carrier.written(3)
    first, second = carrier.entries()[1:]
    assert (second["corrects"], second["verdict"], second["result"]) == (first["id"], "gone", "sound")


def test_worse_can_be_said_further_and_stays_about_the_same_defect(carrier: Walker) -> None:
    carrier.started().to("Left track")
    answer(carrier, "Slack", "Worse")
    carrier.button("Say how much worse").click()
    carrier.form.get_by_role("radio", name="Dangerous").check()
    carrier.form.get_by_role("textbox", name="Reading").fill("66")
    carrier.save()
    first, second = carrier.entries()[1:]
    assert (second["corrects"], second["verdict"], second["defect"]) == (first["id"], "worse", SLACK)
    assert (second["severity"], second["reading"]["value"]) == ("dangerous", 66)


def test_another_defect_at_the_same_check_leaves_the_answer_to_a_known_one_standing(carrier: Walker) -> None:
    carrier.started().to("Left track")
    answer(carrier, "Slack", "Worse")
    carrier.written(2)
    carrier.defect("Sag of the top run").get_by_role("radio", name="Too tight").check(force=True)
    carrier.save()
    worse, tight = carrier.entries()[1:]
    assert (worse["verdict"], tight["fault"]) == ("worse", "tight")
    assert "corrects" not in tight
    expect(carrier.check("Known: Slack").get_by_role("radio", name="Worse")).to_be_checked()


def test_sound_over_a_known_defect_asks_whether_it_is_gone(carrier: Walker) -> None:
    carrier.started().to("Left track")
    carrier.check("Sag of the top run").get_by_role("radio", name="Sound").click()
    carrier.button("No, look again").click()
    assert len(carrier.entries()) == 1
    carrier.check("Sag of the top run").get_by_role("radio", name="Sound").click()
    carrier.button("Gone, all sound").click()
    carrier.written(3)
    gone, sound = carrier.entries()[1:]
    assert (gone["verdict"], gone["defect"]) == ("gone", SLACK)
    assert ("verdict" in sound, sound["result"]) == (False, "sound")


def test_a_known_defect_of_no_check_is_asked_at_its_station(carrier: Walker) -> None:
    carrier.started()
    answer(carrier, "Bracket bent by the tow", "Still there")
    carrier.written(2)
    said = carrier.entries()[1]
    assert (said["station"], said["verdict"], "check" in said) == ("nose", "same", False)


def test_a_temporary_repair_is_asked_on_a_round_that_does_not_ask_its_check(carrier: Walker) -> None:
    carrier.started("Before running").to("Right track")
    expect(carrier.check("Known: Pad gone")).to_contain_text("Mended for now, until 1 Dec 2099")


def test_the_rest_is_sound_says_nothing_of_a_known_defect(carrier: Walker) -> None:
    """Right track in full: the pads have a known defect, pins and guide horns are the rest."""
    carrier.started("Full").to("Right track")
    carrier.page.get_by_role("button", name="The rest of this station is sound (2)").click()
    carrier.button("I looked: all 2 are sound").click()
    carrier.written(3)
    assert {said["check"] for said in carrier.entries()[1:]} == {"right-track/pins", "right-track/guides"}


def test_standing_and_what_is_barred_are_said_before_one_starts(carrier: Walker) -> None:
    carrier.open("#/v/badger")
    expect(carrier.page.get_by_text("Limited")).to_be_visible()
    expect(carrier.page.get_by_text("Barred: show.")).to_be_visible()
    expect(carrier.heading("3 known defects")).to_be_visible()


def test_a_temporary_repair_that_was_not_looked_at_is_counted_at_the_end(carrier: Walker) -> None:
    carrier.started("Before running").finished("No time")
    start, end = carrier.entries()
    places = [place["check"] for place in end["unchecked"]]
    assert "right-track/pads" in places
    assert (start["of"], end["of"]) == (len(places), len(places))


def test_a_known_defect_without_a_first_day_is_given_no_age(walker: Walker) -> None:
    given(walker, [{**CARRY["defects"][0], "first_day": ""}]).started().to("Left track")
    expect(walker.check("Known: Slack")).to_contain_text("adjuster nearly at its stop")
    expect(walker.check("Known: Slack")).not_to_contain_text("known for")
    walker.open("#/v/badger")
    expect(walker.heading("1 known defect")).to_be_visible()
    expect(walker.page.get_by_text("known for")).to_have_count(0)


def test_a_standing_is_shown_with_the_day_it_is_of(carrier: Walker) -> None:
    carrier.open("#/v/badger")
    expect(carrier.page.get_by_text("As of 30 Oct 2026, from the workshop")).to_be_visible()
    carrier.open("#/")
    expect(carrier.page.get_by_text("As of 30 Oct 2026, from the workshop")).to_be_visible()


def test_a_vehicle_whose_temporary_repair_has_lapsed_since_is_stopped_and_says_why(walker: Walker) -> None:
    given(walker, [{**CARRY["defects"][2], "temporary_until": "2026-11-01"}]).open("#/v/badger")
    expect(walker.page.get_by_text("Stopped")).to_be_visible()
    expect(walker.page.get_by_text("Mended for now until 1 Nov 2026, and lapsed: Pad gone")).to_be_visible()
    expect(walker.page.get_by_text("Barred: show, start, drive.")).to_be_visible()
    walker.open("#/")
    expect(walker.page.get_by_role("link", name="Badger")).to_contain_text("Stopped")
