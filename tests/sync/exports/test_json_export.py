"""The JSON, held to its published schema by jsonschema."""

import json
from collections.abc import Callable

import msgspec
import pytest
from jsonschema import Draft202012Validator

from sync.exports import as_json
from sync.exports.snapshot import (
    AsideRow,
    ConflictRow,
    DayRow,
    FiguresRow,
    JobRow,
    PhotoRow,
    ReportRow,
    SideRow,
    Snapshot,
    WaitRow,
    WalkRow,
)
from sync.rows import BacklogRow, StandingRow

Export = Callable[..., bytes]
ROWS = {
    "vehicle": StandingRow,
    "defect": BacklogRow,
    "conflict": ConflictRow,
    "side": SideRow,
    "wait": WaitRow,
    "job": JobRow,
    "walk": WalkRow,
    "report": ReportRow,
    "workday": DayRow,
    "photo": PhotoRow,
    "aside": AsideRow,
}


@pytest.fixture
def validator() -> Draft202012Validator:
    schema = json.loads(as_json.schema())
    Draft202012Validator.check_schema(schema)
    return Draft202012Validator(schema)


def test_the_export_keeps_to_its_schema(snapshot: Snapshot, export: Export, validator: Draft202012Validator) -> None:
    validator.validate(json.loads(export(as_json.write, snapshot)))


def test_an_empty_backlog_keeps_to_the_schema(empty: Snapshot, export: Export, validator: Draft202012Validator) -> None:
    validator.validate(json.loads(export(as_json.write, empty)))


def test_hostile_text_comes_back_as_it_was_written(
    hostile: Snapshot, export: Export, validator: Draft202012Validator
) -> None:
    told = json.loads(export(as_json.write, hostile))
    validator.validate(told)
    assert [row["note"] for row in told["backlog"]] == [row.note for row in hostile.backlog]


@pytest.mark.parametrize(
    ("key", "value"), [("severity", "awful"), ("rank", 0), ("first_seen", "yesterday"), ("defect", None)]
)
def test_the_schema_refuses_what_no_backlog_says(
    key: str, value: object, snapshot: Snapshot, export: Export, validator: Draft202012Validator
) -> None:
    told = json.loads(export(as_json.write, snapshot))
    told["backlog"][0][key] = value
    assert not validator.is_valid(told)


@pytest.mark.parametrize("name", ROWS)
def test_the_schema_describes_and_requires_every_column(name: str) -> None:
    described = json.loads(as_json.schema())["$defs"][name]
    columns = [*ROWS[name].__struct_fields__, *(FiguresRow.__struct_fields__ if name == "defect" else ())]
    assert list(described["properties"]) == described["required"] == columns


def test_rows_come_back_whole(snapshot: Snapshot, export: Export) -> None:
    told = json.loads(export(as_json.write, snapshot))
    assert msgspec.convert(told["backlog"], tuple[BacklogRow, ...]) == snapshot.backlog
    assert msgspec.convert(told["fleet_standing"], tuple[StandingRow, ...]) == snapshot.standing
    assert msgspec.convert(told["conflicts"], tuple[ConflictRow, ...]) == snapshot.conflicts


def test_what_the_figures_say_is_told_with_the_value_as_a_number(snapshot: Snapshot, export: Export) -> None:
    bare, slack, *_ = json.loads(export(as_json.write, snapshot))["backlog"]
    assert (slack["reading_value"], slack["reading_unit"], slack["figures_verdict"]) == (61, "mm", "major")
    assert (bare["reading_value"], bare["figures_say"]) == (None, "")


def test_the_side_that_stands_is_told(snapshot: Snapshot, export: Export) -> None:
    (conflict,) = json.loads(export(as_json.write, snapshot))["conflicts"]
    assert [side["stands"] for side in conflict["sides"]] == ["stands meanwhile", ""]
