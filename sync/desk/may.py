"""Who may say what at the desk, refused in words before anything is written. Pure.

Lowering, voiding and signing off are judged again by the fold, whoever wrote them. Of a permit its seven days are, its
writer is not: it lifts nothing, and the vehicle stays counted as stopped.
"""

from collections.abc import Iterable
from datetime import date, timedelta

from builder.edition import Edition, EditionPerson
from builder.fleet import SECOND_PERSON_SYSTEMS
from sync.errors import DeskError
from sync.fold.authority import gravity
from sync.state import Defect, Severity, TagState, TaskState

PERMIT_DAYS = 7
DONE = ("mended", "tested")


def leads_of(edition: Edition) -> str:
    """The initials of those who may, to be asked."""
    return " or ".join(person.initials for person in edition.people if person.lead) or "nobody in this fleet"


def refuse_unless_lead(edition: Edition, by: str, what: str) -> None:
    """`what` is the deed: "closing a defect". Raises DeskError for anybody but a lead."""
    if not _person(edition, by).lead:
        raise DeskError(f"{what} is for a lead; ask {leads_of(edition)}")


def may_sign(edition: Edition, system: str) -> tuple[str, ...]:
    """Initials of those who may sign off a system's work; a lead any, also what belongs to none."""
    return tuple(p.initials for p in edition.people if p.lead or (system and system in p.signs_off))


def second_person(defect: Defect) -> str:
    """Why somebody else than the mender signs it off, in words; empty where nobody must."""
    reasons = ["it was dangerous"] if defect.severity == "dangerous" else []
    if defect.system in SECOND_PERSON_SYSTEMS:
        reasons.append(f"it is on the {defect.system}" if defect.system != "lifting" else "it is lifting gear")
    return " and ".join(reasons)


def menders(defect: Defect) -> tuple[str, ...]:
    """Who said of it that it is mended, each once."""
    return tuple(dict.fromkeys(said.by for said in defect.work if said.said == "mended"))


def refuse_sign_off(edition: Edition, defect: Defect, by: str, tested: str) -> None:
    """Raises DeskError where `by` may not sign the work off: not done, not theirs to sign, or their own work."""
    if defect.closed is not None:
        raise DeskError(f"{defect.code} is closed already")
    if defect.status not in DONE:
        raise DeskError(f"{defect.code} is {defect.status}; it is signed off after somebody wrote that it is mended")
    if defect.status == "mended" and not tested:
        raise DeskError("say how it was tested, and how it went")
    allowed = may_sign(edition, defect.system)
    if by not in allowed:
        what = f"work on {defect.system}" if defect.system else "what belongs to no system"
        raise DeskError(f"{by} may not sign off {what}; {_those(allowed)} may")
    why = second_person(defect)
    if why and by in menders(defect):
        others = [name for name in allowed if name not in menders(defect)]
        raise DeskError(f"{by} mended it, and a second person signs it off, for {why}; {_those(others)} may")


def refuse_lowering(edition: Edition, defect: Defect, to: Severity, by: str) -> None:
    """Nobody without authority lowers. Raises DeskError."""
    if gravity(to) < gravity(defect.severity):
        refuse_unless_lead(edition, by, f"lowering {defect.severity} to {to}")


def refuse_later_end(edition: Edition, defect: Defect, until: str, by: str) -> None:
    """A repair for now is taken back, or given a later end, by a lead alone. `until` "" takes it back."""
    held = defect.temporary
    if held is not None and (not until or until > held.until.isoformat()):
        refuse_unless_lead(edition, by, "taking back a repair for now, or giving it a later end,")


def refuse_permit(edition: Edition, system: str, until: date, today: date, by: str) -> None:
    """A move permit ends within 7 days and is written by one who may sign off. Raises DeskError."""
    if until < today:
        raise DeskError(f"{until.isoformat()} is over; a permit ends today or later")
    if until > today + timedelta(days=PERMIT_DAYS):
        last = (today + timedelta(days=PERMIT_DAYS)).isoformat()
        raise DeskError(f"a permit ends within {PERMIT_DAYS} days, by {last} at the latest; write a new one then")
    allowed = may_sign(edition, system)
    if by not in allowed:
        raise DeskError(f"a move permit is for those who may sign the work off; {_those(allowed)} may")


def refuse_tag_off(edition: Edition, tag: TagState, by: str, reason: str) -> None:
    """A tag comes off by its owner, or a lead with a reason. Raises DeskError."""
    if by == tag.owner:
        return
    refuse_unless_lead(edition, by, f"taking off the tag of {tag.owner}")
    if not reason:
        raise DeskError(f"the tag is {tag.owner}'s; a lead takes it off with a reason")


def refuse_closed_gate(steps: Iterable[str], done: frozenset[str], step: str, state: str) -> None:
    """A first-start step is closed until all before it are signed off. Raises DeskError."""
    before = [name for name in _until(steps, step) if name not in done]
    if before and state != "open":
        raise DeskError(f"this step is closed until the one before it is signed off: {before[0]}")


def refuse_task_sign_off(edition: Edition, task: TaskState | None, by: str) -> None:
    """A task is signed off by a lead who did not do it. Raises DeskError."""
    refuse_unless_lead(edition, by, "signing off a step")
    done_by = {said.by for said in task.work if said.said == "mended"} if task else set()
    if by in done_by:
        others = [person.initials for person in edition.people if person.lead and person.initials not in done_by]
        ask = f"ask {_those(others)}" if others else "there is no other, so somebody else writes that it is mended"
        raise DeskError(f"{by} did this step, and a lead who did not do it signs it off; {ask}")


def _person(edition: Edition, by: str) -> EditionPerson:
    return edition.by_initials.get(by) or EditionPerson(initials=by)


def _those(names: Iterable[str]) -> str:
    return " or ".join(names) or "nobody in this fleet"


def _until(steps: Iterable[str], step: str) -> list[str]:
    found = []
    for name in steps:
        if name == step:
            break
        found.append(name)
    return found
