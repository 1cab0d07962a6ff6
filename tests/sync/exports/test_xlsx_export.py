"""The workbook, read back by openpyxl and by LibreOffice."""

import csv
import subprocess
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from io import BytesIO
from pathlib import Path
from zipfile import ZipFile

import msgspec
import pytest
from openpyxl import Workbook, load_workbook

from sync.exports import as_xlsx
from sync.exports.columns import BACKLOG
from sync.exports.snapshot import FiguresRow, Snapshot
from sync.rows import BacklogRow

Export = Callable[..., bytes]
SHEETS = [
    "Summary",
    "Backlog",
    "Fleet",
    "Conflicts",
    "Waits",
    "Jobs",
    "Walks",
    "Reports",
    "Days",
    "Photos",
    "Set aside",
]


@pytest.fixture
def book(snapshot: Snapshot, export: Export) -> Workbook:
    return load_workbook(BytesIO(export(as_xlsx.write, snapshot)))


def place(name: str) -> int:
    return BacklogRow.__struct_fields__.index(name) + 1


def test_there_is_a_sheet_a_subject(book: Workbook) -> None:
    assert book.sheetnames == SHEETS


def test_the_backlog_sheet_has_the_views_columns_and_rows(book: Workbook, snapshot: Snapshot) -> None:
    header, *rows = book["Backlog"].iter_rows(values_only=True)
    assert list(header) == [column.title for column in BACKLOG]
    assert [row[place("defect") - 1] for row in rows] == [row.defect for row in snapshot.backlog]


def test_days_are_days_and_counts_are_numbers(book: Workbook) -> None:
    sheet = book["Backlog"]
    day = sheet.cell(2, place("first_seen"))
    assert (day.value, day.number_format) == (datetime(2026, 10, 17), "yyyy-mm-dd")  # noqa: DTZ001
    assert (sheet.cell(2, place("rank")).data_type, sheet.cell(2, place("sightings")).value) == ("n", 2)


def test_a_readings_value_is_a_number_and_what_it_comes_to_stands_beside_it(book: Workbook) -> None:
    header = [column.name for column in BACKLOG]
    value, verdict, to_do = (
        book["Backlog"].cell(3, header.index(name) + 1) for name in ("reading_value", "figures_verdict", "to_do")
    )
    assert (value.value, value.data_type, value.number_format) == (61, "n", "General")
    assert (verdict.value, to_do.value) == ("major", "Slacken fully, take out 1 link, adjust again.")
    assert book["Backlog"].cell(4, header.index("reading_value") + 1).value is None


def test_a_row_is_as_tall_as_its_longest_text(snapshot: Snapshot, export: Export) -> None:
    """81 characters in a column 80 wide are two lines; a day's plan has a line for each piece of work."""
    rows = tuple(msgspec.structs.replace(row, note="") for row in snapshot.backlog)
    told = {"badger-9m2xa": FiguresRow(to_do="x" * 81)}
    figures = replace(snapshot, backlog=rows, figures=lambda row: told.get(row.defect, FiguresRow()))
    book = load_workbook(BytesIO(export(as_xlsx.write, figures)))
    heights = [book["Backlog"].row_dimensions[row].height for row in (3, 4)]
    assert heights == [27, None]
    assert book["Days"].row_dimensions[2].height == 27


def test_headers_are_frozen_and_filtered(book: Workbook) -> None:
    assert book["Backlog"].freeze_panes == "C2"
    assert book["Backlog"].auto_filter.ref == "A1:AM5"
    assert all(book[name].auto_filter.ref for name in SHEETS[1:])


def test_every_vehicle_is_on_the_fleet_sheet(book: Workbook, snapshot: Snapshot) -> None:
    names = [row[0] for row in book["Fleet"].iter_rows(min_row=2, values_only=True)]
    assert names == [row.vehicle for row in snapshot.standing]


def test_each_side_of_a_conflict_is_a_row_and_says_whether_it_stands(book: Workbook) -> None:
    header, *rows = book["Conflicts"].iter_rows(values_only=True)
    column = header.index("Stands")
    assert [row[column] for row in rows] == ["stands meanwhile", None]


