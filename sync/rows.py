"""The rows people read: one of each for the view `backlog` and the view `fleet_standing`, in their columns' order."""

import msgspec


class BacklogRow(msgspec.Struct, frozen=True, kw_only=True):
    """One open defect. Lists are joined by "; ", days are ISO, empty means none."""

    rank: int
    defect: str  # the code shown
    vehicle: str  # id
    vehicle_name: str
    station: str  # name
    check_name: str
    spot: str
    fault: str  # name
    severity: str  # in force
    status: str
    standing: str  # the vehicle's
    barred: str  # the vehicle's
    first_seen: str
    last_seen: str
    sightings: int
    seen_by: str
    note: str
    reading: str  # "61 mm"
    conflict: str  # why, in words; empty where there is none
    waiting_for: str
    due: str
    needs: str
    held_by: str
    rank_why: str
    temporary_until: str
    owner: str
    hours: str
    also_codes: str
    opening: str  # opening entry's id


class StandingRow(msgspec.Struct, frozen=True, kw_only=True):
    """One vehicle, whether or not anything is open. `not_walked` says "not walked" or nothing."""

    vehicle: str
    name: str
    kind: str
    location: str
    state: str
    standing: str
    barred: str
    moves: str
    why: str
    open_defects: int
    last_round: str  # "2026-10-18 cold"
    not_walked: str
    permit: str
