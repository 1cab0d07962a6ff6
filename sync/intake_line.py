"""One entry line: bytes -> what it says, or why it is set aside, in words."""

import json
import re
from typing import Any

import msgspec

from sync.entries import (
    DESK_KINDS,
    KINDS,
    LINE_MOST,
    NESTING_MOST,
    Bare,
    Entry,
    Finding,
    Fluid,
    Report,
    Run,
    Walk,
    read_bare,
    read_entry,
)

_decode = msgspec.json.Decoder().decode
_encode = msgspec.json.Encoder().encode
_FROM_PHONES = frozenset({Walk, Finding, Report, Run, Fluid})
_AT = re.compile(r"^(?P<what>.*) - at `\$?\.?(?P<where>[^`]*)`$", re.DOTALL)
_SHORT = 60


class Terms(msgspec.Struct, frozen=True):
    """On what terms a hand-in is read.

    `fleet` is the backlog's fleet code ("" takes any). `desk` is true for what comes from the desk itself or a
    paired desk: desk kinds count, and entries of several devices. `editions` vouch for lines whose head is lost.
    """

    fleet: str
    desk: bool = False
    editions: frozenset[str] = frozenset()


class Fault(msgspec.Struct, frozen=True):
    """Why a line is set aside; `id`, `device` and `seq` where they can be read."""

    code: str
    why: str
    id: str = ""
    device: str = ""
    seq: int = 0


def entry_of(raw: bytes, terms: Terms, device: str) -> Entry | Bare | Fault:
    """What an entry's line says. `device` is the head's, "" where the head is lost."""
    try:
        plain = _decode(raw)
        if _encode(plain) != raw or raw.count(b"{") + raw.count(b"[") > NESTING_MOST or b"\\u0000" in raw:
            _look_closely(raw)
        entry = read_entry(raw)
    except (msgspec.MsgspecError, ValueError, RecursionError) as error:
        return _unread(raw, error, terms, device)
    return _refusal(entry, terms, device) or entry


def plainly(raw: bytes, terms: Terms, device: str) -> Entry | None:
    """What an entry's line says where nothing is odd about it, which is nearly always; else None: then look closely."""
    try:
        if _encode(_decode(raw)) != raw or raw.count(b"{") + raw.count(b"[") > NESTING_MOST or b"\\u0000" in raw:
            return None
        entry = read_entry(raw)
    except (msgspec.MsgspecError, ValueError, RecursionError):
        return None
    kind = type(entry)
    if kind is Finding and entry.result == "defect" and entry.severity is None:
        return None
    return entry if terms.desk or (entry.device == device and kind in _FROM_PHONES) else None


def faulty(raw: bytes, code: str = "", why: str = "") -> Fault:
    """A fault with what can still be read of whose line it is."""
    try:
        plain = _decode(raw)
    except (msgspec.MsgspecError, ValueError, RecursionError):
        return Fault(code, why)
    if not isinstance(plain, dict):
        return Fault(code, why)
    entry_id, device, seq = plain.get("id"), plain.get("device"), plain.get("seq")
    return Fault(
        code,
        why,
        entry_id if isinstance(entry_id, str) else "",
        device if isinstance(device, str) else "",
        seq if isinstance(seq, int) and 0 < seq < 2**53 else 0,
    )


def words(error: Exception) -> str:
    """A decoder's complaint as a person reads it."""
    if isinstance(error, UnicodeDecodeError):
        return f"a byte at {error.start} is not UTF-8"
    if isinstance(error, RecursionError):
        return f"it is nested deeper than {NESTING_MOST}"
    text = str(error)
    at = _AT.match(text)
    what, where = (at["what"], at["where"]) if at else (text, "")
    what = re.sub(r"matching regex .*", "of its proper form", what, flags=re.DOTALL).replace("`", "")
    what = what.replace("Object missing required field", "lacks").replace("Input data was truncated", "it is cut off")
    what = what[:1].lower() + what[1:] if not what.startswith("JSON") else what
    return f"{where}: {what}" if where else what


def _refusal(entry: Entry, terms: Terms, device: str) -> Fault | None:
    """Why an entry that reads well is not taken on these terms."""
    if type(entry) is Finding and entry.result == "defect" and entry.severity is None:
        return Fault("severity", "a defect has no severity", entry.id, entry.device, entry.seq)
    if terms.desk:
        return None
    if type(entry).__struct_config__.tag in DESK_KINDS:
        why = f"a {type(entry).__struct_config__.tag} counts only from the desk or a paired desk"
        return Fault("desk kind", why, entry.id, entry.device, entry.seq)
    return _foreign(entry, terms, device)


def _foreign(entry: Entry | Bare, terms: Terms, device: str) -> Fault | None:
    if device and entry.device != device:
        why = f"a hand-in holds one device's entries: its head says {device}, this line {entry.device}"
        return Fault("device", why, entry.id, entry.device, entry.seq)
    if not device and entry.edition not in terms.editions:
        why = f"the head is lost, and the edition {_shown(entry.edition)} is none of this backlog's"
        return Fault("head", why, entry.id, entry.device, entry.seq)
    return None


def _unread(raw: bytes, error: Exception, terms: Terms, device: str) -> Entry | Bare | Fault:
    """A line that is none of the known kinds: one of a later version, or at fault."""
    if len(raw) > LINE_MOST:
        return Fault("size", f"{len(raw)} bytes; an entry's line has at most {LINE_MOST // 1024} KiB")
    if not isinstance(error, msgspec.ValidationError):
        return faulty(raw, "json", words(error))
    try:
        bare = read_bare(raw)
    except (msgspec.MsgspecError, ValueError, RecursionError) as again:
        return faulty(raw, "fields", f"{words(again)}{_found(raw, again)}")
    if bare.kind in KINDS:
        return faulty(raw, "fields", f"{words(error)}{_found(raw, error)}")
    if not terms.desk and (foreign := _foreign(bare, terms, device)):
        return foreign
    return bare


def _look_closely(raw: bytes) -> None:
    """Raises where a line that does not write back to its own bytes is one that two readers could read in two ways."""
    plain = json.loads(raw, object_pairs_hook=_no_twins, parse_constant=_no_constant)
    _walk(plain, 0)


def _no_twins(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made = dict(pairs)
    if len(made) < len(pairs):
        seen: set[str] = set()
        twin = next(key for key, _ in pairs if key in seen or seen.add(key))  # type: ignore[func-returns-value]
        raise ValueError(f"the key {_shown(twin)} stands twice")
    return made


def _no_constant(name: str) -> None:
    raise ValueError(f"{name} is no number here")


def _walk(value: object, depth: int) -> None:
    """Raises for a NUL in a text, and past the nesting that is read."""
    if isinstance(value, str) and "\x00" in value:
        raise ValueError("it holds a NUL character")
    if isinstance(value, (dict, list)):
        if depth == NESTING_MOST:
            raise ValueError(f"it is nested deeper than {NESTING_MOST}")
        for item in (*value, *value.values()) if isinstance(value, dict) else value:
            _walk(item, depth + 1)


def _found(raw: bytes, error: Exception) -> str:
    """What stands at the place the decoder complains of."""
    at = _AT.match(str(error))
    if at is None or not at["where"]:
        return ""
    try:
        value: Any = _decode(raw)
    except msgspec.MsgspecError:
        return ""
    for key in at["where"].split("."):
        value = value.get(key) if isinstance(value, dict) else None
    return "" if value is None else f", found {_shown(value)}"


def _shown(value: object) -> str:
    text = json.dumps(value, ensure_ascii=False)
    return text if len(text) <= _SHORT else text[: _SHORT - 1] + "…"
