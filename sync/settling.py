"""A conflict and the side that a person chose -> the entry that says so. Pure."""

from collections.abc import Iterable
from typing import Any

import msgspec

from sync.errors import DeskError
from sync.state import Conflict, JobState

_OWN = ("id", "device", "seq", "at", "by", "edition", "kind", "knows", "corrects")
_BOOKED = ("hours", "cost")  # the side that is said again has booked them already


def settlement(
    conflict: Conflict, choose: str, reason: str, chosen: str, jobs: Iterable[JobState] = ()
) -> tuple[str, dict[str, Any]]:
    """(kind, fields) of the entry that ends a conflict with one of its sides; `chosen` is that entry's line.

    `jobs` are those there are, as they stand: a job entry says all of its fields, and only the one in dispute is the
    chosen side's.

    Raises DeskError where the reason is empty or the choice is none of the conflict's sides.
    """
    sides = [side.entry for side in conflict.sides]
    if choose not in sides or not chosen:
        listed = ", ".join(f"{side.entry} ({side.by})" for side in conflict.sides)
        raise DeskError(f"{choose!r} is no side of {conflict.id}; choose one of {listed}")
    if not reason.strip():
        raise DeskError("a settlement needs a reason: those who saw it otherwise will read it")
    if conflict.kind == "field":
        return _again(conflict, msgspec.json.decode(chosen), reason, jobs)
    fields = {"vehicle": conflict.vehicle, "check": conflict.check, "spot": conflict.spot, "fault": conflict.fault}
    return "settle", {**{k: v for k, v in fields.items() if v}, "choose": choose, "reason": reason}


def _again(
    conflict: Conflict, line: dict[str, Any], reason: str, jobs: Iterable[JobState]
) -> tuple[str, dict[str, Any]]:
    """A ruling's, job's, part's or work's value is settled by saying it again, knowing both."""
    kind = line["kind"]
    fields = {key: value for key, value in line.items() if key not in _OWN}
    if kind == "ruling":
        fields["set"] = {conflict.field: line["set"].get(conflict.field)}
    elif kind == "work":
        fields = {**{key: value for key, value in fields.items() if key not in _BOOKED}, "note": reason}
    elif kind == "job":
        job = next(job for job in jobs if job.job == line["job"])
        stands = {"title": job.title, "defects": job.defects, "tasks": job.tasks, "steps": job.steps}
        fields |= {key: value for key, value in stands.items() if key != conflict.field}
    return kind, fields if kind == "work" else {**fields, "reason": reason}
