"""What was taken back, for what is read past the fold; and walks by device too: a phone may be copied mid-walk."""

from sqlite3 import Connection

_STEPS = (
    "CREATE TABLE taken_back (entry TEXT NOT NULL, device TEXT NOT NULL, PRIMARY KEY (entry, device)) STRICT,"
    " WITHOUT ROWID",
    "ALTER TABLE walks RENAME TO walks_before",
    """CREATE TABLE walks (
        walk TEXT NOT NULL, device TEXT NOT NULL, vehicle TEXT NOT NULL, day TEXT NOT NULL, round TEXT NOT NULL,
        by TEXT NOT NULL, finished TEXT NOT NULL, covered INTEGER NOT NULL, of INTEGER NOT NULL, body TEXT NOT NULL,
        PRIMARY KEY (walk, device)) STRICT, WITHOUT ROWID""",
    "INSERT INTO walks (walk, device, vehicle, day, round, by, finished, covered, of, body)"
    " SELECT walk, device, vehicle, day, round, by, finished, covered, of, body FROM walks_before",
    "DROP TABLE walks_before",
    "CREATE INDEX walks_by_vehicle ON walks (vehicle, day)",
)


def up(connection: Connection) -> None:
    for statement in _STEPS:
        connection.execute(statement)
