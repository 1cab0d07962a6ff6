"""A conflict and the side that a person chose -> the entry that says so. Pure."""

from typing import Any

import msgspec

from sync.errors import DeskError
from sync.state import Conflict


def settlement(conflict: Conflict, choose: str, reason: str, chosen: str) -> tuple[str, dict[str, Any]]:
    """(kind, fields) of the entry that ends a conflict with one of its sides; `chosen` is that entry's line.

    Raises DeskError where the reason is empty or the choice is none of the conflict's sides.
    """
    sides = [side.entry for side in conflict.sides]
    if choose not in sides or not chosen:
        listed = ", ".join(f"{side.entry} ({side.by})" for side in conflict.sides)
        raise DeskError(f"{choose!r} is no side of {conflict.id}; choose one of {listed}")
    if not reason.strip():
        raise DeskError("a settlement needs a reason: those who saw it otherwise will read it")
    if conflict.kind == "field":
        return _again(conflict, msgspec.json.decode(chosen), reason)
    fields = {"vehicle": conflict.vehicle, "check": conflict.check, "spot": conflict.spot, "fault": conflict.fault}
    return "settle", {**{k: v for k, v in fields.items() if v}, "choose": choose, "reason": reason}


def _again(conflict: Conflict, line: dict[str, Any], reason: str) -> tuple[str, dict[str, Any]]:
    """A ruling's or work's value is settled by saying it again, knowing both."""
    kind = line["kind"]
    own = ("id", "device", "seq", "at", "by", "edition", "kind", "knows", "corrects")
    fields = {key: value for key, value in line.items() if key not in own}
    if kind == "ruling":
        fields["set"] = {conflict.field: line["set"].get(conflict.field)}
    return kind, {**fields, "note": reason} if kind == "work" else {**fields, "reason": reason}