def test_photos_are_links_to_the_files(book: Workbook) -> None:
    (link,) = [cell.hyperlink for row in book["Photos"] for cell in row if cell.hyperlink]
    assert link.target.replace("\\", "/").startswith("../photos/ab")


def test_formulas_carry_their_results(snapshot: Snapshot, export: Export) -> None:
    data = export(as_xlsx.write, snapshot)
    formulas = load_workbook(BytesIO(data))["Summary"]
    results = load_workbook(BytesIO(data), data_only=True)["Summary"]
    found = {results.cell(row, 1).value: results.cell(row, 2).value for row in range(5, 13)}
    assert found == {
        "Vehicles stopped": 1, "Vehicles limited": 1, "Vehicles fit": 2, "Defects, dangerous": 1, "Defects, major": 1,
        "Defects, minor": 1, "Defects, advisory": 1, "Defects in conflict": 1,
    }  # fmt: skip
    assert all(str(formulas.cell(row, 2).value).startswith("=COUNTIF(") for row in range(5, 13))


def test_hostile_text_is_text_and_never_a_formula(hostile: Snapshot, export: Export) -> None:
    sheet = load_workbook(BytesIO(export(as_xlsx.write, hostile)))["Backlog"]
    cells = [sheet.cell(row, place("note")) for row in range(2, sheet.max_row + 1)]
    assert {cell.data_type for cell in cells} == {"s"}
    assert cells[0].value == '=HYPERLINK("http://example.invalid","click")'


def test_a_subject_longer_than_a_sheet_goes_on_in_the_next(
    snapshot: Snapshot, export: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(as_xlsx, "ROWS_MOST", 4)
    book = load_workbook(BytesIO(export(as_xlsx.write, snapshot)))
    assert [row[1] for row in book["Backlog 2"].iter_rows(min_row=2, values_only=True)] == ["otter-2ppqr"]
    assert book["Summary"]["B8"].value.count("COUNTIF") == 2


def test_the_file_says_no_time_but_the_day_told_of(snapshot: Snapshot, export: Export) -> None:
    with ZipFile(BytesIO(export(as_xlsx.write, snapshot))) as parts:
        assert {part.date_time[0] for part in parts.infolist()} == {1980}
        assert b"2026-10-19T00:00:00Z" in parts.read("docProps/core.xml")


def by_libreoffice(book: Path, out: Path, sheet: int) -> list[list[str]]:
    """One sheet as LibreOffice calculates it, counted from 1; a profile of its own, so that no other run is met."""
    options = f"csv:Text - txt - csv (StarCalc):44,34,76,1,,0,false,true,false,false,false,{sheet}"
    profile = f"-env:UserInstallation={(out / 'profile').as_uri()}"
    command = ["soffice", profile, "--headless", "--norestore", "--convert-to", options, "--outdir", out, book]
    subprocess.run(command, capture_output=True, timeout=150, check=True)
    (made,) = out.glob("*.csv")
    with made.open(encoding="utf-8", newline="") as lines:
        return list(csv.reader(lines))


def test_libreoffice_calculates_the_same_summary(snapshot: Snapshot, export: Export, tmp_path: Path) -> None:
    book = tmp_path / "backlog.xlsx"
    book.write_bytes(export(as_xlsx.write, snapshot))
    lines = {line[0]: line[1] for line in by_libreoffice(book, tmp_path, 1)}
    assert lines["Backlog as of"] == "2026-10-19"
    assert (lines["Vehicles fit"], lines["Defects, dangerous"], lines["Defects in conflict"]) == ("2", "1", "1")


def test_libreoffice_shows_hostile_text_as_it_was_written(hostile: Snapshot, export: Export, tmp_path: Path) -> None:
    book = tmp_path / "backlog.xlsx"
    book.write_bytes(export(as_xlsx.write, hostile))
    notes = [line[place("note") - 1] for line in by_libreoffice(book, tmp_path, 2)[1:]]
    assert notes[0] == '=HYPERLINK("http://example.invalid","click")'
    assert notes[14] == "½ °C 日本語 🛞"
