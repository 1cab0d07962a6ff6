"""What is said of a vehicle at its page: its state and owner, tags, a permit, know-how, runs, top-ups, tasks."""

from collections.abc import Callable, Iterable, Mapping
from typing import get_args

from builder.edition import VehicleView
from builder.fleet import VehicleState
from sync.desk import may
from sync.desk.asked import NAME_MOST, Asked, filled, ruling
from sync.desk.defect_changes import amount, permit_of
from sync.errors import DeskError
from sync.plan.gather import OUT
from sync.service import Draft
from sync.state import TaskState

STATES = get_args(VehicleState)
TASK_STATES = ("open", "in hand", "waiting", "mended", "signed off")
VehicleChange = Callable[[Asked, VehicleView], str]


def state(asked: Asked, view: VehicleView) -> str:
    """Runner, laid up, revival, static, away, on loan."""
    chosen = asked.text("state", "The state")
    if chosen not in STATES:
        raise DeskError(f"{chosen!r} is no state of a vehicle; choose one of {', '.join(STATES)}")
    may.refuse_unless_lead(asked.edition, asked.by, "saying what state a vehicle is in")
    asked.write(ruling(view.id, view.id, state=chosen))
    return f"{view.name}: {chosen}."


def belongs(asked: Asked, view: VehicleView) -> str:
    """Whose it is, and who must agree before more than its owner's leave covers is done."""
    may.refuse_unless_lead(asked.edition, asked.by, "saying whose a vehicle is")
    whose = asked.line("belongs_to")
    asked.write(ruling(view.id, view.id, belongs_to=whose or None))
    return f"{view.name} belongs to: {whose}." if whose else f"{view.name}: as the fleet files have it."


def tag(asked: Asked, view: VehicleView) -> str:
    """A named person's lock-out: she may not be started until they take it off."""
    name = asked.line("tag", "What is written on the tag")
    if len(name) > NAME_MOST:
        raise DeskError(f"the tag has {len(name)} letters; at most {NAME_MOST} fit")
    if any(one.tag == name for one in asked.desk.store.tags(view.id)):
        raise DeskError(f"a tag {name!r} is on {view.name} already; write another name or number on this one")
    asked.write(
        Draft("tag", {"vehicle": view.id, "tag": name, "on": True, "reason": asked.text("reason", "The reason")})
    )
    return f"{asked.by}'s tag {name} is on {view.name}. She is stopped until it is off."


def tag_off(asked: Asked, view: VehicleView) -> str:
    name, reason = asked.line("tag", "The tag"), asked.text("reason")
    found = next((one for one in asked.desk.store.tags(view.id) if one.tag == name), None)
    if found is None:
        raise DeskError(f"no tag {name!r} is on {view.name}; open the page again")
    may.refuse_tag_off(asked.edition, found, asked.by, reason)
    asked.write(Draft("tag", {"vehicle": view.id, "tag": name, "on": False, **filled({"reason": reason})}))
    return f"Tag {name} is off."


def permit(asked: Asked, view: VehicleView) -> str:
    """Leave to move a stopped vehicle, whatever stops it."""
    if asked.ticked("take_back"):
        asked.write(ruling(view.id, view.id, permit=None))
        return "The move permit is taken back."
    if asked.desk.store.standing_of(view.id, asked.today).standing != "stopped":
        raise DeskError(f"{view.name} is not stopped; no permit is needed")
    given = permit_of(asked, "")
    asked.write(ruling(view.id, view.id, permit=given))
    return f"Move permit until {given['until']}. {view.name} stays counted as stopped."


def know_how(asked: Asked, view: VehicleView) -> str:
    about, text = asked.text("about"), asked.text("know_how", "The know-how")
    if about and not about_is_known(view, about):
        raise DeskError(f"{view.name} has no {about!r}; choose one of the list")
    asked.write(ruling(f"{view.id}/{about}" if about else view.id, view.id, know_how=text))
    return "Kept."


def about_is_known(view: VehicleView, about: str) -> bool:
    """Whether "access/STEP" or "fault/STATION/CHECK/FAULT" names something of the vehicle."""
    kind, _, rest = about.partition("/")
    if kind == "access":
        return rest in view.access
    check_id, _, fault = rest.rpartition("/")
    check = view.checks.get(check_id)
    return kind == "fault" and check is not None and check.fault(fault) is not None


