"""The ranked list: narrowed, sorted and cut into pages without going through all of it."""

import json
import re
from datetime import date
from pathlib import Path
from typing import Any, NamedTuple

from sync.errors import DeskError
from sync.rows import BacklogRow
from sync.store_derived import StoreDerived
from sync.store_rows import Page, Query

_TODAY = "date('now', 'localtime')"
_ALL = Query()
_MANY = 2_000
#: Of what a search finds, no more are counted: who gets more narrows it.
_COUNTED = 10_000
_WORD = re.compile(r"\w+")
_GRAVITY = "CASE d.severity WHEN 'dangerous' THEN 0 WHEN 'major' THEN 1 WHEN 'minor' THEN 2 ELSE 3 END"
#: What `Query.sort` may name, and what it sorts by.
_SORTS = {name: f"d.{name}" for name in BacklogRow.__struct_fields__} | {
    "rank": "k.rank_key",
    "rank_why": "k.rank_why",
    "severity": _GRAVITY,
    "defect": "d.code",
    "vehicle_name": "l.vehicle_name",
    "standing": "l.standing",
    "barred": "l.barred",
    "waiting_for": "d.waiting_for = '', d.waiting_for",
}
#: Orders that an index has. Where many are found, those alike in it stand by age; else by rank.
_INDEXES = {
    "severity": "defects_by_gravity",
    "last_seen": "defects_by_last_seen",
    "vehicle": "defects_in_vehicles",
    "fault": "defects_by_fault",
    "status": "defects_by_status",
    "waiting_for": "defects_by_wait",
}
_RANKED = "k.opening = d.opening AND k.from_day <= :today AND k.until_day > :today"
_STANDING = "s.vehicle = d.vehicle AND s.from_day <= :today AND s.until_day > :today"
#: Materialised, and the words first: else they would be asked again for each defect.
_MATCHED = (
    "matched AS MATERIALIZED (SELECT t.key FROM words CROSS JOIN texts AS t ON t.number = words.rowid"
    " WHERE words MATCH :match AND t.kind = 'defect' UNION ALL SELECT opening FROM codes WHERE code = :code)"
)
_WORDED = (
    "(SELECT t.key FROM words CROSS JOIN texts AS t ON t.number = words.rowid"
    " WHERE words MATCH :match AND t.kind = 'defect') AS t"
)
_SAYS = (
    "((SELECT t.number FROM texts AS t WHERE t.kind = 'defect' AND t.key = d.opening)"
    " IN (SELECT rowid FROM words WHERE words MATCH :match)"
    " OR d.opening IN (SELECT opening FROM codes WHERE code = :code))"
)


