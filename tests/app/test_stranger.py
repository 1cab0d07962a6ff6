"""What somebody new to the app meets: an empty phone, words that go when they no longer hold, readable figures."""

import json

from playwright.sync_api import expect

from tests.app.conftest import Bench
from tests.app.test_known import CARRY
from tests.app.walker import Walker

GEAR = """
const { plan } = await load("ui/plan");
const { setLanguage } = await load("words/index");
await setLanguage("en");
const gear = (found) => [...found.querySelectorAll(".plan-wheel, .plan-track")].map(
  (part) => [part.getAttribute("class"), Number(part.getAttribute("x")), Number(part.getAttribute("width"))]);
return gear(plan([], 0, given));
"""
TRACKED = {"track_pitch_mm": 120}
FRONT_WHEEL = {"at": [0.2, 0.05], "mirror": "right-wheel"}
TRACK = {"at": [0.6, 0.05], "mirror": "right-track"}
NOSE = {"at": [0.02, 0.5]}


def test_a_half_track_is_drawn_with_wheels_in_front_of_its_tracks(bench: Bench) -> None:
    drawn = bench.run(GEAR, {"facts": TRACKED, "stations": [NOSE, FRONT_WHEEL, TRACK]})
    wheels = [x + width for kind, x, width in drawn if kind == "plan-wheel"]
    tracks = [x for kind, x, _ in drawn if kind == "plan-track"]
    assert (len(wheels), len(tracks)) == (2, 2)
    assert max(wheels) < min(tracks)


def test_a_tracked_vehicle_is_drawn_without_wheels(bench: Bench) -> None:
    drawn = bench.run(GEAR, {"facts": TRACKED, "stations": [NOSE, TRACK]})
    assert [kind for kind, *_ in drawn] == ["plan-track", "plan-track"]


def test_an_empty_phone_does_not_say_that_the_workshop_has_everything(walker: Walker) -> None:
    expect(walker.page.get_by_role("status").first).to_have_text("Nothing recorded on this phone")
    walker.open("#/hand-in")
    expect(walker.heading("Nothing recorded on this phone")).to_be_visible()


def test_known_defects_that_were_taken_are_no_longer_said_to_be_missing(walker: Walker) -> None:
    walker.open("#/hand-in")
    expect(walker.page.get_by_text("None have come from the workshop yet.")).to_be_visible()
    file = {"name": "carry.txt", "mimeType": "text/plain", "buffer": json.dumps(CARRY).encode()}
    walker.page.get_by_label("Open a carry file").set_input_files([file])
    expect(walker.page.get_by_text("3 known defects, as of")).to_be_visible()
    expect(walker.page.get_by_text("None have come from the workshop yet.")).to_have_count(0)


def test_what_was_lacking_on_one_screen_is_not_said_on_the_next(walker: Walker) -> None:
    walker.open("#/v/badger/top-up")
    walker.button("Save").click()
    note = walker.page.get_by_text("Choose the fluid and say how many litres.")
    expect(note).to_be_visible()
    walker.page.evaluate("location.hash = '#/who'")
    walker.heading("Who is walking?").wait_for()
    assert note.count() == 0


def test_saved_is_still_read_on_the_screen_that_follows(walker: Walker) -> None:
    walker.open("#/v/badger/run")
    walker.page.get_by_label("Laps").fill("2")
    walker.button("Save").click()
    walker.page.get_by_role("heading", name="Badger", exact=True).wait_for()
    expect(walker.page.get_by_text("Saved on this phone")).to_be_visible()


def test_a_form_leads_to_what_it_lacks(walker: Walker) -> None:
    walker.started()
    form = walker.defect("Front lamps")
    walker.add_photo()
    form.get_by_role("button", name="Save").click()
    expect(form.get_by_role("radio", name="Dangerous")).to_be_focused()
    form.get_by_role("radio", name="Minor").check()
    expect(walker.page.get_by_text("Choose the severity.")).to_have_count(0)


def test_a_limit_in_another_unit_has_three_figures_and_lies_on_the_safe_side(bench: Bench) -> None:
    script = """
    const { limitIn } = await load("units");
    const conversions = { pressure: { psi: [6.894757, 0], bar: [100, 0], kPa: [1, 0] } };
    const limits = { quantity: "pressure", unit: "psi" };
    return given.map(([limit, side, unit]) => limitIn(limit, side, limits, unit, conversions));
    """
    asked = [[35, "low", "bar"], [80, "high", "bar"], [35, "low", "psi"], [45, "high", "kPa"], [0, "low", "bar"]]
    assert bench.run(script, asked) == [2.42, 5.51, 35, 310, 0]


def test_the_gravest_known_defect_of_a_vehicle_is_read_first(walker: Walker) -> None:
    walker.open("#/hand-in")
    file = {"name": "carry.txt", "mimeType": "text/plain", "buffer": json.dumps(CARRY).encode()}
    walker.page.get_by_label("Open a carry file").set_input_files([file])
    walker.page.get_by_text("3 known defects, as of").wait_for()
    walker.open("#/v/badger")
    known = walker.page.locator(".known-list .graded")
    expect(known.first).to_be_visible()
    order = ["Dangerous", "Major", "Minor", "Advisory"]
    found = [order.index(words) for words in known.all_text_contents()]
    assert found == sorted(found)
    assert len(set(found)) > 1


def test_why_a_wheel_was_not_checked_names_the_wheel(walker: Walker) -> None:
    walker.started("Full").to("Left track")
    walker.check("Road wheels, 2").get_by_role("radio", name="Not checked").click()
    expect(walker.page.get_by_text("2: Why not?")).to_be_visible()
    walker.radio("Mud").click()
    expect(walker.page.get_by_text("2: Not checked: Mud")).to_be_visible()
