"""Indexes for the pages of the desk: what is due, waiting, in conflict, holding, paired, and said of pairs."""

from sqlite3 import Connection

_STEPS = (
    "DROP INDEX entries_by_device",
    "CREATE INDEX entries_by_device ON entries (device, seq, trusted)",
    "CREATE INDEX defects_by_station ON defects (station_id, vehicle) WHERE open",
    "CREATE INDEX defects_waiting ON defects (vehicle, opening) WHERE open AND waiting_for <> ''",
    "CREATE INDEX defects_in_conflict ON defects (vehicle, opening) WHERE open AND conflict <> ''",
    "CREATE INDEX defects_holding ON defects (vehicle, opening) WHERE open AND holding",
    "CREATE INDEX defects_paired ON defects (vehicle, opening) WHERE open AND paired",
    "CREATE INDEX defects_due ON defects (due) WHERE open AND due <> ''",
    "CREATE INDEX defects_for_now ON defects (temporary_until) WHERE open AND temporary_until <> ''",
    "CREATE INDEX states_open ON states (kind, key, vehicle, open) WHERE open",
    "CREATE INDEX states_done ON states (kind, key, vehicle, open) WHERE NOT open",
)


def up(connection: Connection) -> None:
    for statement in _STEPS:
        connection.execute(statement)