class StoreBacklog(StoreDerived):
    """The part of the read API that people use most."""

    def __init__(self, path: Path, *, create: bool = True) -> None:
        self._views: dict[str, str] = {}
        super().__init__(path, create=create)

    def backlog(self, as_of: date, query: Query = _ALL, limit: int | None = None, offset: int = 0) -> Page[BacklogRow]:
        """Open defects, ranked, as they stand on a day; `total` counts all that the query finds."""
        if query.sort not in _SORTS:
            raise DeskError(f"the backlog has no column {query.sort!r}; sort by one of {', '.join(sorted(_SORTS))}")
        values: dict[str, Any] = {"today": as_of.isoformat(), "limit": -1 if limit is None else limit, "offset": offset}
        with self.reading():
            if query == _ALL:
                found = self._first(values)
                total = self.rows("SELECT count(*) FROM defects WHERE open")[0][0]
            else:
                found, total = self._narrowed(query, values)
            rows = self._lines(found, values["today"])
        return Page(tuple(rows), min(total, _COUNTED), total > _COUNTED) if query.search else Page(tuple(rows), total)

    def _first(self, values: dict[str, Any]) -> list[tuple[str, int]]:
        """(opening, rank) of a page of the whole list: its ranks are its places."""
        rows = self.rows(
            "SELECT opening FROM ranks WHERE from_day <= :today AND until_day > :today ORDER BY rank_key, opening"
            " LIMIT :limit OFFSET :offset",
            values,
        )
        return [(row[0], values["offset"] + place) for place, row in enumerate(rows, start=1)]

    def _narrowed(self, query: Query, values: dict[str, Any]) -> tuple[list[tuple[str, int]], int]:
        """(opening, rank) of a page of what a query finds, and how many it finds in all."""
        found = _conditions(query, values)
        total = self._count(query, found, values)
        if total <= _MANY:
            keys = self._few(query, found, values)
        elif query.sort == "rank":
            keys = self._in_rank(query, found, values, total)
        elif query.sort in _INDEXES:
            keys = self._by_index(query, found, values)
        else:
            keys = self._few(query, found, values)
        ranks = self._ranks(keys, values["today"])
        return [(opening, ranks[opening]) for _, opening in keys], total

    def _count(self, query: Query, found: "_Found", values: dict[str, Any]) -> int:
        """How many are found; of what a broad word finds, no more than one past what is counted."""
        if query.search.strip():
            broad = "SELECT count(*) FROM (SELECT 1 FROM words WHERE words MATCH :match LIMIT :most)"
            values["most"] = _COUNTED + 1
            if self.rows(broad, values)[0][0] > _COUNTED:
                some = f"SELECT 1 FROM {_WORDED} CROSS JOIN {_source(query)} ON d.opening = t.key {found.besides}"
                return int(self.rows(f"SELECT count(*) FROM ({some} LIMIT :most)", values)[0][0])
        return int(self.rows(f"{found.common} SELECT count(*) FROM {_source(query)} {found.text}", values)[0][0])

    # each: (rank key, opening) of a page

    def _few(self, query: Query, found: "_Found", values: dict[str, Any]) -> list[tuple[str, str]]:
        """What the query finds, each with its rank, sorted."""
        way = "DESC" if query.down else "ASC"
        order = ", ".join(f"{part} {way}" for part in _SORTS[query.sort].split(", "))
        order = f"{order}, k.opening {way}" if query.sort == "rank" else f"{order}, k.rank_key, k.opening"
        lines = f"JOIN ({self._view('backlog_lines')}) AS l ON l.opening = d.opening" if "l." in order else ""
        return self.rows(
            f"{found.common} SELECT k.rank_key, d.opening FROM {_source(query)} CROSS JOIN ranks AS k ON {_RANKED}"
            f" {lines} {found.text} ORDER BY {order} LIMIT :limit OFFSET :offset",
            values,
        )

    def _in_rank(self, query: Query, found: "_Found", values: dict[str, Any], total: int) -> list[tuple[str, str]]:
        """The ranks in their order: among many that are found, they meet a page of them soon, from the nearer end."""
        first, count = values["offset"], values["limit"]
        count = total - first if count < 0 else min(count, total - first)
        behind = total - first - count
        backwards = behind < first and not (query.search and total > _COUNTED)
        way = "DESC" if query.down != backwards else "ASC"
        rows = self.rows(
            f"SELECT k.rank_key, d.opening FROM ranks AS k CROSS JOIN"
            f" defects AS d INDEXED BY defects_facets ON {_RANKED} {found.walked}"
            f" ORDER BY k.rank_key {way}, k.opening {way} LIMIT :limit OFFSET :offset",
            {**values, "limit": max(0, count), "offset": max(0, behind) if backwards else first},
        )
        return rows[::-1] if backwards else rows

    def _by_index(self, query: Query, found: "_Found", values: dict[str, Any]) -> list[tuple[str, str]]:
        """The defects in an index's order, and the ranks of a page of them."""
        way = "DESC" if query.down else "ASC"
        order = ", ".join(f"{part} {way}" for part in (*_SORTS[query.sort].split(", "), "d.opening"))
        return self.rows(
            f"SELECT (SELECT k.rank_key FROM ranks AS k WHERE {_RANKED}), d.opening FROM"
            f" (SELECT d.opening FROM defects AS d INDEXED BY {_INDEXES[query.sort]} {found.walked}"
            f" ORDER BY {order} LIMIT :limit OFFSET :offset) AS d",
            values,
        )

    def _ranks(self, keys: list[tuple[str, str]], today: str) -> dict[str, int]:
        """Opening -> rank of some of the list, by counting from each to the next: one way through it at most."""
        ranks: dict[str, int] = {}
        rank, last = 0, ("", "")
        for key in sorted(keys):
            rank += self.rows(
                "SELECT count(*) FROM ranks WHERE (rank_key, opening) > (?, ?) AND (rank_key, opening) <= (?, ?)"
                " AND from_day <= ? AND until_day > ?",
                (*last, *key, today, today),
            )[0][0]
            ranks[key[1]] = rank
            last = key
        return ranks

    def rank_of(self, opening: str, as_of: date) -> tuple[int, str] | None:
        """(place in the whole list, why) of an open defect; None of one that is closed."""
        today = as_of.isoformat()
        rows = self.rows(
            "SELECT rank_key, rank_why FROM ranks WHERE opening = ? AND from_day <= ? AND until_day > ?",
            (opening, today, today),
        )
        return (self._ranks([(rows[0][0], opening)], today)[opening], rows[0][1]) if rows else None

    def _lines(self, found: list[tuple[str, int]], today: str) -> list[BacklogRow]:
        """The rows of these defects, in this order."""
        asked = json.dumps([opening for opening, _ in found])
        sql = f"SELECT l.* FROM json_each(:asked) AS j JOIN ({self._view('backlog_lines')}) AS l ON l.opening = j.value"
        names = BacklogRow.__struct_fields__[1:]
        lines = {row[-1]: row for row in self.rows(sql, {"asked": asked, "today": today})}
        return [
            BacklogRow(rank=rank, **dict(zip(names, lines[opening], strict=True)))
            for opening, rank in found
            if opening in lines
        ]

    def _view(self, name: str) -> str:
        """A view's own text with the asked day for today: one text for every reader."""
        if name not in self._views:
            sql = self.rows("SELECT sql FROM sqlite_schema WHERE type = 'view' AND name = ?", (name,))[0][0]
            self._views[name] = sql.split(" AS", 1)[1].replace(_TODAY, ":today")
        return self._views[name]


