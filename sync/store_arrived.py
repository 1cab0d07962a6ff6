"""What came in last, and what it changed: the newest day's hand-ins by device and vehicle, standings before them.

arrived(first_batch, most) -> tuple[Arrived, ...]          what devices brought of each vehicle since a batch
standings_before(first_batch, as_of) -> {vehicle: (standing, not walked)}   as they stood before it, where they moved
"""

from datetime import date
from typing import NamedTuple

from builder.fleet import ROUNDS
from sync.store_desk import StoreDesk


class Arrived(NamedTuple):
    """What one device brought of one vehicle. `rounds` in the order of the day; `looked` counts no "not checked"."""

    device: str
    vehicle: str
    rounds: tuple[str, ...]
    looked: int
    defects: int
    reports: int


class StoreArrived(StoreDesk):
    def arrived(self, first_batch: int, most: int) -> tuple[Arrived, ...]:
        """By device and vehicle, of the newest `most` entries alone: a first taking in of years costs no more."""
        rows = self.rows(
            "WITH newest AS MATERIALIZED (SELECT id, device, vehicle, kind,"
            " json_extract(body, '$.corrects') AS corrects, ifnull(json_extract(body, '$.result'), '') AS result,"
            " iif(kind = 'walk', json_extract(body, '$.round'), NULL) AS round"
            " FROM (SELECT * FROM entries ORDER BY number DESC LIMIT :most)"
            " WHERE batch >= :first AND fold > 0 AND kind IN ('walk', 'finding', 'report') AND vehicle <> '')"
            " SELECT device, vehicle, group_concat(DISTINCT round), sum(result IN ('sound', 'defect')),"
            " sum(result = 'defect'), sum(kind = 'report') FROM newest"
            " WHERE (device, id) NOT IN (SELECT device, corrects FROM newest WHERE corrects IS NOT NULL)"
            " GROUP BY 1, 2 ORDER BY 1, 2",
            {"first": first_batch, "most": most},
        )
        return tuple(
            Arrived(device, vehicle, tuple(r for r in ROUNDS if r in (rounds or "").split(",")), *counts)
            for device, vehicle, rounds, *counts in rows
        )

    def standings_before(self, first_batch: int, as_of: date) -> dict[str, tuple[str, str]]:
        """Vehicle -> (standing, "not walked" or "") as it stood on a day before a batch, of those folded since."""
        rows = self.rows(
            "SELECT vehicle, standing, not_walked FROM standings_before AS b WHERE from_day <= :today"
            " AND until_day > :today AND batch = (SELECT min(batch) FROM standings_before AS c"
            " WHERE c.vehicle = b.vehicle AND c.batch >= :first)",
            {"first": first_batch, "today": as_of.isoformat()},
        )
        return {row[0]: (row[1], row[2]) for row in rows}
