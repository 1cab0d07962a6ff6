"""Step 1: the log's tables, what is derived from it, the search index, and the two views people read."""

from sqlite3 import Connection

# Kept for ever; nothing in them is changed but by a redaction. `body` is an entry's line as its writer wrote it,
# `hash` the SHA-256 of that line; `number` is only the order of arrival here and means nothing elsewhere. `fold` is 0
# for what this version cannot read or may not count, 1 for findings that their place alone needs, 2 for the rest.
_LOG = (
    """CREATE TABLE batches (
        batch INTEGER PRIMARY KEY, at TEXT NOT NULL, source TEXT NOT NULL, device TEXT NOT NULL,
        device_name TEXT NOT NULL, edition TEXT NOT NULL, taken INTEGER NOT NULL, already INTEGER NOT NULL,
        set_aside INTEGER NOT NULL, photos INTEGER NOT NULL, trouble TEXT NOT NULL) STRICT""",
    """CREATE TABLE entries (
        number INTEGER PRIMARY KEY, id TEXT NOT NULL, hash BLOB NOT NULL, device TEXT NOT NULL, seq INTEGER NOT NULL,
        kind TEXT NOT NULL, vehicle TEXT NOT NULL, walk TEXT NOT NULL, defect TEXT NOT NULL,
        trusted INTEGER NOT NULL, fold INTEGER NOT NULL, batch INTEGER NOT NULL, body TEXT NOT NULL) STRICT""",
    "CREATE UNIQUE INDEX entries_by_id ON entries (id, hash)",
    "CREATE INDEX entries_by_device ON entries (device, seq)",
    "CREATE INDEX entries_by_walk ON entries (walk) WHERE kind = 'finding' AND walk <> ''",
    "CREATE INDEX entries_by_defect ON entries (defect) WHERE defect <> ''",
    "CREATE INDEX entries_kept ON entries (kind, vehicle) WHERE fold = 2",
    "CREATE INDEX entries_about ON entries (json_extract(body, '$.about')) WHERE kind IN ('ruling', 'work')",
    """CREATE TABLE set_aside (
        hash TEXT PRIMARY KEY, batch INTEGER NOT NULL, line INTEGER NOT NULL, code TEXT NOT NULL, why TEXT NOT NULL,
        id TEXT NOT NULL, device TEXT NOT NULL, seq INTEGER NOT NULL, body BLOB NOT NULL) STRICT""",
    "CREATE TABLE editions (edition TEXT PRIMARY KEY, body BLOB NOT NULL) STRICT",
    """CREATE TABLE devices (
        device TEXT NOT NULL, name TEXT NOT NULL, batch INTEGER NOT NULL,
        PRIMARY KEY (device, name)) STRICT, WITHOUT ROWID""",
    "CREATE INDEX set_aside_by_device ON set_aside (device, seq)",
    "CREATE TABLE photos (sha256 TEXT PRIMARY KEY, type TEXT NOT NULL, size INTEGER NOT NULL) STRICT",
    """CREATE TABLE photo_names (
        sha256 TEXT NOT NULL, entry TEXT NOT NULL, device TEXT NOT NULL,
        PRIMARY KEY (sha256, entry)) STRICT, WITHOUT ROWID""",
    "CREATE TABLE gone_photos (sha256 TEXT PRIMARY KEY) STRICT",
)
# This PC's own: never handed on, not part of the log.
_OWN = (
    """CREATE TABLE given_up (
        device TEXT NOT NULL, low INTEGER NOT NULL, high INTEGER NOT NULL, why TEXT NOT NULL,
        PRIMARY KEY (device, low, high)) STRICT, WITHOUT ROWID""",
    "CREATE TABLE backed_up (sha256 TEXT PRIMARY KEY, at TEXT NOT NULL) STRICT",
    "CREATE TABLE settings (name TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT",
    """CREATE TABLE tokens (
        hash TEXT PRIMARY KEY, device TEXT NOT NULL, name TEXT NOT NULL, desk INTEGER NOT NULL, made TEXT NOT NULL,
        revoked TEXT NOT NULL DEFAULT '') STRICT""",
)
# Thrown away and made again from the log whenever that is asked. `body` is the fold's own state, as JSON.
_DERIVED = (
    "CREATE TABLE marks (device TEXT PRIMARY KEY, upto INTEGER NOT NULL) STRICT",
    """CREATE TABLE places (
        number INTEGER PRIMARY KEY, vehicle TEXT NOT NULL, check_id TEXT NOT NULL, spot TEXT NOT NULL,
        memory BLOB NOT NULL, UNIQUE (vehicle, check_id, spot)) STRICT""",
    "CREATE TABLE placed (entry INTEGER PRIMARY KEY, place INTEGER NOT NULL) STRICT",
    "CREATE INDEX placed_by_place ON placed (place)",
    """CREATE TABLE vehicles (
        vehicle TEXT PRIMARY KEY, name TEXT NOT NULL, kind TEXT NOT NULL, location TEXT NOT NULL, state TEXT NOT NULL,
        display_weight REAL NOT NULL) STRICT""",
    """CREATE TABLE standings (
        vehicle TEXT NOT NULL, from_day TEXT NOT NULL, until_day TEXT NOT NULL, standing TEXT NOT NULL,
        barred TEXT NOT NULL, moves TEXT NOT NULL, why TEXT NOT NULL, open_defects INTEGER NOT NULL,
        last_round TEXT NOT NULL, not_walked TEXT NOT NULL, permit TEXT NOT NULL, body TEXT NOT NULL,
        PRIMARY KEY (vehicle, from_day)) STRICT, WITHOUT ROWID""",
    """CREATE TABLE walks (
        walk TEXT PRIMARY KEY, vehicle TEXT NOT NULL, day TEXT NOT NULL, round TEXT NOT NULL, by TEXT NOT NULL,
        device TEXT NOT NULL, finished TEXT NOT NULL, covered INTEGER NOT NULL, of INTEGER NOT NULL,
        body TEXT NOT NULL) STRICT, WITHOUT ROWID""",
    "CREATE INDEX walks_by_vehicle ON walks (vehicle, day)",
    """CREATE TABLE defects (
        number INTEGER PRIMARY KEY, opening TEXT NOT NULL UNIQUE, place INTEGER NOT NULL, code TEXT NOT NULL,
        vehicle TEXT NOT NULL, station_id TEXT NOT NULL, check_id TEXT NOT NULL, spot TEXT NOT NULL,
        fault_id TEXT NOT NULL, severity TEXT NOT NULL, status TEXT NOT NULL, open INTEGER NOT NULL,
        holding INTEGER NOT NULL, paired INTEGER NOT NULL, station TEXT NOT NULL, check_name TEXT NOT NULL,
        fault TEXT NOT NULL, first_seen TEXT NOT NULL, last_seen TEXT NOT NULL, sightings INTEGER NOT NULL,
        seen_by TEXT NOT NULL, note TEXT NOT NULL, reading TEXT NOT NULL, conflict TEXT NOT NULL,
        waiting_for TEXT NOT NULL, due TEXT NOT NULL, needs TEXT NOT NULL, held_by TEXT NOT NULL,
        temporary_until TEXT NOT NULL, owner TEXT NOT NULL, hours TEXT NOT NULL, also_codes TEXT NOT NULL,
        body TEXT NOT NULL) STRICT""",
    "CREATE INDEX defects_by_place ON defects (place)",
    "CREATE INDEX defects_by_vehicle ON defects (vehicle, open)",
    "CREATE INDEX defects_by_severity ON defects (severity, status) WHERE open",
    "CREATE INDEX defects_to_place ON defects (vehicle, opening)"
    " WHERE open AND json_extract(body, '$.placing') IS NOT NULL",
    """CREATE TABLE ranks (
        opening TEXT NOT NULL, from_day TEXT NOT NULL, until_day TEXT NOT NULL, vehicle TEXT NOT NULL,
        rank_key TEXT NOT NULL, rank_why TEXT NOT NULL, PRIMARY KEY (opening, from_day)) STRICT, WITHOUT ROWID""",
    "CREATE INDEX ranks_in_order ON ranks (rank_key, opening, from_day, until_day)",
    "CREATE INDEX ranks_by_vehicle ON ranks (vehicle)",
    "CREATE TABLE codes (code TEXT NOT NULL, opening TEXT NOT NULL, PRIMARY KEY (code, opening)) STRICT, WITHOUT ROWID",
    "CREATE INDEX codes_by_opening ON codes (opening)",
    """CREATE TABLE sightings (
        opening TEXT NOT NULL, entry TEXT NOT NULL, place INTEGER NOT NULL, vehicle TEXT NOT NULL,
        check_id TEXT NOT NULL, spot TEXT NOT NULL, fault_id TEXT NOT NULL, kind TEXT NOT NULL, by TEXT NOT NULL,
        at TEXT NOT NULL, day TEXT NOT NULL, round TEXT NOT NULL, present INTEGER, severity TEXT NOT NULL,
        reading REAL, unit TEXT NOT NULL, note TEXT NOT NULL, PRIMARY KEY (opening, entry)) STRICT, WITHOUT ROWID""",
    """CREATE TABLE conflicts (
        id TEXT PRIMARY KEY, place INTEGER NOT NULL, kind TEXT NOT NULL, vehicle TEXT NOT NULL, check_id TEXT NOT NULL,
        spot TEXT NOT NULL, fault_id TEXT NOT NULL, field TEXT NOT NULL, why TEXT NOT NULL, stands TEXT NOT NULL,
        defect TEXT NOT NULL, body TEXT NOT NULL) STRICT, WITHOUT ROWID""",
    "CREATE INDEX conflicts_by_vehicle ON conflicts (vehicle, place)",
    "CREATE INDEX conflicts_by_place ON conflicts (place)",
    """CREATE TABLE jobs (
        job TEXT PRIMARY KEY, vehicle TEXT NOT NULL, title TEXT NOT NULL, state TEXT NOT NULL,
        body TEXT NOT NULL) STRICT, WITHOUT ROWID""",
    """CREATE TABLE states (
        kind TEXT NOT NULL, key TEXT NOT NULL, vehicle TEXT NOT NULL, open INTEGER NOT NULL, body TEXT NOT NULL,
        PRIMARY KEY (kind, key)) STRICT, WITHOUT ROWID""",
    "CREATE INDEX states_by_vehicle ON states (kind, vehicle)",
)
# Words to search: of each defect and report, and of notes that belong to neither.
_SEARCH = (
    """CREATE TABLE texts (
        number INTEGER PRIMARY KEY, kind TEXT NOT NULL, key TEXT NOT NULL, vehicle TEXT NOT NULL,
        text TEXT NOT NULL, UNIQUE (kind, key)) STRICT""",
    "CREATE INDEX texts_by_vehicle ON texts (kind, vehicle)",
    "CREATE VIRTUAL TABLE words USING fts5 (text, content='texts', content_rowid='number', tokenize='unicode61')",
    """CREATE TRIGGER texts_in AFTER INSERT ON texts BEGIN
        INSERT INTO words (rowid, text) VALUES (new.number, new.text); END""",
    """CREATE TRIGGER texts_out AFTER DELETE ON texts BEGIN
        INSERT INTO words (words, rowid, text) VALUES ('delete', old.number, old.text); END""",
    """CREATE TRIGGER texts_changed AFTER UPDATE ON texts BEGIN
        INSERT INTO words (words, rowid, text) VALUES ('delete', old.number, old.text);
        INSERT INTO words (rowid, text) VALUES (new.number, new.text); END""",
)
# What people read, with any SQLite tool. The store reads by the same text, with its own day for today.
_VIEWS = (
    """CREATE VIEW backlog_lines AS
    SELECT d.code AS defect, d.vehicle, v.name AS vehicle_name, d.station, d.check_name, d.spot, d.fault,
        d.severity, d.status, s.standing, s.barred, d.first_seen, d.last_seen, d.sightings, d.seen_by, d.note,
        d.reading, d.conflict, d.waiting_for, d.due, d.needs, d.held_by, k.rank_why, d.temporary_until, d.owner,
        d.hours, d.also_codes, d.opening
    FROM defects AS d
    JOIN ranks AS k ON k.opening = d.opening
        AND k.from_day <= date('now', 'localtime') AND k.until_day > date('now', 'localtime')
    JOIN vehicles AS v ON v.vehicle = d.vehicle
    JOIN standings AS s ON s.vehicle = d.vehicle
        AND s.from_day <= date('now', 'localtime') AND s.until_day > date('now', 'localtime')
    WHERE d.open""",
    """CREATE VIEW backlog_ranks AS
    SELECT opening, row_number() OVER (ORDER BY rank_key, opening) AS rank FROM ranks
    WHERE from_day <= date('now', 'localtime') AND until_day > date('now', 'localtime')""",
    """CREATE VIEW backlog AS
    SELECT r.rank, l.* FROM backlog_ranks AS r JOIN backlog_lines AS l ON l.opening = r.opening""",
    """CREATE VIEW fleet_standing AS
    SELECT v.vehicle, v.name, v.kind, v.location, v.state, s.standing, s.barred, s.moves, s.why, s.open_defects,
        s.last_round, s.not_walked, s.permit
    FROM vehicles AS v
    JOIN standings AS s ON s.vehicle = v.vehicle
        AND s.from_day <= date('now', 'localtime') AND s.until_day > date('now', 'localtime')""",
)


def up(connection: Connection) -> None:
    for statement in (*_LOG, *_OWN, *_DERIVED, *_SEARCH, *_VIEWS):
        connection.execute(statement)
