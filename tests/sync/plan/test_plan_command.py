"""`driptray plan` on the sample fleet's display day."""

import json
from pathlib import Path
from typing import Any

import pytest

from sync import cli
from sync.plan import cp

ROOT = Path(__file__).resolve().parents[3]
QUICK = ("--as-of", "2026-10-18", "--effort", "0.05")  # what the command says, not how good the plan is


@pytest.fixture(scope="module")
def backlog(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("plan") / "backlog.db"
    day = [str(file) for file in sorted((ROOT / "sample_fleet" / "day").glob("*.txt"))]
    assert cli.ended(["take-in", *day, "--fleet", str(ROOT / "sample_fleet"), "--backlog", str(path)]) == 0
    return path


@pytest.fixture(scope="module")
def found(backlog: Path, tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """The plan as JSON, written once."""
    path = tmp_path_factory.mktemp("json") / "plan.json"
    with pytest.MonkeyPatch.context() as patch, path.open("w", encoding="utf-8") as out:
        patch.setattr("sys.stdout", out)
        assert cli.ended(["plan", "--backlog", str(backlog), *QUICK, "--json"]) == 0
    return {**json.loads(path.read_text("utf-8")), "path": str(path)}


def told(capsys: pytest.CaptureFixture[str], backlog: Path, *words: str) -> str:
    capsys.readouterr()
    assert cli.ended(["plan", "--backlog", str(backlog), *QUICK, *words]) == 0
    return capsys.readouterr().out


def refused(capsys: pytest.CaptureFixture[str], backlog: Path, *words: str) -> tuple[int, str]:
    capsys.readouterr()
    code = cli.ended(["plan", "--backlog", str(backlog), *QUICK, *words])
    said = capsys.readouterr()
    assert "Traceback" not in said.err
    return code, said.err


def test_each_goal_has_its_gap_to_a_bound(found: dict[str, Any]) -> None:
    assert [goal["goal"] for goal in found["goals"]] == ["started", "safe", "unfit", "ends"]
    assert all(0 <= goal["gap"] <= 1 and goal["bound"] <= goal["value"] for goal in found["goals"])


def test_every_vehicle_has_its_answer(found: dict[str, Any]) -> None:
    assert len(found["ready"]) == len(list((ROOT / "sample_fleet" / "vehicles").glob("*.toml")))
    assert all(row["ready"] or row["in_the_way"]["words"] for row in found["ready"])


def test_the_next_open_day_fits_its_hours(found: dict[str, Any]) -> None:
    day = found["next_day"]
    assert day["day"] == "2026-10-24"
    assert all(hours <= day["open_hours"] for hours in day["people"].values())


def test_all_that_is_dangerous_is_made_safe_on_the_first_open_day(found: dict[str, Any]) -> None:
    lines = found["kept"]["lines"].values()
    dangerous = {line["last_day"] for line in lines if line["severity"] == "dangerous" and not line["blocked"]}
    assert dangerous == {"2026-10-24"}


def test_the_same_backlog_gives_the_same_plan(
    found: dict[str, Any], backlog: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    again = json.loads(told(capsys, backlog, "--json"))
    assert again == {name: value for name, value in found.items() if name != "path"}


def test_the_plan_in_words_begins_with_the_next_open_day(backlog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    lines = told(capsys, backlog).splitlines()
    assert lines[0] == "Plan as of Sun 18 Oct 2026"
    assert lines[3] == "Sat 24 Oct 2026, 8.5 hours"


def test_who_comes_is_who_gets_work(backlog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    day = json.loads(told(capsys, backlog, "--json", "--people", "PW,JS"))["next_day"]
    assert sorted(day["people"]) == ["JS", "PW"]


def test_a_stranger_is_refused_with_who_is_known(backlog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, said = refused(capsys, backlog, "--people", "XX")
    assert code == 1
    assert "XX is none of the fleet's people: BC, JS, MF" in said


def test_a_helper_more_tells_what_it_would_change(backlog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert "What that would change" in told(capsys, backlog, "--helpers", "1")


def test_a_plan_is_compared_with_an_earlier_one(
    found: dict[str, Any], backlog: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    words = told(capsys, backlog, "--since", found["path"]).splitlines()
    assert words[-2:] == ["Changed since the earlier plan", "  nothing"]


def test_a_file_that_is_no_plan_is_refused(backlog: Path, capsys: pytest.CaptureFixture[str], tmp_path: Path) -> None:
    (tmp_path / "x.json").write_text("[]", "utf-8")
    code, said = refused(capsys, backlog, "--since", str(tmp_path / "x.json"))
    assert code == 1
    assert "holds no plan" in said


def test_a_part_written_without_days_is_a_usage_error(backlog: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, said = refused(capsys, backlog, "--late", "plates")
    assert code == 2
    assert "clutch plates=7" in said


def test_without_the_solver_the_plan_says_in_a_line_how_to_get_it(
    backlog: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(cp, "HAVE_SOLVER", False)
    code, said = refused(capsys, backlog)
    assert code == 1
    assert said == "driptray: the plan needs OR-Tools, which is not installed: pip install 'driptray[plan]'\n"
