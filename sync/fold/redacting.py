"""Redaction: what a person took away from an entry's content; its hash, its place and its meaning stay."""

from collections.abc import Iterable, Mapping
from typing import Any, TypeVar

import msgspec

from sync.entries import Entry, Redact

#: Fields that a `redact` may take: words and names. What decides (results, severities, dates) is not among them.
REDACTABLE = frozenset(
    {"note", "symptom", "conditions", "reason", "driver", "why", "how", "title", "where", "level_before", "level_after"}
)
#: `by` may go from what phones write; below a desk's ruling it is the signature its authority rests on.
SIGNED = frozenset({"settle", "ruling", "same", "tag", "job", "part", "work", "adopt", "clock", "redact"})
GONE = "(redacted)"
#: These must say something, so they say that they were taken.
_REQUIRED = frozenset({"by", "symptom", "reason", "title"})

AnyStruct = TypeVar("AnyStruct", bound=Entry)


def redacted(entry: AnyStruct, by: Iterable[Redact]) -> AnyStruct:
    """The entry without what these `redact` entries take; the entry itself where that is nothing."""
    changes: dict[str, Any] = {}
    for redact in by:
        for name in redact.fields:
            if may_redact(entry, name):
                changes[name] = GONE if name in _REQUIRED else None
        photos: list[str] = changes.get("photos", getattr(entry, "photos", []))
        if redact.photos and photos:
            changes["photos"] = [photo for photo in photos if photo not in redact.photos]
    return msgspec.structs.replace(entry, **changes) if changes else entry


def may_redact(entry: Entry, name: str) -> bool:
    """Whether this field of this kind of entry can be taken away."""
    if name == "by":
        return entry.__struct_config__.tag not in SIGNED
    return name in REDACTABLE and getattr(entry, name, None) is not None


def redacted_body(body: Mapping[str, Any], entry: Entry, redact: Redact) -> dict[str, Any]:
    """The same done to an entry's JSON object, for the store: what remains of the line."""
    left = dict(body)
    for name in redact.fields:
        if name in left and may_redact(entry, name):
            if name in _REQUIRED:
                left[name] = GONE
            else:
                del left[name]
    if "photos" in left:
        left["photos"] = [photo for photo in left["photos"] if photo not in redact.photos]
    return left
