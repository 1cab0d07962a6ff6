"""Pairing: a short code shown at the desk, used once within ten minutes, turned into a phone's token.

Nothing here is stored: the codes live as long as the serving process; of a token, only the hash is kept, by the store.
"""

import hashlib
import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime, timedelta

from sync.errors import DoorError

LETTERS = "23456789ABCDEFGHJKMNPQRSTUVWXYZ"  # no 0 O 1 I L: they are read out across a shed
CODE_LENGTH = 8
CODE_LASTS = timedelta(minutes=10)
WRONG_MOST = 10
WRONG_ALL = 500
WRONG_WITHIN = timedelta(minutes=1)


class TooManyTriesError(DoorError):
    """Nothing is tried for a minute."""


@dataclass(frozen=True)
class Code:
    text: str
    until: datetime
    desk: bool = False  # pairs another workshop PC, whose desk kinds are then accepted


@dataclass
class Pairing:
    """The open codes and the recent wrong tries. `now` and `token` (fresh bytes of a length) are passed in.

    Threads may share it: the desk shows the codes while the door takes them.
    """

    now: Callable[[], datetime]
    token: Callable[[int], bytes]
    _open: dict[str, Code] = field(default_factory=dict)
    _wrong: dict[str, list[datetime]] = field(default_factory=dict)
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def new_code(self, *, desk: bool = False) -> Code:
        """A fresh code, good for one device for ten minutes."""
        text = "".join(LETTERS[byte % len(LETTERS)] for byte in self._unbiased(CODE_LENGTH))
        now = self.now()
        code = Code(text, now + CODE_LASTS, desk)
        with self._lock:
            self._open = {**{old: kept for old, kept in self._open.items() if kept.until > now}, text: code}
        return code

    def open(self) -> tuple[Code, ...]:
        """Codes that are still good, newest first."""
        now = self.now()
        with self._lock:
            return tuple(code for code in reversed(self._open.values()) if code.until > now)

    def redeem(self, typed: str, whence: str = "") -> tuple[str, Code]:
        """A new token for a code, which is used up. Raises DoorError for a wrong, old or used code.

        Wrong tries are counted by the address they come from, so that one guesser does not lock the others out.
        """
        with self._lock:
            return self._redeemed(_plain(typed), whence, self.now())

    def _redeemed(self, typed: str, whence: str, now: datetime) -> tuple[str, Code]:
        recent = {who: [m for m in moments if m > now - WRONG_WITHIN] for who, moments in self._wrong.items()}
        self._wrong = {who: moments for who, moments in recent.items() if moments}
        if len(self._wrong.get(whence, ())) >= WRONG_MOST or sum(map(len, self._wrong.values())) >= WRONG_ALL:
            raise TooManyTriesError("too many wrong codes within a minute; wait a minute and try again")
        code = self._open.pop(typed, None)
        if code is None or code.until <= now:
            self._wrong.setdefault(whence, []).append(now)
            raise DoorError("this code is wrong, used or older than 10 minutes; ask for a new one at the workshop PC")
        return self.token(32).hex(), code

    def _unbiased(self, count: int) -> list[int]:
        """Bytes below the largest multiple of the alphabet, so that no letter is likelier than another."""
        most = 256 - 256 % len(LETTERS)
        kept: list[int] = []
        while len(kept) < count:
            kept += [byte for byte in self.token(count) if byte < most]
        return kept[:count]


def shown(code: str) -> str:
    """A code as it is read out: two groups of four."""
    return f"{code[:4]} {code[4:]}"


def token_hash(token: str) -> str:
    """What is kept of a token: SHA-256, hex. The token has 256 random bits, so a plain hash is enough."""
    return hashlib.sha256(token.encode()).hexdigest()


def _plain(typed: str) -> str:
    return "".join(letter for letter in typed.upper() if letter.isalnum())
