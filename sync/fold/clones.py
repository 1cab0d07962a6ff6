"""Cloned or restored devices: two contents under one (device, seq), or under one id."""

from collections.abc import Iterable

from sync.state import Clone

#: device, seq, id, hash
Row = tuple[str, int, str, str]


def find_clones(rows: Iterable[Row]) -> list[Clone]:
    """Every case among entries (each once), sorted. `seq` is 0 where the contents come from different devices."""
    by_seq: dict[tuple[str, int], list[Row]] = {}
    by_id: dict[str, list[Row]] = {}
    for row in sorted(set(rows)):
        by_seq.setdefault(row[:2], []).append(row)
        by_id.setdefault(row[2], []).append(row)
    found = [_clone(same) for same in by_seq.values() if len(same) > 1]
    found += [_clone(same) for same in by_id.values() if len(same) > 1 and len({row[:2] for row in same}) > 1]
    return sorted(found, key=lambda c: (c.device, c.seq, c.entries, c.hashes))


def _clone(same: list[Row]) -> Clone:
    devices = {row[0] for row in same}
    return Clone(
        device=min(devices),
        seq=min(row[1] for row in same) if len(devices) == 1 else 0,
        entries=tuple(row[2] for row in same),
        hashes=tuple(row[3] for row in same),
    )
