"""The CSV, read back by csv and pandas."""

import csv
from collections.abc import Callable
from dataclasses import replace
from io import BytesIO, StringIO

import pandas
import pytest

from sync.exports import as_csv
from sync.exports.guard import as_text
from sync.exports.snapshot import FiguresRow, Snapshot
from sync.rows import BacklogRow

Export = Callable[..., bytes]


def read(data: bytes) -> list[dict[str, str]]:
    return list(csv.DictReader(StringIO(data.decode("utf-8-sig"), newline=""), strict=True))


def test_the_columns_are_those_of_the_view_the_day_and_what_the_figures_say(snapshot: Snapshot, export: Export) -> None:
    header = read(export(as_csv.write, snapshot))[0].keys()
    assert tuple(header) == (*BacklogRow.__struct_fields__, "as_of", *FiguresRow.__struct_fields__)


def test_what_the_figures_say_stands_on_the_defects_row(snapshot: Snapshot, export: Export) -> None:
    rows = {row["defect"]: row for row in read(export(as_csv.write, snapshot))}
    told = [rows["badger-9m2xa"][name] for name in ("reading_value", "figures_verdict", "reckoned")]
    assert told == ["61.0", "major", "to take up: 7.8 mm; links to take out: 1"]
    assert {rows["otter-4fh8w"][name] for name in FiguresRow.__struct_fields__} == {""}


def test_the_first_rows_are_the_backlog_in_its_order(snapshot: Snapshot, export: Export) -> None:
    rows = [row for row in read(export(as_csv.write, snapshot)) if row["defect"]]
    assert [row["defect"] for row in rows] == [row.defect for row in snapshot.backlog]


def test_every_vehicle_has_a_line_of_its_own(snapshot: Snapshot, export: Export) -> None:
    lines = {row["vehicle"]: row for row in read(export(as_csv.write, snapshot)) if not row["defect"]}
    assert lines.keys() == {row.vehicle for row in snapshot.standing}
    assert (lines["heron"]["fault"], lines["heron"]["status"]) == ("nothing open", "walked")
    assert lines["stoat"]["status"] == "not walked"


def test_a_conflict_and_the_severity_that_stands_are_on_the_row(snapshot: Snapshot, export: Export) -> None:
    row = read(export(as_csv.write, snapshot))[1]
    assert (row["conflict"], row["severity"]) == ("RM says slack, TA says sound", "major")


def test_every_row_says_which_day_it_tells_of(snapshot: Snapshot, export: Export) -> None:
    assert {row["as_of"] for row in read(export(as_csv.write, snapshot))} == {"2026-10-19"}


def test_it_begins_with_the_mark_by_which_spreadsheets_know_utf_8(snapshot: Snapshot, export: Export) -> None:
    assert export(as_csv.write, snapshot).startswith("\ufeffrank,defect,".encode())


def test_lines_end_as_the_rfc_has_it(snapshot: Snapshot, export: Export) -> None:
    data = export(as_csv.write, snapshot)
    assert data.endswith(b"\r\n")
    assert data.count(b"\n") == data.count(b"\r\n")


def test_pandas_reads_it_with_nothing_said_about_the_encoding(snapshot: Snapshot, export: Export) -> None:
    frame = pandas.read_csv(BytesIO(export(as_csv.write, snapshot)))
    assert frame.columns[0] == "rank"
    assert frame["note"][0] == "Fuel on the floor plate, ø 3 mm pool."
    assert len(frame) == 4 + 4


@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@A1", "\t=1", "\r=1", "  =1", "＝1"])
def test_what_a_spreadsheet_would_run_becomes_text(text: str) -> None:
    assert as_text(text) == f"'{text}"


@pytest.mark.parametrize("text", ["", "slack", "61 mm", "a=b", "'tis"])
def test_plain_words_stay_as_they_were_written(text: str) -> None:
    assert as_text(text) == text


def test_no_cell_of_hostile_text_begins_as_a_formula(hostile: Snapshot, export: Export) -> None:
    cells = [cell for row in read(export(as_csv.write, hostile)) for cell in row.values()]
    assert not [cell for cell in cells if cell.lstrip()[:1] in {"=", "+", "-", "@", "＝"}]


def test_hostile_text_stays_in_its_own_cell(hostile: Snapshot, export: Export) -> None:
    rows = read(export(as_csv.write, hostile))
    assert len(rows) == len(tuple(hostile.backlog)) + 4
    assert '"quoted", comma; and\r\nnew line' in {row["note"] for row in rows}


def test_rows_are_written_as_they_come(snapshot: Snapshot) -> None:
    """Nothing is gathered first: each row is out before the next one is asked for."""
    out = BytesIO()
    seen = []

    class Coming:
        def __iter__(self):
            for row in snapshot.backlog:
                yield row
                seen.append(row.defect in out.getvalue().decode())

    as_csv.write(replace(snapshot, backlog=Coming()), out)
    assert seen == [True] * 4