def run(asked: Asked, view: VehicleView) -> str:
    day = asked.day("day", "The day")
    fields: dict[str, object] = {"vehicle": view.id, "day": day.isoformat() if day else ""}
    figures = filled({name: amount(asked, name) for name in ("hours", "distance", "laps", "fuel")})
    words = filled({"driver": asked.line("driver"), "conditions": asked.text("conditions")})
    if not figures and not words:
        raise DeskError("say how long or how far she ran, or under what conditions")
    asked.write(Draft("run", {**fields, **figures, **words}))
    return "The run is written down."


def fluid(asked: Asked, view: VehicleView) -> str:
    litres, day = amount(asked, "litres"), asked.day("day", "The day")
    if litres is None:
        raise DeskError("how many litres is missing; fill it in")
    levels = filled({name: asked.line(name) for name in ("level_before", "level_after")})
    head = {"vehicle": view.id, "fluid": asked.line("fluid", "The fluid"), "litres": litres}
    asked.write(Draft("fluid", {**head, "day": day.isoformat() if day else "", **levels}))
    return "The top-up is written down."


def tasks_of(view: VehicleView) -> dict[str, dict[str, str]]:
    """Kind -> id -> name of all that can be done on a vehicle beside mending."""
    return {
        "service": {one.id: one.name for one in view.service.values()},
        "while-open": {one.id: one.name for one in view.while_open.values()},
        "first-start": {one.id: one.name for one in view.first_start.values()},
    }


def task(asked: Asked, view: VehicleView) -> str:
    """Work on a service, a while-open task or a first-start step."""
    kind, _, name = asked.text("task", "The task").partition("/")
    known = tasks_of(view).get(kind, {})
    if name not in known:
        raise DeskError(f"{view.name} has no {kind} {name!r}; open the page again")
    chosen = asked.text("state", "How far it is")
    if chosen not in TASK_STATES:
        raise DeskError(f"{chosen!r} is no state of a task; choose one of {', '.join(TASK_STATES)}")
    about = f"{view.id}/{kind}/{name}"
    tasks = {one.about: one for one in asked.desk.store.tasks(view.id)}
    if kind == "first-start":
        done = frozenset(n for n in known if _signed(tasks.get(f"{view.id}/{kind}/{n}")))
        may.refuse_closed_gate(known, done, name, chosen)
    if chosen == "signed off":
        may.refuse_task_sign_off(asked.edition, tasks.get(about), asked.by)
    fields = filled({"hours": amount(asked, "hours"), "note": asked.text("note")})
    asked.write(Draft("work", {"about": about, "state": chosen, **fields}))
    return f"Written: {known[name]}, {chosen}."


#: A step's state where it is out, and where it is back. In dispute the less advanced stands: out.
STEP_STATES = {"out": "in hand", "back": "mended"}


def step(asked: Asked, view: VehicleView) -> str:
    """An access step is out, or back again."""
    found = view.access.get(asked.text("step", "The access step"))
    if found is None:
        raise DeskError(f"{view.name} has no such access step; open the page again")
    chosen = asked.text("state", "Whether it is out or back")
    if chosen not in STEP_STATES:
        raise DeskError(f"{chosen!r} is no state of a step; it is out, or back")
    out = steps_out(view, asked.desk.store.tasks(view.id))
    if chosen == "out" and (
        first := [view.access[one].name for one in found.needs if one in view.access and one not in out]
    ):
        raise DeskError(f"{found.name} comes out after {first[0]}; say first that that is out")
    if chosen == "back" and (above := [view.access[one].name for one in out if found.id in view.access[one].needs]):
        raise DeskError(f"{above[0]} is still out, and goes back before {found.name}")
    fields = filled({"hours": amount(asked, "hours"), "note": asked.text("note")})
    asked.write(Draft("work", {"about": step_name(view, found.id), "state": STEP_STATES[chosen], **fields}))
    return f"{found.name} is {chosen}. The plan counts on it."


def step_name(view: VehicleView, step_id: str) -> str:
    """What work on a step is about."""
    return f"{view.id}/step/{step_id}"


def steps_out(view: VehicleView, tasks: Iterable[TaskState]) -> dict[str, TaskState]:
    """The steps that are out, with who said so."""
    said = {task.about: task for task in tasks if task.state in OUT}
    return {one: said[step_name(view, one)] for one in view.access if step_name(view, one) in said}


def _signed(found: object) -> bool:
    return getattr(found, "state", "") == "signed off"


CHANGES: Mapping[str, VehicleChange] = {
    "state": state, "belongs-to": belongs, "tag": tag, "tag-off": tag_off, "permit": permit, "know-how": know_how,
    "run": run, "fluid": fluid, "task": task, "step": step,
}  # fmt: skip
