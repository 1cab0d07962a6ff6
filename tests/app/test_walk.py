"""A walk-round with a thumb: one tap, tap again, the rest, why not, resume; as it stands on the disk afterwards."""

from pathlib import Path

import pytest
from playwright.sync_api import Browser, expect

from tests.app.browsers import Site, phone
from tests.app.walker import Walker

LARGE = "addEventListener('DOMContentLoaded', () => (document.documentElement.style.fontSize = '200%'))"
SCREENS = ("#/", "#/v/badger", "#/hand-in", "#/ready", "#/who", "#/v/badger/top-up")


def test_one_tap_is_sound_and_saved(walker: Walker) -> None:
    walker.started().mark("Front lamps", "Sound")
    expect(walker.page.locator("article").filter(has_text="Front lamps")).to_contain_text("Saved")
    said = walker.entries()[-1]
    assert (said["kind"], said["check"], said["result"]) == ("finding", "nose/lamps", "sound")


def test_a_tap_again_takes_it_back(walker: Walker) -> None:
    walker.started().mark("Front lamps", "Sound")
    walker.check("Front lamps").get_by_role("radio", name="Sound").click()
    walker.written(3)
    first, second = walker.entries()[1:]
    assert second["corrects"] == first["id"]
    assert (second["result"], "why" in second) == ("unchecked", False)
    expect(walker.check("Front lamps").get_by_role("radio", name="Sound")).not_to_be_checked()


def test_not_checked_asks_why_and_says_nothing_before(walker: Walker) -> None:
    walker.started()
    walker.check("Front lamps").get_by_role("radio", name="Not checked").check()
    assert len(walker.entries()) == 1
    walker.page.get_by_role("group", name="Why not? Front lamps").get_by_role("radio", name="Dark").click()
    walker.written(2)
    assert (walker.entries()[1]["result"], walker.entries()[1]["why"]) == ("unchecked", "dark")


def test_not_checked_takes_a_reason_in_own_words(walker: Walker) -> None:
    walker.started()
    walker.check("Front lamps").get_by_role("radio", name="Not checked").check()
    walker.page.get_by_text("Another reason").first.click()
    walker.page.get_by_role("textbox", name="Another reason").fill("sheet frozen on")
    walker.button("Keep").click()
    walker.written(2)
    assert walker.entries()[1]["why"] == "sheet frozen on"


def test_a_correction_takes_the_slip_back(walker: Walker) -> None:
    walker.started().mark("Front lamps", "Sound")
    walker.defect("Front lamps").get_by_role("radio", name="One lamp out").check()
    walker.save()
    sound, defect = walker.entries()[1:]
    assert defect["corrects"] == sound["id"]
    assert (defect["result"], defect["fault"], defect["severity"]) == ("defect", "out", "minor")


def test_a_defect_is_not_lost_to_one_tap(walker: Walker) -> None:
    walker.started()
    walker.defect("Front lamps").get_by_role("radio", name="One lamp out").check()
    walker.save()
    walker.check("Front lamps").get_by_role("radio", name="Sound").click()
    walker.button("Keep it").click()
    expect(walker.check("Front lamps").get_by_role("radio", name="Defect")).to_be_checked()
    assert len(walker.entries()) == 2
    walker.check("Front lamps").get_by_role("radio", name="Sound").click()
    walker.button("Take it back").click()
    walker.written(3)
    assert walker.entries()[2]["corrects"] == walker.entries()[1]["id"]


def test_two_faults_at_one_check_stand_side_by_side(walker: Walker) -> None:
    walker.started()
    walker.defect("Front lamps").get_by_role("radio", name="One lamp out").check()
    walker.save()
    walker.page.get_by_role("button", name="Another fault: Front lamps").click()
    walker.form.get_by_role("radio", name="Bracket loose").check()
    walker.save()
    first, second = walker.entries()[1:]
    assert [first["fault"], second["fault"]] == ["out", "loose"]
    assert "corrects" not in second


