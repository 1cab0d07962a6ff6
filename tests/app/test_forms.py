"""What is said in a form: readings, leaks, severities, photos, something else, reports, runs and top-ups."""

import re
from pathlib import Path
from typing import Any

import pytest
from playwright.sync_api import Locator, expect

from tests.app.walker import Walker


def reading(walker: Walker, name: str = "Sag of the top run") -> Locator:
    return walker.check(name).get_by_role("textbox", name="Reading")


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("31", "31 mm: within limits"),
        ("61", "61 mm: too high by 21 mm; the limit is 40 mm"),
        ("12,5", "12.5 mm: too low by 7.5 mm; the limit is 20 mm"),
        ("610", "610 mm can hardly be right"),
        ("lots", "That is no number"),
    ],
)
def test_a_reading_is_judged_at_once_in_plain_words(walker: Walker, typed: str, said: str) -> None:
    walker.started().to("Left track")
    reading(walker).fill(typed)
    expect(walker.check("Sag of the top run")).to_contain_text(said)


def test_the_unit_in_hand_is_the_one_that_judges_and_is_kept(walker: Walker) -> None:
    """2 in is 50.8 mm; the entry carries inches."""
    walker.started().to("Left track")
    walker.check("Sag of the top run").get_by_label("Unit").select_option("in")
    reading(walker).fill("1 1/4")
    expect(walker.check("Sag of the top run")).to_contain_text("1.25 in: within limits")
    reading(walker).press("Enter")
    walker.written(2)
    assert walker.entries()[1]["reading"] == {"value": 1.25, "unit": "in"}


def test_enter_on_a_fine_reading_is_sound_and_on_another_opens_the_form(walker: Walker) -> None:
    walker.started().to("Left track")
    reading(walker).fill("55")
    reading(walker).press("Enter")
    expect(walker.form.get_by_role("textbox", name="Reading")).to_have_value("55")
    walker.form.get_by_role("radio", name="Slack").check()
    walker.save()
    said = walker.entries()[1]
    assert (said["result"], said["fault"], said["reading"]) == ("defect", "slack", {"value": 55, "unit": "mm"})


def test_an_implausible_reading_is_asked_again(walker: Walker) -> None:
    walker.started().to("Left track")
    reading(walker).fill("610")
    walker.check("Sag of the top run").get_by_role("radio", name="Sound").click()
    walker.button("I will read it again").click()
    assert len(walker.entries()) == 1
    expect(reading(walker)).to_be_focused()


def test_sound_with_a_reading_outside_its_limits_is_asked_first(walker: Walker) -> None:
    walker.started().to("Left track")
    reading(walker).fill("55")
    walker.check("Sag of the top run").get_by_role("radio", name="Sound").click()
    walker.button("Sound, with this reading").click()
    walker.written(2)
    assert (walker.entries()[1]["result"], walker.entries()[1]["reading"]["value"]) == ("sound", 55)


def test_the_odd_one_out_is_said_while_one_still_stands_there(walker: Walker) -> None:
    walker.started().to("Left track")
    for spot, value in enumerate(("41", "43", "70", "42"), start=1):
        field = walker.page.get_by_role("textbox", name=f"Reading, {spot}")
        field.fill(value)
        field.press("Enter")
    walker.written(5)
    expect(walker.page.get_by_text("3 stands out: 28 °C above its fellows.")).to_be_visible()


def test_oil_that_rose_with_nothing_poured_in_is_no_good_reading(walker: Walker) -> None:
    walker.started("Before running").to("Engine bay")
    reading(walker, "Engine oil level").fill("6")
    reading(walker, "Engine oil level").press("Enter")
    walker.written(2).started("Hot").to("Engine bay")
    expect(walker.check("Engine oil level")).to_contain_text("Before running: Sound, 6 L")
    reading(walker, "Engine oil level").fill("6.5")
    expect(walker.check("Engine oil level")).to_contain_text("risen since last time")


