"""What is said of a vehicle at its page, and of a revival's steps: entries by the desk's device, or words why not."""

from typing import Any

import pytest

from sync.desk.vehicles import due_words
from sync.state import TaskState
from tests.sync.desk.window import TODAY, Window, words

KETTLE = "/vehicle/kettle"
PERMIT = {"own_power": "yes", "no_danger": "yes", "no_damage": "yes", "limits": "walking pace", "until": "2026-10-20",
          "reason": "she blocks the door"}  # fmt: skip


def said(window: Window, address: str, change: str, **fields: Any) -> str:
    window.open(address)
    return window.say(f"{address}/{change}", fields)


CHANGES = [
    ("state", {"state": "laid up"}, "ruling"),
    ("belongs-to", {"belongs_to": "the trust; its engineer agrees to welding"}, "ruling"),
    ("tag", {"tag": "MF 1", "reason": "hands in the engine bay"}, "tag"),
    ("permit", PERMIT, "ruling"),
    ("know-how", {"about": "access/left-track-break", "know_how": "from behind"}, "ruling"),
    ("know-how", {"about": "", "know_how": "second gear on the ramp"}, "ruling"),
    ("run", {"day": "2026-10-17", "hours": "1,5", "driver": "MF"}, "run"),
    ("fluid", {"day": "2026-10-17", "fluid": "engine oil", "litres": "2"}, "fluid"),
    ("task", {"task": "service/", "state": "in hand", "hours": "1"}, "work"),
]


@pytest.mark.parametrize(("change", "fields", "kind"), CHANGES, ids=[f"{c[0]} {n}" for n, c in enumerate(CHANGES)])
def test_every_change_is_an_entry_by_the_desks_device(
    window: Window, change: str, fields: dict[str, str], kind: str
) -> None:
    view = window.service.store.edition().by_vehicle["kettle"]
    if fields.get("about"):
        fields = {**fields, "about": f"access/{next(iter(view.access))}"}
    if change == "task":
        fields = {**fields, "task": f"service/{next(iter(view.service))}"}
    before = len(window.written())
    text = said(window, KETTLE, change, **fields)
    assert "That did not work" not in text
    written = window.written()[before:]
    assert [(row.kind, row.device) for row in written] == [(kind, window.service.device)]


@pytest.mark.parametrize(
    ("change", "fields", "why"),
    [
        ("state", {"state": "sunk"}, "is no state of a vehicle"),
        ("tag", {"tag": "1"}, "The reason is missing"),
        ("tag-off", {"tag": "none of hers"}, "no tag 'none of hers' is on"),
        ("know-how", {"about": "access/no-such", "know_how": "x"}, "has no 'access/no-such'"),
        ("run", {"day": "2026-10-17"}, "say how long or how far"),
        ("fluid", {"day": "2026-10-17", "fluid": "engine oil"}, "litres is missing"),
        ("task", {"task": "service/no-such", "state": "open"}, "has no service 'no-such'"),
        ("permit", {**PERMIT, "until": "2026-12-24"}, "within 7 days"),
    ],
)
def test_what_cannot_be_is_refused_in_words(window: Window, change: str, fields: dict[str, str], why: str) -> None:
    before = len(window.written())
    assert why in said(window, KETTLE, change, **fields)
    assert len(window.written()) == before


@pytest.mark.parametrize("change", ["state", "belongs-to"])
def test_her_state_and_whose_she_is_are_a_leads_word(window: Window, change: str) -> None:
    assert "is for a lead; ask MF" in said(window.sit("TA"), KETTLE, change, state="runner", belongs_to="me")


