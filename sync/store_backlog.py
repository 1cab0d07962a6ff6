"""The ranked list: narrowed, sorted and cut into pages without going through all of it."""

import json
import re
from datetime import date
from pathlib import Path
from typing import Any

from sync.errors import DeskError
from sync.rows import BacklogRow
from sync.store_derived import StoreDerived
from sync.store_rows import Page, Query

_TODAY = "date('now', 'localtime')"
_ALL = Query()
_MANY = 2_000
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
}
_STANDING = "s.vehicle = d.vehicle AND s.from_day <= :today AND s.until_day > :today"
#: Materialised, and the words first: else they would be asked again for each defect.
_MATCHED = (
    "matched AS MATERIALIZED (SELECT t.key FROM words CROSS JOIN texts AS t ON t.number = words.rowid"
    " WHERE words MATCH :match AND t.kind = 'defect' UNION SELECT opening FROM codes WHERE code = :code)"
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
        return Page(tuple(rows), total)

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
        where, joins, common = _conditions(query, values)
        if common:  # what is searched for is found once, and cut here
            first, limit = values["offset"], values["limit"]
            keys = self._keys(query, f"{joins} WHERE {where}", {**values, "limit": -1, "offset": 0}, common)
            total = len(keys)
            keys = keys[first:] if limit < 0 else keys[first : first + limit]
        else:
            total = self.rows(f"SELECT count(*) FROM {_source(query)} {joins} WHERE {where}", values)[0][0]
            keys = self._keys(query, f"{joins} WHERE {where}", values, in_order=total > _MANY)
        ranks = self._ranks(keys, values["today"])
        return [(opening, ranks[opening]) for _, opening in keys], total

    def _keys(
        self, query: Query, where: str, values: dict[str, Any], common: str = "", *, in_order: bool = False
    ) -> list[tuple[str, str]]:
        """(rank key, opening) of a page. Where many are found, the ranks in their order meet a page of them soon."""
        down = "DESC" if query.down else "ASC"
        by_rank = query.sort == "rank"
        order = (
            f"k.rank_key {down}, k.opening {down}" if by_rank else f"{_SORTS[query.sort]} {down}, k.rank_key, k.opening"
        )
        first = "defects AS d" if common else _source(query)
        both = "ranks AS k CROSS JOIN defects AS d" if in_order and by_rank else f"{first} CROSS JOIN ranks AS k"
        lines = f"JOIN ({self._view('backlog_lines')}) AS l ON l.opening = d.opening" if "l." in order else ""
        return self.rows(
            f"{common} SELECT k.rank_key, d.opening FROM {both} ON k.opening = d.opening"
            f" AND k.from_day <= :today AND k.until_day > :today {lines} {where}"
            f" ORDER BY {order} LIMIT :limit OFFSET :offset",
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
             (query.perhaps_same, "paired"))  # fmt: skip
    index = next((f" INDEXED BY defects_{name}" for flag, name in asked if flag), "")
    return f"defects AS d{index}"


def _conditions(query: Query, values: dict[str, Any]) -> tuple[str, str, str]:
    """A query as SQL's own conditions, joins and common table; what it asks for goes into `values`."""
    where, joins, common = ["d.open"], [], ""
    for name, column in (("vehicle", "d.vehicle"), ("severity", "d.severity"), ("status", "d.status"),
                         ("station", "d.station_id"), ("standing", "s.standing")):  # fmt: skip
        if asked := getattr(query, name):
            where.append(f"{column} = :{name}")
            values[name] = asked
    if query.standing:
        joins.append(f"JOIN standings AS s ON {_STANDING}")
    for flag, column in ((query.waiting, "d.waiting_for <> ''"), (query.conflict, "d.conflict <> ''"),
                         (query.holding, "d.holding"), (query.perhaps_same, "d.paired")):  # fmt: skip
        if flag is not None:
            where.append(column if flag else f"NOT ({column})")
    if query.revivals is not None:
        among = "IN" if query.revivals else "NOT IN"
        where.append(f"d.vehicle {among} (SELECT vehicle FROM vehicles WHERE state = 'revival')")
    if query.search.strip():
        values |= {"match": matching(query.search) or '""', "code": query.search.strip().lower()}
        common = f"WITH {_MATCHED}"
        where.append("d.opening IN (SELECT key FROM matched)")
    return " AND ".join(where), " ".join(joins), common


def matching(text: str) -> str:
    """A person's words as an FTS5 query: all of them, the last one perhaps unfinished."""
    words = _WORD.findall(text)
    return " ".join(f'"{word}"' for word in words) + ("*" if words else "")