def test_usual_faults_come_first_and_bring_their_severity(walker: Walker) -> None:
    walker.started()
    form = walker.defect("Front lamps")
    faults = form.get_by_role("group", name="Fault").get_by_role("radio")
    expect(faults.first).to_have_accessible_name("One lamp out")
    form.get_by_role("radio", name="Bracket loose").check()
    expect(form.get_by_role("group", name="Severity").get_by_role("radio", name="Major")).to_be_checked()
    expect(form).to_contain_text("Bars: show.")


def test_the_walkers_own_severity_outlasts_another_fault(walker: Walker) -> None:
    walker.started()
    form = walker.defect("Front lamps")
    form.get_by_role("radio", name="One lamp out").check()
    form.get_by_role("radio", name="Dangerous").check()
    form.get_by_role("radio", name="Bracket loose").check()
    expect(form.get_by_role("radio", name="Dangerous")).to_be_checked()


def test_a_caution_stands_before_the_hands_go_in(walker: Walker) -> None:
    walker.started().to("Left track")
    expect(walker.check("Sag of the top run")).to_contain_text("Engine stopped, driver out of the seat.")
    expect(walker.defect("Sag of the top run")).to_contain_text("Engine stopped, driver out of the seat.")


def test_class_stream_and_level_propose_a_leaks_severity(walker: Walker) -> None:
    walker.started().to("Left track")
    form = walker.defect("Final drive seal")
    form.get_by_role("radio", name="Seal leaking").check()
    form.get_by_role("radio", name="Class 3").check()
    form.get_by_role("radio", name="Drops").check()
    form.get_by_role("radio", name="Low").check()
    expect(form.get_by_role("radio", name="Dangerous")).to_be_checked()
    expect(form).to_contain_text("Not to run until it is mended")
    walker.save()
    said = walker.entries()[1]
    assert (said["severity"], said["leak"]) == ("dangerous", {"class": 3, "stream": False, "level_ok": False})


def test_a_fuel_leak_cannot_be_talked_down(walker: Walker) -> None:
    walker.started().to("Engine bay")
    form = walker.defect("Fuel pipes and taps")
    form.get_by_role("radio", name="Minor").check()
    form.get_by_role("radio", name="Union weeps").check()
    expect(form.get_by_role("radio", name="Dangerous")).to_be_checked()
    for lower in ("Major", "Minor", "Advisory"):
        expect(form.get_by_role("radio", name=lower)).to_be_disabled()
    expect(form).to_contain_text("No fuel leak of any class")


@pytest.mark.parametrize(
    ("given", "said"), [("", "Choose a fault, or write what you saw."), ("sounds odd", "Choose the severity.")]
)
def test_a_form_says_what_it_lacks_and_keeps_what_it_has(walker: Walker, given: str, said: str) -> None:
    walker.started()
    form = walker.defect("Front lamps")
    form.get_by_label("Note", exact=True).fill(given)
    form.get_by_role("button", name="Save").click()
    expect(form.get_by_text(said)).to_be_visible()
    expect(form.get_by_label("Note", exact=True)).to_have_value(given)
    assert len(walker.entries()) == 1


def test_photos_stay_with_their_finding_and_leave_with_the_hand_in(walker: Walker, tmp_path: Path) -> None:
    walker.started()
    walker.defect("Front lamps").get_by_role("radio", name="One lamp out").check()
    walker.add_photo().save()
    (photo,) = walker.entries()[1]["photos"]
    lines = walker.hand_in(tmp_path / "hand-in.txt")
    assert [line["photo"] for line in lines if "photo" in line] == [photo]


def test_put_right_at_once_is_a_sighting(walker: Walker) -> None:
    walker.started()
    form = walker.defect("Front lamps")
    form.get_by_role("radio", name="One lamp out").check()
    form.get_by_role("checkbox", name="Put right at once").check()
    walker.save()
    assert walker.entries()[1]["put_right"] is True


def test_a_draft_can_be_thrown_away(walker: Walker) -> None:
    walker.started()
    walker.defect("Front lamps").get_by_role("radio", name="One lamp out").check()
    walker.page.keyboard.press("Escape")
    walker.page.get_by_role("button", name="Throw away: Front lamps").click()
    expect(walker.page.get_by_text("Begun, not saved yet.")).to_be_hidden()
    expect(walker.defect("Front lamps").get_by_role("radio", name="One lamp out")).not_to_be_checked()


