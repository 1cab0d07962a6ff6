"""New ids: UUIDs of version 7 (RFC 9562, section 5.7): a millisecond clock, then randomness."""

import uuid
from collections.abc import Callable
from datetime import datetime


def uuid7(now: datetime, randomness: Callable[[int], bytes]) -> str:
    """A new id. `randomness` gives fresh bytes of a length."""
    bits = int(now.timestamp() * 1000) << 80 | int.from_bytes(randomness(10), "big")
    bits = bits & ~(0xF << 76) | 0x7 << 76
    bits = bits & ~(0x3 << 62) | 0x2 << 62
    return str(uuid.UUID(int=bits))
