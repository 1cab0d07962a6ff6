"""What the season's figures ask: every defect's spell in few columns, the work done, and the hours booked.

spells(since, until) -> tuple[Spell, ...]      defects open at any time within these days, oldest first
worked_on() -> tuple[Defect, ...]              defects that work was said of, open and closed
hours_booked() -> dict[entry id, hours]        work entries that say hours
dates_said() -> tuple[DateSaid, ...]           what was ever said to wait, or to be mended for now, until a day
"""

from typing import NamedTuple

from sync.state import Defect
from sync.store_desk import StoreDesk
from sync.store_rows import Spell

_DAY_CLOSED = "json_extract(body, '$.closed.day')"


class DateSaid(NamedTuple):
    """`about` as its entry has it; `kind` is wait or temporary; the latest day that was said."""

    about: str
    kind: str
    day: str


class StoreSeason(StoreDesk):
    def dates_said(self) -> tuple[DateSaid, ...]:
        """Whatever became of it since, by what it was about."""
        rows = self.rows(
            "SELECT json_extract(body, '$.about'), 'wait', max(json_extract(body, '$.wait.due')) FROM entries"
            " WHERE kind = 'work' AND fold = 2 AND json_extract(body, '$.wait.due') <> '' GROUP BY 1"
            " UNION ALL"
            " SELECT json_extract(body, '$.about'), 'temporary', max(json_extract(body, '$.set.temporary.until'))"
            " FROM entries WHERE kind = 'ruling' AND fold = 2 AND json_extract(body, '$.set.temporary.until') <> ''"
            " GROUP BY 1 ORDER BY 1, 2"
        )
        return tuple(DateSaid(*row) for row in rows if row[0])

    def spells(self, since: str, until: str) -> tuple[Spell, ...]:
        """Days are ISO days, both included. What has no day yet (its walk has not come) is left out."""
        rows = self.rows(
            "SELECT opening, code, vehicle, check_id, fault_id, station, check_name, fault, severity, first_seen,"
            f" CASE WHEN open THEN '' ELSE {_DAY_CLOSED} END AS closed,"
            " ifnull(json_extract(body, '$.episode'), 1) FROM defects"
            " WHERE first_seen <> '' AND first_seen <= :until AND (open OR closed >= :since OR first_seen >= :since)"
            " ORDER BY first_seen, opening",
            {"since": since, "until": until},
        )
        return tuple(Spell(*row) for row in rows)

    def worked_on(self) -> tuple[Defect, ...]:
        return self._defects(
            "opening IN (SELECT c.opening FROM entries AS e JOIN codes AS c ON c.code = json_extract(e.body, '$.about')"
            " WHERE e.kind = 'work' AND e.fold = 2)"
            " OR opening IN (SELECT c.opening FROM jobs AS j, json_each(j.body, '$.defects') AS d"
            " JOIN codes AS c ON c.code = d.value) ORDER BY opening",
            {},
        )

    def hours_booked(self) -> dict[str, float]:
        """What counts of it is for the fold to say: it holds corrected and void entries too."""
        return dict(
            self.rows(
                "SELECT id, json_extract(body, '$.hours') FROM entries"
                " WHERE kind = 'work' AND fold = 2 AND json_extract(body, '$.hours') > 0"
            )
        )
