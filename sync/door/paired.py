"""Who may come in: tokens and whose they are, read anew every few seconds so that another program's revoking counts."""

import threading
from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime

from sync.door.refusals import Refused
from sync.pairing import Code, Pairing, token_hash
from sync.store import Store
from sync.store_own import TokenRow

_LASTS_S = 5.0
UNPAIRED = "this device is not paired with this workshop PC, or was taken off its list; pair it with a new code"


@dataclass
class Paired:
    """The paired devices. `now` is passed in; threads may share it."""

    store: Store
    pairing: Pairing
    now: Callable[[], datetime]
    _rows: dict[str, TokenRow] = field(default_factory=dict)
    _read: datetime | None = None
    _lock: threading.Lock = field(default_factory=threading.Lock)

    def of(self, authorization: str) -> TokenRow:
        """Whose request this is, by its Authorization header. Raises Refused (401)."""
        kind, _, token = authorization.partition(" ")
        row = self._row(token_hash(token.strip())) if kind.lower() == "bearer" and token.strip() else None
        if row is None or row.revoked:
            raise Refused(401, UNPAIRED)
        return row

    def pair(self, typed: str, device: str, name: str, whence: str) -> str:
        """A token for a code as it was typed. Raises DoorError where the code is no good."""
        token, code = self.pairing.redeem(typed, whence)
        self._put(token, device, name, code)
        return token

    def rename(self, row: TokenRow, new: str) -> str:
        """A token for the new id of a cloned device; the old one stays, for the other phone still goes by it."""
        token = self.pairing.token(32).hex()
        self._put(token, new, row.name, Code("", self.now(), row.desk))
        return token

    def revoke(self, device: str) -> None:
        self.store.revoke(device, self._moment())
        self.forget()

    def forget(self) -> None:
        """What is remembered here is read anew when next asked for."""
        with self._lock:
            self._read = None

    def _row(self, digest: str) -> TokenRow | None:
        now = self.now()
        with self._lock:
            if self._read is None or abs((now - self._read).total_seconds()) > _LASTS_S:
                self._rows = {row.hash: row for row in self.store.tokens()}
                self._read = now
            return self._rows.get(digest)

    def _put(self, token: str, device: str, name: str, code: Code) -> None:
        row = TokenRow(
            hash=token_hash(token), device=device, name=name, desk=code.desk, made=self._moment(), revoked=""
        )
        self.store.put_token(row)
        self.forget()

    def _moment(self) -> str:
        return self.now().isoformat(timespec="seconds")
