"""`driptray export` on a backlog to which a fleet was made known and nothing was handed in yet."""

import json
from pathlib import Path

import pytest
from click.testing import CliRunner, Result

from builder.edition import compile_edition
from builder.fleet import Fleet, FleetFile
from sync.errors import StoreError
from sync.exports import command
from sync.store import Store


@pytest.fixture
def backlog(tmp_path: Path) -> Path:
    fleet = Fleet(file=FleetFile(name="Kestrel Lane Yard", code="kestrel-lane"), templates={}, vehicles=())
    body = compile_edition(fleet)
    fingerprint = json.loads(body)["edition"]
    with Store(tmp_path / "backlog.db") as store, store.writing():
        store.put_edition(fingerprint, body)
        store.set("edition", fingerprint)
    return tmp_path / "backlog.db"


def run(*given: object) -> Result:
    return CliRunner().invoke(command.export, [str(one) for one in given])


@pytest.mark.parametrize("form", command.WRITERS)
def test_each_format_is_written(form: str, backlog: Path, tmp_path: Path) -> None:
    out = tmp_path / f"backlog.{form}"
    done = run("--backlog", backlog, "--as", form, "--out", out, "--as-of", "2026-10-19")
    assert (done.exit_code, done.output) == (0, "")
    assert out.stat().st_size > 0


def test_the_day_told_of_is_the_one_asked_for(backlog: Path, tmp_path: Path) -> None:
    out = tmp_path / "backlog.json"
    run("--backlog", backlog, "--as", "json", "--out", out, "--as-of", "2026-10-19")
    assert json.loads(out.read_bytes())["as_of"] == "2026-10-19"


def test_a_format_that_is_not_written_is_a_mistake_of_usage(backlog: Path, tmp_path: Path) -> None:
    done = run("--backlog", backlog, "--as", "pdf", "--out", tmp_path / "x")
    assert done.exit_code == 2
    assert "'pdf' is not one of" in done.output


def test_a_backlog_that_is_not_there_is_named(tmp_path: Path) -> None:
    done = run("--backlog", tmp_path / "none.db", "--as", "csv", "--out", tmp_path / "x.csv")
    assert isinstance(done.exception, StoreError)
    assert "none.db" in str(done.exception)
    assert not (tmp_path / "none.db").exists()


def test_a_folder_that_is_not_there_is_named_with_the_way_out(backlog: Path, tmp_path: Path) -> None:
    done = run("--backlog", backlog, "--as", "csv", "--out", tmp_path / "none" / "x.csv")
    assert isinstance(done.exception, StoreError)
    assert str(done.exception).endswith("name another file with --out")


def test_what_stood_there_stays_whole_when_an_export_fails(
    backlog: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    out = tmp_path / "backlog.csv"
    out.write_text("before", "utf-8")

    def full(_: object, file: object) -> None:
        file.write(b"half")  # type: ignore[attr-defined]
        raise OSError(28, "No space left on device")

    monkeypatch.setitem(command.WRITERS, "csv", full)
    run("--backlog", backlog, "--as", "csv", "--out", out)
    assert [path.name for path in sorted(tmp_path.iterdir()) if "csv" in path.name] == ["backlog.csv"]
    assert out.read_text("utf-8") == "before"