def test_the_rest_is_sound_only_by_a_second_step_and_written_down_so(walker: Walker) -> None:
    walker.started()
    walker.page.get_by_role("button", name="The rest of this station is sound (2)").click()
    assert len(walker.entries()) == 1
    walker.button("I looked: all 2 are sound").click()
    walker.written(3)
    assert {(said["check"], said["result"], said["how"]) for said in walker.entries()[1:]} == {
        ("nose/lamps", "sound", "rest of station"),
        ("nose/plate", "sound", "rest of station"),
    }


def test_the_rest_speaks_of_no_reading_and_no_form_half_filled_in(walker: Walker) -> None:
    """Left track in full: sag and four hubs are measured, the seal's form is open: six wheels are the rest."""
    walker.started("Full").to("Left track")
    walker.defect("Final drive seal").get_by_role("radio", name="Seal leaking").check()
    walker.page.keyboard.press("Escape")
    expect(walker.page.get_by_text("Begun, not saved yet.")).to_be_visible()
    walker.page.get_by_role("button", name="The rest of this station is sound (6)").click()
    walker.button("I looked: all 6 are sound").click()
    walker.written(7)
    assert {said["check"] for said in walker.entries()[1:]} == {"left-track/wheels"}


def test_each_spot_is_a_group_of_its_own_and_one_tap(walker: Walker) -> None:
    walker.started("Full").to("Left track").mark("Road wheels, 3", "Sound").mark("Road wheels, 6", "Sound")
    assert [said["spot"] for said in walker.entries()[1:]] == ["3", "6"]
    expect(walker.page.get_by_text("2 of 6 saved")).to_be_visible()
    expect(walker.page.get_by_text("Counted from the nose").first).to_be_visible()


def test_sides_are_said_as_the_driver_sits(walker: Walker) -> None:
    walker.started("Full").to("Left track")
    expect(walker.page.get_by_text("Left, as the driver sits")).to_be_visible()
    walker.to("Right track")
    expect(walker.page.get_by_text("Right, as the driver sits")).to_be_visible()


def test_a_round_asks_its_own_checks_alone_in_walking_order(walker: Walker) -> None:
    walker.started("Before running")
    stations = walker.page.get_by_role("navigation", name="Stations").get_by_role("link")
    assert [text.split(",")[0] for text in stations.all_inner_texts()] == ["1. Nose", "2. Left track", "3. Engine bay"]
    expect(walker.check("Front lamps")).to_be_visible()
    expect(walker.check("Name plate")).to_have_count(0)


def test_next_leads_through_every_station_to_the_finish(walker: Walker) -> None:
    walker.started("Before running")
    for name in ("Left track", "Engine bay"):
        walker.page.get_by_role("link", name=f"Next: {2 if name == 'Left track' else 3} {name}").click()
        walker.page.get_by_role("heading", level=2, name=name).wait_for()
    # What was left behind comes round again before the finish.
    expect(walker.page.get_by_role("link", name="Next: 1 Nose")).to_be_visible()


def test_a_check_is_found_by_a_word(walker: Walker) -> None:
    walker.started("Full").button("Find a check").click()
    walker.form.get_by_label("A word of it").fill("seal leak")
    walker.form.get_by_role("button", name="Final drive seal").click()
    walker.page.get_by_role("heading", level=2, name="Left track").wait_for()
    expect(walker.check("Final drive seal")).to_be_in_viewport()


def test_finish_says_what_was_not_looked_at_and_why(walker: Walker) -> None:
    walker.started("Before running").mark("Front lamps", "Sound").finished(why="No time")
    end = walker.entries()[-1]
    assert (end["kind"], end["state"], end["covered"], end["of"]) == ("walk", "finished", 1, 4)
    assert [(left["check"], left["why"]) for left in end["unchecked"]] == [
        ("left-track/final-drive", "time"),
        ("engine/fuel", "time"),
        ("engine/oil-level", "time"),
    ]


def test_finish_waits_for_the_reason(walker: Walker) -> None:
    walker.started("Before running").mark("Front lamps", "Sound")
    walker.at_the_end()
    walker.button("Finish walk-round").click()
    expect(walker.page.get_by_text("Say why the rest was not looked at.")).to_be_visible()
    assert len(walker.entries()) == 2


