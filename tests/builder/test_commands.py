"""check, build and labels on the command line."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner

from builder.commands import build, check, labels
from builder.errors import BuildError, FleetError
from tests.builder.fleets import write_fleet


def test_check_says_what_a_fleet_without_mistakes_has(tmp_path: Path) -> None:
    result = CliRunner().invoke(check, [str(write_fleet(tmp_path))])
    assert result.exit_code == 0
    assert result.stdout.startswith("Trial Shed: 1 vehicles, 3 checks, edition ")


def test_check_raises_all_mistakes_for_the_root_to_tell(tmp_path: Path) -> None:
    folder = write_fleet(tmp_path, vehicle=("road_wheels = 6", ""))
    result = CliRunner().invoke(check, [str(folder)])
    assert isinstance(result.exception, FleetError)
    assert "facts.road_wheels" in str(result.exception)


def test_check_lists_mistakes_as_json_too(tmp_path: Path) -> None:
    folder = write_fleet(tmp_path, vehicle=("road_wheels = 6", ""))
    result = CliRunner().invoke(check, ["--json", str(folder)])
    assert "facts.road_wheels" in json.loads(result.stdout)["mistakes"][0]


def test_build_writes_the_app(tmp_path: Path) -> None:
    folder = write_fleet(tmp_path / "fleet")
    result = CliRunner().invoke(build, [str(folder), "--out", str(tmp_path / "app")])
    assert result.exit_code == 0, result.output
    assert json.loads((tmp_path / "app/edition.json").read_bytes())["code"] == "trial-shed"


def test_build_of_a_fleet_with_mistakes_leaves_the_old_app_whole(tmp_path: Path) -> None:
    CliRunner().invoke(build, [str(write_fleet(tmp_path / "fleet")), "--out", str(tmp_path / "app")])
    before = (tmp_path / "app/worker.js").read_bytes()
    write_fleet(tmp_path / "fleet", vehicle=("road_wheels = 6", ""))
    result = CliRunner().invoke(build, [str(tmp_path / "fleet"), "--out", str(tmp_path / "app")])
    assert isinstance(result.exception, FleetError)
    assert (tmp_path / "app/worker.js").read_bytes() == before


def test_labels_lead_to_each_vehicles_walk_round(tmp_path: Path) -> None:
    folder = write_fleet(tmp_path / "fleet")
    out = tmp_path / "labels.html"
    base = "https://shed.example/walk"
    result = CliRunner().invoke(labels, [str(folder), "--out", str(out), "--base", base])
    assert result.exit_code == 0, result.output
    assert result.stdout == ""
    assert "https://shed.example/walk/#/v/otter" in out.read_text("utf-8")


def test_labels_lead_to_the_doors_own_address_unless_told_otherwise(tmp_path: Path) -> None:
    folder = write_fleet(tmp_path / "fleet")
    CliRunner().invoke(labels, [str(folder), "--out", str(tmp_path / "labels.html")])
    assert "https://trial-shed.local:8443/#/v/otter" in (tmp_path / "labels.html").read_text("utf-8")


@pytest.mark.parametrize("base", ["shed.example", "ftp://shed.example/", "https://", "https://shed.example/?a=1"])
def test_labels_for_an_address_no_phone_can_open_are_refused(base: str, tmp_path: Path) -> None:
    folder = write_fleet(tmp_path / "fleet")
    result = CliRunner().invoke(labels, [str(folder), "--out", str(tmp_path / "l.html"), "--base", base])
    assert isinstance(result.exception, BuildError)
    assert f'"{base}"' in str(result.exception)