class TestTags:
    def test_a_tag_stops_her_until_its_owner_takes_it_off(self, window: Window) -> None:
        nutmeg = "/vehicle/nutmeg"
        assert "TA's tag 7 is on Nutmeg" in said(window.sit("TA"), nutmeg, "tag", tag="7", reason="under her")
        assert window.service.store.standing_of("nutmeg", TODAY).standing == "stopped"
        assert "tag of TA: under her" in words(window.open(nutmeg))
        assert "is for a lead; ask MF" in said(window.sit("OG"), nutmeg, "tag-off", tag="7", reason="he went home")
        assert "Tag 7 is off." in said(window.sit("TA"), nutmeg, "tag-off", tag="7")
        assert window.service.store.standing_of("nutmeg", TODAY).standing == "fit"

    def test_a_lead_takes_it_off_with_a_reason(self, window: Window) -> None:
        said(window.sit("TA"), KETTLE, "tag", tag="7", reason="under her")
        assert "a lead takes it off with a reason" in said(window.sit("MF"), KETTLE, "tag-off", tag="7")
        assert "Tag 7 is off." in said(window, KETTLE, "tag-off", tag="7", reason="he rang: all clear")

    def test_two_tags_of_one_name_are_refused(self, window: Window) -> None:
        said(window, KETTLE, "tag", tag="7", reason="a")
        assert "is on Kettle already" in said(window.sit("TA"), KETTLE, "tag", tag="7", reason="b")


def test_a_permit_for_who_is_not_stopped_is_refused(window: Window) -> None:
    assert "Nutmeg is not stopped" in said(window, "/vehicle/nutmeg", "permit", **PERMIT)


def test_a_run_under_a_reports_conditions_closes_it(window: Window) -> None:
    report = window.service.store.reports("kettle")[0]
    said(window, KETTLE, "run", day="2026-10-18", hours="0.5", conditions=report.conditions)
    assert window.service.store.reports("kettle") == ()


def test_running_hours_add_up(window: Window) -> None:
    said(window, "/vehicle/lantern", "run", day="2026-10-17", hours="1,5")
    text = said(window, "/vehicle/lantern", "run", day="2026-10-18", hours="2")
    assert "3.5 running hours written down" in text


class TestRevivals:
    def test_a_step_is_closed_until_those_before_it_are_signed_off(self, window: Window) -> None:
        steps = list(window.service.store.edition().by_vehicle["dumpling"].first_start)
        text = said(window, "/vehicle/dumpling", "task", task=f"first-start/{steps[1]}", state="in hand")
        assert "this step is closed until the one before it is signed off" in text
        page = words(window.open("/revivals"))
        assert page.count("open now") == 2  # the first of each revival
        assert "First start: 0 of 12 signed off" in page

    def test_signed_off_by_a_lead_who_did_not_do_it_the_next_one_opens(self, window: Window) -> None:
        steps = list(window.service.store.edition().by_vehicle["dumpling"].first_start)
        first = {"task": f"first-start/{steps[0]}"}
        said(window.sit("BC"), "/vehicle/dumpling", "task", **first, state="mended", note="frame sound")
        assert "is for a lead" in said(window, "/vehicle/dumpling", "task", **first, state="signed off")
        said(window.sit("MF"), "/vehicle/dumpling", "task", **first, state="signed off")
        assert "First start: 1 of 12 signed off" in words(window.open("/revivals"))
        assert "Written:" in said(window, "/vehicle/dumpling", "task", task=f"first-start/{steps[1]}", state="in hand")

    def test_who_did_it_does_not_sign_it_off(self, window: Window) -> None:
        steps = list(window.service.store.edition().by_vehicle["dumpling"].first_start)
        first = {"task": f"first-start/{steps[0]}"}
        said(window, "/vehicle/dumpling", "task", **first, state="mended")
        refused = said(window, "/vehicle/dumpling", "task", **first, state="signed off")
        assert "a lead who did not do it signs it off; there is no other" in refused

    def test_a_vehicle_made_a_revival_moves_to_its_own_list(self, window: Window) -> None:
        said(window, "/vehicle/mangle", "state", state="revival")
        assert "/defect/mangle-" not in window.open("/backlog")
        assert "/defect/mangle-" in window.open("/revivals")


@pytest.mark.parametrize(("signed", "due"), [("2026-01-31", "2026-02-28"), ("2026-03-30", "2026-04-30")])
def test_a_service_is_due_on_the_day_that_the_plan_has(signed: str, due: str) -> None:
    task = TaskState(about="kettle/service/oil", vehicle="kettle", signed=(signed,))
    assert due_words(task, 1, TODAY) == f"last {signed}, over since {due}"