def test_the_walk_goes_on_at_the_very_check_after_a_kill(walker: Walker) -> None:
    walker.started("Full").to("Left track").mark("Road wheels, 2", "Sound")
    again = walker.killed()
    again.page.get_by_role("heading", level=2, name="Left track").wait_for()
    expect(again.check("Road wheels, 2").get_by_role("radio", name="Sound")).to_be_checked()
    expect(again.check("Road wheels, 2")).to_be_in_viewport()


def test_a_form_half_filled_in_opens_again_after_a_kill(walker: Walker) -> None:
    walker.started().to("Left track")
    form = walker.defect("Sag of the top run")
    form.get_by_role("radio", name="Slack").check()
    form.get_by_label("Note", exact=True).fill("adjuster at its st")
    walker.page.wait_for_timeout(600)
    again = walker.killed()
    expect(again.form.get_by_label("Note", exact=True)).to_have_value("adjuster at its st")
    expect(again.form.get_by_role("radio", name="Slack")).to_be_checked()
    again.save()
    assert again.entries()[-1]["note"] == "adjuster at its st"


def test_a_whole_vehicle_offline_from_label_to_hand_in(walker: Walker, trial: Site, tmp_path: Path) -> None:
    """The label's address, no signal, every check of a hot round, the file that leaves."""
    walker.page.evaluate("navigator.serviceWorker.ready.then(() => true)")
    walker.page.wait_for_function("navigator.serviceWorker.controller !== null")
    walker.handset.set_offline(True)
    walker.open("#/v/badger").page.reload()
    walker.started().mark("Front lamps", "Sound").mark("Name plate", "Sound").to("Left track")
    sag = walker.check("Sag of the top run").get_by_role("textbox", name="Reading")
    sag.fill("31")
    sag.press("Enter")
    for spot in range(1, 5):
        field = walker.page.get_by_role("textbox", name=f"Reading, {spot}")
        field.fill(str(40 + spot))
        field.press("Enter")
    walker.written(8).mark("Final drive seal", "Sound").to("Engine bay").mark("Fuel pipes and taps", "Sound")
    walker.mark("Engine oil level", "Sound").finished()
    lines = walker.hand_in(tmp_path / "hand-in.txt")
    assert (lines[0]["fleet"], lines[0]["entries"]) == ("trial", 12)
    assert [line["reading"] for line in lines if line.get("check") == "left-track/hubs"] == [
        {"value": 40 + spot, "unit": "°C"} for spot in range(1, 5)
    ]
    assert lines[-2]["state"] == "finished"
    assert lines[-2]["covered"] == lines[-2]["of"] == 10
    assert lines[-1]["end"] is True


def too_wide(walker: Walker) -> list[str]:
    """What reaches past the screen's right edge; the strip of stations is there to be pushed."""
    return list(
        walker.page.evaluate(
            """() => [...document.querySelectorAll("body *")]
                .filter((it) => it.checkVisibility() && !it.closest(".strip, .unseen"))
                .filter((it) => it.getBoundingClientRect().right > innerWidth + 1)
                .map((it) => `${location.hash} ${it.tagName} ${it.textContent}`)"""
        )
    )


@pytest.mark.parametrize("width", [320, 360])
def test_nothing_is_wider_than_the_phone_even_with_large_letters(browser: Browser, trial: Site, width: int) -> None:
    context = phone(browser, viewport={"width": width, "height": 640})
    walker = Walker(context, trial.url).introduced()
    walker.page.add_init_script(LARGE)
    walker.page.reload()
    walker.started("Full").to("Left track")
    for route in (*SCREENS, walker.page.evaluate("location.hash")):
        walker.open(route)
        walker.page.locator("h1:not(:empty)").wait_for()
        assert too_wide(walker) == []
    field = walker.check("Sag of the top run").get_by_role("textbox").bounding_box()
    assert field is not None
    assert field["width"] > width / 3
    form = walker.defect("Sag of the top run")
    form.get_by_role("radio", name="Slack").check()
    assert too_wide(walker) == []
    context.close()
