"""What is said of a defect at its page: each form becomes an entry, or is refused in words."""

from collections.abc import Callable, Mapping
from datetime import date, timedelta

from builder.fleet import SEVERITIES
from sync.desk import may
from sync.desk.asked import Asked, Change, filled, ruling
from sync.desk.robbing import Missing, open_there, opened, own_name, station_for
from sync.errors import DeskError
from sync.service import Draft
from sync.standing import may_escalate
from sync.state import Defect, Severity

STATES = ("open", "in hand", "waiting", "mended", "tested")
WAIT_KINDS = ("part", "sent out", "person", "owner")
PART_STATES = ("needed", "ordered", "here")
Rule = Callable[[Asked], Draft]


def work(asked: Asked, defect: Defect) -> str:
    """How far it is, hours and money booked; what it waits for."""
    state = asked.text("state", "How far it is")
    if state not in STATES:
        raise DeskError(f"{state!r} is no state of work; choose one of {', '.join(STATES)}")
    fields: dict[str, object] = {"hours": amount(asked, "hours"), "cost": amount(asked, "cost")}
    fields["note"] = asked.text("note")
    if state == "waiting":
        fields["wait"] = wait_of(asked)
    asked.write(Draft("work", {"about": defect.opening, "state": state, **filled(fields)}))
    return f"Written: {state}."


def wait_of(asked: Asked) -> dict[str, object]:
    """What work waits for: a part, a unit sent out, a person, an owner's leave."""
    kind = asked.text("wait_kind", "What kind of wait it is")
    if kind not in WAIT_KINDS:
        raise DeskError(f"{kind!r} is no kind of wait; choose one of {', '.join(WAIT_KINDS)}")
    due = asked.day("wait_due")
    wait: dict[str, object] = {
        "for": asked.line("wait_for", "What it waits for"),
        "kind": kind,
        "where": asked.line("wait_where", "Where it was sent, and under which tag") if kind == "sent out" else "",
        "due": due.isoformat() if due else "",
    }
    wait["where"] = wait["where"] or asked.line("wait_where")
    return {**filled(wait), **({"firm": True} if due and asked.ticked("wait_firm") else {})}


def sign_off(asked: Asked, defect: Defect) -> str:
    """Tested and signed off, by a second person where that must be."""
    tested = asked.text("note")
    may.refuse_sign_off(asked.edition, defect, asked.by, tested)
    fields = filled({"note": tested, "hours": amount(asked, "hours")})
    asked.write(Draft("work", {"about": defect.opening, "state": "signed off", **fields}))
    now = asked.desk.store.defect(defect.opening)
    if now.closed is None:
        return f"Signed off by {asked.by}, but it stays {now.status}: somebody says otherwise, see its conflict."
    return f"Signed off by {asked.by}. The defect is closed."


def owner(asked: Asked, defect: Defect) -> str:
    name = asked.line("owner")
    asked.write(ruling(defect.opening, defect.vehicle, owner=name or None))
    return f"{name} has it now." if name else "Nobody has it now."


def found(asked: Asked, defect: Defect) -> str:
    """As found, beside as reported."""
    said = {name: asked.line(name) for name in ("fault", "check", "spot")} | {"cause": asked.text("cause")}
    if not said["fault"] and not said["cause"]:
        raise DeskError("say what was found: the fault, or its cause, or both")
    asked.write(ruling(defect.opening, defect.vehicle, diagnosis=filled(said)))
    return "Written: what was found."


def for_now(asked: Asked, defect: Defect) -> str:
    """Mended for now, with its end and how to undo it; or that taken back."""
    if asked.ticked("take_back"):
        may.refuse_later_end(asked.edition, defect, "", asked.by)
        asked.write(ruling(defect.opening, defect.vehicle, temporary=None))
        return "The repair for now is taken back."
    what, undo = asked.text("what", "What was done for now"), asked.text("undo", "How to undo it")
    until = ahead(asked, "until", "Until when it holds")
    may.refuse_later_end(asked.edition, defect, until.isoformat(), asked.by)
    held = {"what": what, "until": until.isoformat(), "undo": undo}
    asked.write(ruling(defect.opening, defect.vehicle, temporary=held))
    return f"Mended for now, until {until.isoformat()}. The defect stays open and is asked on each round."


