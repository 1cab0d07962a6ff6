"""After an upgrade: what an earlier version kept for a later one is read again, and folded."""

from hashlib import sha256

from sync.entries import DESK_KINDS, FORMAT, KINDS, Bare
from sync.intake import Taken
from sync.intake_line import Fault, Terms, entry_of
from sync.refold import FOLD_VERSION, refold_all
from sync.service_take import is_kept
from sync.store import Store

#: Why a line was set aside, where that may be because it was of a later version.
_FOR_LATER = frozenset({"fields", "severity", "size"})
#: What this version reads, and how it folds. A backlog remembers by which it was last read.
READS = f"format {FORMAT}, fold {FOLD_VERSION}: {' '.join(sorted(KINDS))}"


def fold_again(store: Store) -> None:
    """Inside `writing()`: entries of kinds that were unknown count now, and all is folded as this version folds."""
    for row in store.unfolded():
        _count(store, row.id, row.hash, row.body, trusted=row.trusted)
    refold_all(store)


def lines_again(store: Store) -> list[Taken]:
    """The lines set aside that this version can read, as entries; to be taken in the same transaction."""
    store.set("reads", READS)
    rows = (row for row in store.set_aside() if _may_be_read(row.code))
    return [taken for row in rows if (taken := _readable(row.body.encode(), row.device)) is not None]


def _may_be_read(code: str) -> bool:
    """Whether a later version can think otherwise of a line: not where it came from a stranger, or is one."""
    what, _, number = code.partition(" ")
    return int(number) <= FORMAT if what == "format" and number else code in _FOR_LATER


def _count(store: Store, entry_id: str, digest: str, body: str, *, trusted: bool) -> None:
    entry = entry_of(body.encode(), Terms("", desk=True), "")
    if isinstance(entry, (Bare, Fault)) or (entry.__struct_config__.tag in DESK_KINDS and not trusted):
        return
    store.set_fold(entry_id, bytes.fromhex(digest), 2 if is_kept(entry) else 1)


def _readable(raw: bytes, device: str) -> Taken | None:
    """A line set aside, as the entry that it is for this version; None where it still is none."""
    entry = entry_of(raw, Terms(""), device)
    return None if not device or isinstance(entry, (Bare, Fault)) else Taken(raw, sha256(raw).digest(), entry)