def test_something_else_takes_a_photo_first_and_fits_no_check(walker: Walker) -> None:
    walker.started().button("Something else").click()
    expect(walker.form.get_by_role("heading", name="Something else")).to_be_visible()
    walker.add_photo()
    walker.form.get_by_role("radio", name="Minor").check()
    walker.form.get_by_label("Note", exact=True).fill("bolt on the floor")
    walker.save()
    said = walker.entries()[1]
    assert ("check" in said, said["station"], said["note"]) == (False, "nose", "bolt on the floor")
    expect(walker.page.get_by_role("region", name="Something else")).to_contain_text("bolt on the floor")


def test_something_else_can_be_taken_back(walker: Walker) -> None:
    walker.started().button("Something else").click()
    walker.form.get_by_role("radio", name="Minor").check()
    walker.form.get_by_label("Note", exact=True).fill("bolt on the floor")
    walker.save()
    walker.page.get_by_role("button", name="Take back: bolt on the floor").click()
    walker.written(3)
    assert walker.entries()[2]["corrects"] == walker.entries()[1]["id"]


def said(walker: Walker, kind: str) -> dict[str, Any]:
    walker.written(1)
    (entry,) = walker.entries()
    assert entry["kind"] == kind
    return entry


def test_a_driver_tells_what_was_felt_and_when(walker: Walker) -> None:
    walker.open("#/v/badger/driver")
    walker.page.get_by_label("What you felt, heard or smelt").fill("pulls left when braking")
    walker.page.get_by_label("When, and what the gauges said").fill("hot, third gear")
    walker.button("Save").click()
    entry = said(walker, "report")
    assert (entry["source"], entry["symptom"]) == ("driver", "pulls left when braking")
    assert entry["conditions"] == "hot, third gear"
    assert "severity" not in entry


def test_a_drivers_report_half_written_is_there_again(walker: Walker) -> None:
    walker.open("#/v/badger/driver")
    walker.page.get_by_label("What you felt, heard or smelt").fill("pulls le")
    walker.page.wait_for_timeout(600)
    again = walker.killed()
    expect(again.page.get_by_label("What you felt, heard or smelt")).to_have_value("pulls le")


def test_a_visitors_photo_is_a_tip_by_itself(walker: Walker) -> None:
    walker.open("#/v/badger/visitor")
    walker.add_photo().button("Save").click()
    entry = said(walker, "report")
    assert (entry["source"], len(entry["photos"])) == ("visitor", 1)


def test_a_run_is_hours_laps_and_a_driver(walker: Walker) -> None:
    walker.open("#/v/badger/run")
    walker.page.get_by_label("Hours").fill("1,5")
    walker.page.get_by_label("Laps").fill("4")
    walker.button("Save").click()
    entry = said(walker, "run")
    assert (entry["hours"], entry["laps"], entry["driver"]) == (1.5, 4, "RM")


def test_a_top_up_shows_what_the_vehicle_takes(walker: Walker) -> None:
    walker.open("#/v/badger/top-up")
    walker.radio("engine oil").check()
    expect(walker.page.get_by_text("This vehicle takes: SAE 30, 7 L")).to_be_visible()
    walker.page.get_by_label("Litres").fill("0.5")
    walker.button("Save").click()
    entry = said(walker, "fluid")
    assert (entry["fluid"], entry["litres"]) == ("engine oil", 0.5)


def test_the_board_tells_what_is_walked_and_what_is_not(walker: Walker) -> None:
    walker.started("Before running").mark("Front lamps", "Sound")
    walker.open("#/")
    walked = walker.page.get_by_role("link", name=re.compile("^Badger"))
    expect(walked).to_contain_text("Before-running round, RM: 1 of 4")
    expect(walker.heading("Not walked today 1")).to_be_visible()
    walked.click()
    expect(walker.check("Front lamps")).to_be_visible()