def severity(asked: Asked, defect: Defect) -> str:
    to = _severity(asked.text("to_severity", "The severity"))
    reason = asked.text("reason", "The reason")
    may.refuse_lowering(asked.edition, defect, to, asked.by)
    asked.write(ruling(defect.opening, defect.vehicle, severity={"to": to, "reason": reason}))
    now = asked.desk.store.defect(defect.opening)
    if now.severity != to:
        return f"Written, but it stays {now.severity}: {now.severity_why or 'a graver claim stands'}."
    return f"It is {to} now."


def escalate(asked: Asked, defect: Defect) -> str:
    """One category up, for several defects of one test area together; or that taken back."""
    if asked.ticked("take_back"):
        may.refuse_unless_lead(asked.edition, asked.by, "taking back a move up one category")
        asked.write(ruling(defect.opening, defect.vehicle, escalated=None))
        return "The move up one category is taken back."
    reason = asked.text("reason", "The reason, which names the higher risk of all together,")
    if defect.severity == "dangerous":
        raise DeskError(f"{defect.code} is dangerous already; there is no graver category")
    why_not = may_escalate(defect, asked.desk.store.defects(defect.vehicle))
    if why_not:
        raise DeskError(why_not)
    asked.write(ruling(defect.opening, defect.vehicle, escalated={"reason": reason}))
    return f"Moved up one category: {asked.desk.store.defect(defect.opening).severity}."


def permit(asked: Asked, defect: Defect) -> str:
    """Written leave to move a stopped vehicle, under limits; or that taken back."""
    if asked.ticked("take_back"):
        asked.write(ruling(defect.opening, defect.vehicle, permit=None))
        return "The move permit is taken back."
    if defect.severity != "dangerous":
        raise DeskError(f"{defect.code} is {defect.severity} and stops nothing; no permit is needed for it")
    given = permit_of(asked, defect.system)
    asked.write(ruling(defect.opening, defect.vehicle, permit=given))
    return f"Move permit until {given['until']}. The vehicle stays counted as stopped."


def permit_of(asked: Asked, system: str) -> dict[str, str]:
    """A permit's fields, with the three things it must be true of. Raises DeskError."""
    until = ahead(asked, "until", "Until when it holds")
    may.refuse_permit(asked.edition, system, until, asked.today, asked.by)
    must = {
        "own_power": "it must move under its own power",
        "no_danger": "it is no danger to the crew or to others",
        "no_damage": "it does itself no further damage",
    }
    missing = [words for name, words in must.items() if not asked.ticked(name)]
    if missing:
        raise DeskError(f"a permit is written only where all three are true; not ticked: {'; '.join(missing)}")
    limits = asked.text("limits", "The limits (speed, distance, with whom)")
    return {"limits": limits, "until": until.isoformat(), "reason": asked.text("reason", "The reason")}


def close(asked: Asked, defect: Defect) -> str:
    """Closed by a lead with a reason, or opened again."""
    if asked.ticked("take_back"):
        may.refuse_unless_lead(asked.edition, asked.by, "opening a defect again")
        asked.write(ruling(defect.opening, defect.vehicle, closed=None))
        return "Opened again."
    may.refuse_unless_lead(asked.edition, asked.by, "closing a defect without signed-off work")
    asked.write(ruling(defect.opening, defect.vehicle, closed={"reason": asked.text("reason", "The reason")}))
    return "Closed."


