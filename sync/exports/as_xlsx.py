"""The backlog as an XLSX workbook: a sheet a subject, typed days and counts, frozen headers, filters, photos linked.

Rows go straight to disk (XlsxWriter's constant memory), all text as inline strings and never as formulas. The one
sheet with formulas, Summary, carries their results too, for readers that do not calculate.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time
from itertools import islice
from math import ceil
from typing import BinaryIO

import xlsxwriter
from xlsxwriter.format import Format
from xlsxwriter.utility import xl_col_to_name
from xlsxwriter.workbook import Workbook
from xlsxwriter.worksheet import Worksheet

from builder.fleet import SEVERITIES
from sync.exports.columns import BACKLOG, STANDING, Column, Subject, Value, subjects
from sync.exports.guard import printable
from sync.exports.snapshot import Snapshot

#: A sheet's rows, header included (ECMA-376 files as spreadsheets read them; from memory).
ROWS_MOST = 1_048_576
TEXT_MOST = 32_767
LINKS_MOST = 65_530
#: A row's height by its lines of text, at ten points; a spreadsheet's rows are at most 409 points tall (from memory).
LINE_POINTS = 13.5
LINES_MOST = 30
#: Characters across a sheet of A4 that a printer still leaves readable (tried with LibreOffice).
READABLE = 240
Ranges = dict[str, tuple[tuple[str, int], ...]]
STANDINGS = ("stopped", "limited", "fit")


@dataclass(frozen=True)
class Formats:
    head: Format
    text: Format
    day: Format
    count: Format
    number: Format
    link: Format
    title: Format
    grave: Format


def write(snapshot: Snapshot, out: BinaryIO) -> None:
    """Writes the workbook to `out`; same snapshot, same bytes."""
    book = xlsxwriter.Workbook(out, {"constant_memory": True, "default_date_format": "yyyy-mm-dd"})
    made = datetime.combine(snapshot.as_of, time(), UTC).replace(tzinfo=None)
    book.set_properties({"title": f"{snapshot.fleet}: backlog as of {snapshot.as_of}", "created": made})
    formats = _formats(book)
    summary = book.add_worksheet("Summary")
    ranges = {subject.name: tuple(_sheets(book, subject, formats)) for subject in subjects(snapshot)}
    _summary(summary, snapshot, formats, ranges)
    book.close()


def _formats(book: Workbook) -> Formats:
    top = {"valign": "top", "font_name": "Calibri", "font_size": 10}
    return Formats(
        head=book.add_format({**top, "bold": True, "font_color": "#FFFFFF", "bg_color": "#1F2A44", "text_wrap": True}),
        text=book.add_format({**top, "text_wrap": True}),
        day=book.add_format({**top, "num_format": "yyyy-mm-dd", "align": "left"}),
        count=book.add_format({**top, "num_format": "0"}),
        number=book.add_format({**top, "num_format": "General"}),
        link=book.add_format({**top, "font_color": "#1D3FA8", "underline": 1}),
        title=book.add_format({**top, "bold": True, "font_size": 16}),
        grave=book.add_format({"bold": True, "bg_color": "#1F2A44", "font_color": "#FFFFFF"}),
    )


def _sheets(book: Workbook, subject: Subject, formats: Formats) -> Iterator[tuple[str, int]]:
    """Writes a subject, going on to "Backlog 2" where a sheet is full; yields each sheet's name and last row."""
    rows = iter(subject.rows)
    part, last = 1, ROWS_MOST - 1
    while part == 1 or last == ROWS_MOST - 1:
        name = subject.title if part == 1 else f"{subject.title} {part}"
        sheet = book.add_worksheet(name)
        last = _fill(sheet, subject.columns, islice(rows, ROWS_MOST - 1), formats)
        yield name, last
        part += 1


def _fill(sheet: Worksheet, columns: tuple[Column, ...], rows: Iterator[tuple[Value, ...]], formats: Formats) -> int:
    """Header and rows; the last row's number, counted from 0."""
    for place, column in enumerate(columns):
        sheet.set_column(place, place, column.width)
        sheet.write_string(0, place, column.title, formats.head)
    last = 0
    for last, row in enumerate(rows, 1):
        _tall(sheet, last, columns, row)
        for place, (column, value) in enumerate(zip(columns, row, strict=True)):
            _cell(sheet, (last, place), column, value, formats)
    frozen = 2 if columns[0].name == "rank" else 1
    sheet.freeze_panes(1, frozen)
    sheet.autofilter(0, 0, max(last, 1), len(columns) - 1)
    _on_paper(sheet, columns, formats, last)
    return last


