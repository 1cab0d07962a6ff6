"""This PC's own in the backlog file: settings and paired devices. Never handed on, no part of the log."""

from collections.abc import Iterable
from typing import Any

import msgspec

from sync.store_file import StoreFile


class TokenRow(msgspec.Struct, frozen=True, kw_only=True):
    """A paired device; of its token only the hash is kept. `revoked` is a moment, or empty."""

    hash: str
    device: str
    name: str
    desk: bool
    made: str
    revoked: str


class StoreOwn(StoreFile):
    def setting(self, name: str) -> str:
        rows = self.rows("SELECT value FROM settings WHERE name = ?", (name,))
        return str(rows[0][0]) if rows else ""

    def set(self, name: str, value: str) -> None:
        """Inside `writing()`."""
        self.connection.execute("INSERT OR REPLACE INTO settings (name, value) VALUES (?, ?)", (name, value))

    def note_backup(self, photos: Iterable[str], at: str) -> None:
        """Inside `writing()`: a copy holds these photos."""
        self.connection.executemany(
            "INSERT OR REPLACE INTO backed_up (sha256, at) VALUES (?, ?)", ((p, at) for p in photos)
        )
        self.set("last backup", at)

    def tokens(self) -> tuple[TokenRow, ...]:
        rows = self.rows("SELECT hash, device, name, desk, made, revoked FROM tokens ORDER BY made, hash")
        return tuple(
            TokenRow(hash=r[0], device=r[1], name=r[2], desk=bool(r[3]), made=r[4], revoked=r[5]) for r in rows
        )

    def token(self, token_hash: str) -> TokenRow | None:
        """The paired device of a token, revoked ones included."""
        rows = self.rows("SELECT hash, device, name, desk, made, revoked FROM tokens WHERE hash = ?", (token_hash,))
        return next((_token(row) for row in rows), None)

    def put_token(self, row: TokenRow) -> None:
        """One transaction of its own."""
        with self.writing() as connection:
            connection.execute(
                "INSERT OR REPLACE INTO tokens (hash, device, name, desk, made, revoked) VALUES (?, ?, ?, ?, ?, ?)",
                (row.hash, row.device, row.name, int(row.desk), row.made, row.revoked),
            )

    def rename(self, device: str, name: str) -> None:
        """What this PC calls a paired device, in one transaction."""
        with self.writing() as connection:
            connection.execute("UPDATE tokens SET name = ? WHERE device = ?", (name, device))

    def revoke(self, device: str, at: str) -> None:
        """All of a device's tokens, in one transaction."""
        with self.writing() as connection:
            connection.execute("UPDATE tokens SET revoked = ? WHERE device = ? AND revoked = ''", (at, device))


def _token(row: tuple[Any, ...]) -> TokenRow:
    return TokenRow(hash=row[0], device=row[1], name=row[2], desk=bool(row[3]), made=row[4], revoked=row[5])
