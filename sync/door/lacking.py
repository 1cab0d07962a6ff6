"""What is lacking here of what a phone shows: a set difference every time, so a restored PC refills itself."""

from collections.abc import Iterable

from sync.door.shapes import Have, Lacking, Ranges
from sync.store import Store


def lacking(store: Store, asked: Have, server_time: str) -> Lacking:
    """The answer to a phone's "have"."""
    with store.reading():
        want = {item[1] for item in store.lacking(asked.items)}
        held = store.held_seqs(asked.device)
        photos = store.lacking_photos(asked.photos)
        backed_up = set(store.backed_up()) & set(asked.photos) if asked.photos else set()
        clone = _is_clone(store, asked, held)
        redacted = {sha for sha in photos if store.is_redacted_photo(sha)}
    return Lacking(
        want=tuple(item[1] for item in asked.items if item[1] in want),
        want_photos=tuple(sha for sha in photos if sha not in redacted),
        held=ranges(held),
        backed_up=tuple(sorted(backed_up)),
        clone=clone,
        server_time=server_time,
    )


def ranges(seqs: Iterable[int]) -> Ranges:
    """Seqs as ranges, both ends in them."""
    found: list[tuple[int, int]] = []
    for seq in sorted(set(seqs)):
        if found and found[-1][1] == seq - 1:
            found[-1] = (found[-1][0], seq)
        else:
            found.append((seq, seq))
    return tuple(found)


def _is_clone(store: Store, asked: Have, held: list[int]) -> bool:
    """Whether somebody else writes, or has written, under this device's id.

    A phone keeps all it wrote: one that is shown to be behind was put back from a copy, and would number twice.
    """
    if not asked.items:
        return False
    if any(clone.device == asked.device for clone in store.clones()):
        return True
    shown = {seq: (entry_id, digest) for seq, entry_id, digest in asked.items}
    if held and max(held) > max(shown):
        return True
    return any(shown.get(seq, content) != content for seq, content in store.contents(asked.device))