def _tall(sheet: Worksheet, line: int, columns: tuple[Column, ...], row: tuple[Value, ...]) -> None:
    """Makes a row as tall as its longest text, as not every program does by itself."""
    long = ((column, value) for column, value in zip(columns, row, strict=True) if isinstance(value, str))
    lines = max((_lines(value, column.width) for column, value in long if column.kind != "photo"), default=1)
    if lines > 1:
        sheet.set_row(line, min(lines, LINES_MOST) * LINE_POINTS)
    for kept in (sheet.row_info, sheet.row_sizes):  # the line before the last is on the disk by now
        kept.pop(line - 2, None)


def _lines(text: str, width: int) -> int:
    if len(text) <= width and "\n" not in text:
        return 1
    return sum(ceil(max(len(part), 1) / width) for part in text.splitlines())


def _on_paper(sheet: Worksheet, columns: tuple[Column, ...], formats: Formats, last: int) -> None:
    sheet.set_landscape()
    sheet.set_paper(9)  # A4
    names = [column.name for column in columns]
    sheet.fit_to_pages(ceil(sum(column.width for column in columns) / READABLE), 0)
    sheet.repeat_rows(0)
    if names[0] == "rank":
        sheet.repeat_columns(0, 1)
    for name, grave in (("severity", "dangerous"), ("standing", "stopped")):
        if name in names:
            place = names.index(name)
            rule = {"type": "cell", "criteria": "==", "value": f'"{grave}"', "format": formats.grave}
            sheet.conditional_format(1, place, max(last, 1), place, rule)


def _cell(sheet: Worksheet, at: tuple[int, int], column: Column, value: Value, formats: Formats) -> None:
    if isinstance(value, int | float):
        sheet.write_number(*at, value, formats.number if column.kind == "number" else formats.count)
    elif not value:
        return
    elif column.kind == "day" and (day := _day(value)):
        sheet.write_datetime(*at, datetime.combine(day, time()), formats.day)
    elif column.kind == "photo" and at[0] <= LINKS_MOST and len(value) < 2000:
        sheet.write_url(*at, f"external:{value}", formats.link, string=value.rsplit("/", 1)[-1])
    else:
        sheet.write_string(*at, printable(value)[:TEXT_MOST], formats.text)


def _day(value: str) -> date | None:
    """A spreadsheet's days begin in 1900; what is earlier stays text."""
    try:
        day = date.fromisoformat(value)
    except ValueError:
        return None
    return day if day.year >= 1900 else None


def _summary(sheet: Worksheet, snapshot: Snapshot, formats: Formats, ranges: Ranges) -> None:
    sheet.set_column(0, 0, 34)
    sheet.set_column(1, 1, 14)
    sheet.write_string(0, 0, snapshot.fleet, formats.title)
    sheet.write_string(1, 0, "Backlog as of", formats.text)
    sheet.write_datetime(1, 1, datetime.combine(snapshot.as_of, time()), formats.day)
    sheet.write_string(2, 0, "Edition", formats.text)
    sheet.write_string(2, 1, snapshot.edition, formats.text)
    line = 4
    for label, formula, value in _counted(snapshot, ranges):
        sheet.write_string(line, 0, label, formats.text)
        sheet.write_formula(line, 1, formula, formats.count, value)
        line += 1
    note = "Conflict says where one is open; severity and standing go by the safer claim meanwhile."
    sheet.write_string(line + 1, 0, note, formats.text)
    sheet.write_string(line + 2, 0, snapshot.plan_note(), formats.text)
    sheet.activate()


def _counted(snapshot: Snapshot, ranges: Ranges) -> Iterator[tuple[str, str, int]]:
    """Label, formula and its result; the results are counted here, in one more pass over the rows."""
    severities = Counter[str]()
    in_conflict = 0
    for defect in snapshot.backlog:
        severities[defect.severity] += 1
        in_conflict += bool(defect.conflict)
    standings = Counter(vehicle.standing for vehicle in snapshot.standing)
    fleet, backlog = ranges["fleet_standing"], ranges["backlog"]
    for standing in STANDINGS:
        yield f"Vehicles {standing}", _countif(fleet, STANDING, "standing", standing), standings[standing]
    for severity in SEVERITIES:
        yield f"Defects, {severity}", _countif(backlog, BACKLOG, "severity", severity), severities[severity]
    yield "Defects in conflict", _countif(backlog, BACKLOG, "conflict", "?*"), in_conflict


def _countif(where: tuple[tuple[str, int], ...], columns: tuple[Column, ...], name: str, what: str) -> str:
    letter = xl_col_to_name([column.name for column in columns].index(name))
    parts = (f"COUNTIF('{sheet}'!{letter}2:{letter}{max(last, 1) + 1},\"{what}\")" for sheet, last in where)
    return "=" + "+".join(parts)
