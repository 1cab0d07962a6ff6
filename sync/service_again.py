"""After an upgrade: what an earlier version kept for a later one is read again, and folded."""

from hashlib import sha256

from sync.entries import DESK_KINDS, FORMAT, KINDS, Bare
from sync.intake import Taken
from sync.intake_line import Fault, Terms, entry_of
from sync.refold import refold_all
from sync.service_take import is_kept
from sync.store import Store

#: What this version can read. A backlog remembers by which it was last read.
READS = f"{FORMAT}: {' '.join(sorted(KINDS))}"


def count_again(store: Store) -> bool:
    """Inside `writing()`: entries of kinds that were unknown count now; whether there were any."""
    counted = [_count(store, row.id, row.hash, row.body, trusted=row.trusted) for row in store.unfolded()]
    if any(counted):
        refold_all(store)
    return any(counted)


def lines_again(store: Store) -> list[Taken]:
    """The lines set aside that this version can read, as entries; to be taken in the same transaction."""
    store.set("reads", READS)
    return [taken for row in store.set_aside() if (taken := _readable(row.body.encode(), row.device)) is not None]


def _count(store: Store, entry_id: str, digest: str, body: str, *, trusted: bool) -> bool:
    entry = entry_of(body.encode(), Terms("", desk=True), "")
    if isinstance(entry, (Bare, Fault)):
        return False
    if entry.__struct_config__.tag in DESK_KINDS and not trusted:
        return False
    store.set_fold(entry_id, bytes.fromhex(digest), 2 if is_kept(entry) else 1)
    return True


def _readable(raw: bytes, device: str) -> Taken | None:
    """A line set aside, as the entry that it is for this version; None where it still is none."""
    entry = entry_of(raw, Terms(""), device)
    return None if not device or isinstance(entry, (Bare, Fault)) else Taken(raw, sha256(raw).digest(), entry)