def _source(query: Query) -> str:
    """Where to look: without statistics SQLite does not see that few are waiting, in conflict, holding or paired."""
    asked = ((query.waiting, "waiting"), (query.conflict, "in_conflict"), (query.holding, "holding"),
             (query.perhaps_same, "paired"), (bool(query.search.strip()), "facets"),
             (bool(query.severity or query.status) and not (query.vehicle or query.station), "facets"))  # fmt: skip
    index = next((f" INDEXED BY defects_{name}" for flag, name in asked if flag), "")
    return f"defects AS d{index}"


class _Found(NamedTuple):
    """A query as SQL's own: joins and conditions, to stand after its tables.

    With a search, `text` and the table `common` before its SELECT gather what the words find first; `walked` asks of
    each defect by itself whether they do; `besides` is the rest alone.
    """

    common: str
    text: str
    walked: str
    besides: str


def _conditions(query: Query, values: dict[str, Any]) -> _Found:
    """What a query asks for goes into `values`."""
    where, joins, common, gathered, asked_each = ["d.open"], "", "", "", ""
    for name, column in (("vehicle", "d.vehicle"), ("severity", "d.severity"), ("status", "d.status"),
                         ("station", "d.station_id"), ("standing", "s.standing")):  # fmt: skip
        if asked := getattr(query, name):
            where.append(f"{column} = :{name}")
            values[name] = asked
    if query.standing:
        joins = f"JOIN standings AS s ON {_STANDING}"
    for flag, column in ((query.waiting, "d.waiting_for <> ''"), (query.conflict, "d.conflict <> ''"),
                         (query.holding, "d.holding"), (query.perhaps_same, "d.paired")):  # fmt: skip
        if flag is not None:
            where.append(column if flag else f"NOT ({column})")
    if query.revivals is not None:
        among = "IN" if query.revivals else "NOT IN"
        where.append(f"d.vehicle {among} (SELECT vehicle FROM vehicles WHERE state = 'revival')")
    if query.search.strip():
        values |= {"match": matching(query.search) or '""', "code": query.search.strip().lower()}
        common, gathered, asked_each = f"WITH {_MATCHED}", "d.opening IN (SELECT key FROM matched)", _SAYS
    besides = f"{joins} WHERE {' AND '.join(where)}"
    if not common:
        return _Found(common, besides, besides, besides)
    return _Found(common, f"{besides} AND {gathered}", f"{besides} AND {asked_each}", besides)


def matching(text: str) -> str:
    """A person's words as an FTS5 query: all of them, the last one perhaps unfinished."""
    words = _WORD.findall(text)
    return " ".join(f'"{word}"' for word in words) + ("*" if words else "")
