"""The desk's password as it is kept: scrypt over a salt of its own, in a file that only this PC's user may read."""

import hashlib
import hmac
import json
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

from sync.errors import DeskError
from sync.secrecy import keep_secret

LEAST, MOST = 12, 1000
_SALT = 16
#: 64 MiB and some tenths of a second a guess (OWASP's table of scrypt settings, from memory).
_COST, _BLOCK, _LANES = 2**16, 8, 2
_MEMORY = 256 * _COST * _BLOCK


@dataclass(frozen=True)
class Password:
    salt: bytes
    digest: bytes

    @classmethod
    def made(cls, text: str, randomness: Callable[[int], bytes]) -> "Password":
        """Raises DeskError for one that is too short to guard anything, or too long to be one."""
        if len(text) < LEAST:
            raise DeskError(f"the password has {len(text)} letters; at least {LEAST} are needed, some words will do")
        if len(text) > MOST:
            raise DeskError(f"the password has {len(text)} letters; at most {MOST} are taken")
        salt = randomness(_SALT)
        return cls(salt, _digest(text, salt))

    def fits(self, text: str) -> bool:
        """Slow on purpose; not for the event loop."""
        return len(text) <= MOST and hmac.compare_digest(self.digest, _digest(text, self.salt))

    def keep(self, path: Path) -> None:
        """Write it where no other user of this PC reads it, in one step."""
        held = {"scrypt": [_COST, _BLOCK, _LANES], "salt": self.salt.hex(), "digest": self.digest.hex()}
        keep_secret(path, json.dumps(held).encode())

    @classmethod
    def kept(cls, path: Path) -> "Password | None":
        """None where there is none. Raises DeskError for a file that holds no password of this version."""
        if not path.exists():
            return None
        try:
            held = json.loads(path.read_text("utf-8"))
            made = cls(bytes.fromhex(held["salt"]), bytes.fromhex(held["digest"]))
            known = held["scrypt"] == [_COST, _BLOCK, _LANES]
        except (OSError, ValueError, KeyError, TypeError) as error:
            raise DeskError(f"{path}: no password can be read from it; delete it, and set one anew") from error
        if not known:
            raise DeskError(f"{path}: the password was kept by another version; delete it, and set one anew")
        return made


def read_password(path: Path) -> str:
    """The first line of a file. Raises DeskError where there is none."""
    try:
        lines = path.read_text("utf-8").splitlines()
    except (OSError, UnicodeDecodeError) as error:
        why = error.strerror if isinstance(error, OSError) else "it is no text"
        words = f"{path}: the password cannot be read ({why}); put it on the first line of a text file"
        raise DeskError(words) from error
    if not lines or not lines[0]:
        raise DeskError(f"{path}: the first line is empty; put the password there")
    return lines[0]


def _digest(text: str, salt: bytes) -> bytes:
    return hashlib.scrypt(text.encode(), salt=salt, n=_COST, r=_BLOCK, p=_LANES, maxmem=_MEMORY, dklen=32)