def part(asked: Asked, defect: Defect) -> str:
    """A part for this defect: needed, ordered, or here and where it lies; taken from another vehicle, it is missing
    there, which opens a defect."""
    name, state = asked.line("part", "The part"), asked.text("part_state", "How far the part is")
    if state not in PART_STATES:
        raise DeskError(f"{state!r} is no state of a part; choose one of {', '.join(PART_STATES)}")
    due, other = asked.day("part_due"), asked.text("taken_from")
    where = asked.view(other).name if other else asked.line("part_where")
    more = filled({"where": where, "due": due.isoformat() if due else ""})
    draft = Draft("part", {"part": own_name(asked, name, defect), "for": defect.opening, "state": state, **more})
    if not other:
        asked.write(draft)
        return f"{draft.fields['part']}: {state}."
    if state != "here":
        raise DeskError(f"{name} was taken from {where}, so it is here; choose that, or leave the vehicle out")
    view = asked.view(other)
    return opened(asked, defect, Missing(name, view, station_for(view, name, defect)), draft)


def ask(asked: Asked, defect: Defect) -> str:
    who = asked.line("who")
    asked.write(ruling(defect.opening, defect.vehicle, ask={"who": who} if who else None))
    return f"{who} is asked for a look." if who else "No look is asked for any more."


def know_how(asked: Asked, defect: Defect) -> str:
    """A note that stays with this fault of this vehicle, also when the defect is closed."""
    about = f"{defect.vehicle}/fault/{defect.check}/{defect.fault}" if defect.check else defect.vehicle
    asked.write(ruling(about, defect.vehicle, know_how=asked.text("know_how", "The know-how")))
    return "Kept for whoever meets this fault again."


def place(asked: Asked, defect: Defect) -> str:
    """Something else, or what is not placed, to a check of the vehicle. From a check only a lead moves it."""
    if defect.placing == "check":
        may.refuse_unless_lead(asked.edition, asked.by, "moving a defect to another check")
    view = asked.view(defect.vehicle)
    check_id, _, fault = asked.text("place", "The check").partition("|")
    check = view.checks.get(check_id)
    if check is None or (fault and check.fault(fault) is None):
        raise DeskError(f"{view.name} has no check {check_id!r} with the fault {fault!r}; choose one of the list")
    spot = asked.line("spot")
    if spot not in (check.spots or ("",)):
        named = f"one of {', '.join(check.spots)}" if check.spots else "none: this check has no spots"
        raise DeskError(f"{spot!r} is no spot of {check.ask}; expected {named}")
    placed = filled({"check": check_id, "spot": spot, "fault": fault})
    asked.write(ruling(defect.opening, defect.vehicle, placed=placed))
    return f"Placed at {check.ask}."


def explain(asked: Asked, defect: Defect) -> str:
    """This defect explains a report."""
    asked.write(ruling(asked.text("report", "The report"), defect.vehicle, explains=defect.opening))
    return "The report is explained by this defect."


def ahead(asked: Asked, name: str, needed: str) -> date:
    """A day from today on. Raises DeskError for one that is over, or farther off than ten years."""
    day = asked.day(name, needed)
    if day is None or not asked.today <= day <= asked.today + timedelta(days=3653):
        raise DeskError(f"{needed}: {day} is over or too far off; name a day from {asked.today.isoformat()} on")
    return day


def amount(asked: Asked, name: str) -> float | None:
    value = asked.number(name)
    if value is not None and not 0 <= value <= 1e6:
        raise DeskError(f"{name} are {value:g}; possible is 0 or more")
    return value


def _severity(text: str) -> Severity:
    found = next((severity for severity in SEVERITIES if severity == text), None)
    if found is None:
        raise DeskError(f"{text!r} is no severity; choose one of {', '.join(SEVERITIES)}")
    return found


#: What may be said of an open defect, and of one that is closed.
CHANGES: Mapping[str, Change] = {
    "work": work, "sign-off": sign_off, "owner": owner, "found": found, "for-now": for_now, "severity": severity,
    "escalate": escalate, "permit": permit, "close": close, "part": part, "ask": ask, "know-how": know_how,
    "place": place, "explain": explain, "robbed": open_there,
}  # fmt: skip
WHEN_CLOSED = frozenset({"close", "know-how", "explain"})
