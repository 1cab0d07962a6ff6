"""An access step is said to be out, or back, at the vehicle's page; the plan counts on it."""

from typing import Any

import pytest

from builder.fleet import Access
from sync.desk.plan import EFFORTS
from sync.plan.gather import gather
from sync.plan.problem import Vehicle
from tests.sync.desk.window import TODAY, Window, words


@pytest.fixture(autouse=True)
def quick(monkeypatch: pytest.MonkeyPatch) -> None:
    """These tests ask what the plan's page offers, not how good the plan is."""
    monkeypatch.setitem(EFFORTS, "", 0.02)


@pytest.fixture
def above(window: Window) -> tuple[str, Access, Access]:
    """A vehicle with a step that comes out after another: its id, the first step, the one after it."""
    for view in window.service.store.edition().by_vehicle.values():
        for step in view.access.values():
            if step.needs:
                return view.id, view.access[step.needs[0]], step
    raise AssertionError("the sample fleet has no step that needs another")


def says(window: Window, vehicle: str, step: str, state: str, **more: Any) -> str:
    window.open(f"/vehicle/{vehicle}")
    return window.say(f"/vehicle/{vehicle}/step", {"step": step, "state": state, **more})


def planned(window: Window, vehicle: str) -> Vehicle:
    store = window.service.store
    return gather(store.edition(), store.state(), TODAY, store.runs()).by_vehicle[vehicle]


def test_a_step_that_is_out_is_open_for_the_plan_and_shown_on_her_page(window: Window, above: Any) -> None:
    vehicle, first, _ = above
    assert f"{first.name} is out. The plan counts on it." in says(window, vehicle, first.id, "out", hours="1,5")
    assert planned(window, vehicle).open_steps == (first.id,)
    assert "out MF 2026-10-18" in words(window.open(f"/vehicle/{vehicle}"))


def test_it_is_work_about_the_step_by_this_desk(window: Window, above: Any) -> None:
    vehicle, first, _ = above
    says(window, vehicle, first.id, "out", hours="1,5")
    row = window.last()
    assert row.kind == "work"
    assert f'"about":"{vehicle}/step/{first.id}"' in row.body
    assert '"hours":1.5' in row.body


def test_a_step_that_is_back_is_closed_again(window: Window, above: Any) -> None:
    vehicle, first, _ = above
    says(window, vehicle, first.id, "out")
    assert f"{first.name} is back." in says(window, vehicle, first.id, "back")
    assert planned(window, vehicle).open_steps == ()


def test_a_step_does_not_come_out_before_what_is_in_its_way(window: Window, above: Any) -> None:
    vehicle, first, second = above
    before = len(window.written())
    assert f"{second.name} comes out after {first.name}" in says(window, vehicle, second.id, "out")
    assert len(window.written()) == before


def test_a_step_does_not_go_back_under_one_that_is_out(window: Window, above: Any) -> None:
    vehicle, first, second = above
    for need in second.needs:
        says(window, vehicle, need, "out")
    says(window, vehicle, second.id, "out")
    assert f"{second.name} is still out, and goes back before" in says(window, vehicle, first.id, "back")


@pytest.mark.parametrize(
    ("step", "state", "why"), [("no-such", "out", "has no such access step"), ("", "up", "is no state of a step")]
)
def test_what_is_none_is_refused_in_words(window: Window, above: Any, step: str, state: str, why: str) -> None:
    vehicle, first, _ = above
    assert why in says(window, vehicle, step or first.id, state)


def test_an_open_step_offers_what_is_worth_doing_while_it_is_out(window: Window) -> None:
    views = window.service.store.edition().by_vehicle.values()
    view, task = next((v, t) for v in views for t in v.while_open.values() if not v.access[t.access].needs)
    says(window, view.id, task.access, "out")
    window.open("/plan")
    said = window.say(f"/vehicle/{view.id}/task", {"task": f"while-open/{task.id}", "state": "in hand"})
    assert task.name in said
    store = window.service.store
    problem = gather(store.edition(), store.state(), TODAY, store.runs())
    assert problem.by_task[f"{view.id}/while-open/{task.id}"].accepted
