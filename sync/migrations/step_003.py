"""Indexes for the lists in their other orders, and how each vehicle stood before what came in: this PC's own memory."""

from sqlite3 import Connection

_GRAVITY = "CASE severity WHEN 'dangerous' THEN 0 WHEN 'major' THEN 1 WHEN 'minor' THEN 2 ELSE 3 END"
_STEPS = (
    # What lists are narrowed by, without going to the defects' own wide rows.
    "CREATE INDEX defects_facets ON defects (opening, severity, vehicle, status, station_id) WHERE open",
    f"CREATE INDEX defects_by_gravity ON defects ({_GRAVITY}, opening) WHERE open",
    "CREATE INDEX defects_by_last_seen ON defects (last_seen, opening) WHERE open",
    "CREATE INDEX defects_in_vehicles ON defects (vehicle, opening) WHERE open",
    "CREATE INDEX defects_by_fault ON defects (fault, opening) WHERE open",
    "CREATE INDEX defects_by_status ON defects (status, opening) WHERE open",
    "CREATE INDEX defects_by_wait ON defects (waiting_for = '', waiting_for, opening) WHERE open",
    "CREATE INDEX entries_trusted ON entries (device) WHERE trusted",
    # A row a vehicle and batch that it was folded anew in: what was replaced, of which the first is as it had stood.
    """CREATE TABLE standings_before (
        vehicle TEXT NOT NULL, batch INTEGER NOT NULL, from_day TEXT NOT NULL, until_day TEXT NOT NULL,
        standing TEXT NOT NULL, not_walked TEXT NOT NULL,
        PRIMARY KEY (vehicle, batch, from_day)) STRICT, WITHOUT ROWID""",
    """CREATE TRIGGER standings_out AFTER DELETE ON standings BEGIN
        INSERT OR IGNORE INTO standings_before (vehicle, batch, from_day, until_day, standing, not_walked)
        SELECT old.vehicle, ifnull((SELECT max(batch) FROM batches), 0), old.from_day, old.until_day, old.standing,
            old.not_walked
        WHERE NOT EXISTS (SELECT 1 FROM standings_before AS b WHERE b.vehicle = old.vehicle
            AND b.batch = ifnull((SELECT max(batch) FROM batches), 0) AND b.from_day <= old.from_day
            AND b.until_day > old.from_day); END""",
)


def up(connection: Connection) -> None:
    for statement in _STEPS:
        connection.execute(statement)
