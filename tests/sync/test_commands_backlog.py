"""The command line's own part: take-in, conflicts, settle, backlog, verify, carry, backup; how it ends."""

import json
import os
import subprocess
import sys
from pathlib import Path

import msgspec
import pytest

from sync import cli
from sync.store import Store
from tests.builder.fleets import write_fleet
from tests.sync.phones import Phone, edition_of


class Line:
    """Runs commands on one backlog; `out` and `err` are what the last one said."""

    def __init__(self, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
        self.folder = folder
        self.fleet = write_fleet(folder / "fleet")
        self.backlog = folder / "backlog.db"
        self.out = self.err = ""
        self._capsys = capsys

    def __call__(self, *words: str) -> int:
        code = cli.ended([*words, "--backlog", str(self.backlog)])
        self.out, self.err = self._capsys.readouterr()
        return code

    def give(self, name: str, data: bytes) -> str:
        path = self.folder / name
        path.write_bytes(data)
        return str(path)


@pytest.fixture
def line(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> Line:
    return Line(tmp_path, capsys)


@pytest.fixture
def phones(tmp_path: Path) -> tuple[Phone, Phone]:
    edition = edition_of(tmp_path / "fleet")
    first, other = Phone("d-aaaa", edition, "AB"), Phone("d-bbbb", edition, "RM")
    first.walk()
    first.find(note="adjuster at its stop", photos=[first.picture()])
    other.walk()
    other.find(result="sound")
    return first, other


@pytest.fixture
def full(line: Line, phones: tuple[Phone, Phone]) -> Line:
    files = [line.give(f"{phone.by}.txt", phone.hand_in()) for phone in phones]
    assert line("take-in", *files, "--fleet", str(line.fleet)) == 0
    return line


def test_taking_in_says_what_each_file_brought(full: Line) -> None:
    assert full.out == (
        "AB.txt: AB phone (d-aaaa): 2 entries new, 1 photo.\n"
        "RM.txt: RM phone (d-bbbb): 2 entries new.\n"
        "1 conflict open.\n"
    )
    assert full.err == ""


def test_a_file_that_is_no_hand_in_is_one_line_and_exit_1(line: Line) -> None:
    assert line("take-in", line.give("letter.txt", b"Dear all,\n"), "--fleet", str(line.fleet)) == 1
    assert line.err == "letter.txt: not a hand-in: it begins with 'Dear all,', and no line of it is an entry\n"


@pytest.mark.parametrize("name", ["nothing.txt", "."])
def test_a_file_that_cannot_be_read_is_one_line_and_exit_1(line: Line, name: str) -> None:
    assert line("take-in", str(line.folder / name), "--fleet", str(line.fleet)) == 1
    assert "it cannot be read: " in line.err
    assert line.err.count("\n") == 1


def test_a_cut_hand_in_is_taken_as_far_as_it_goes_and_says_what_lacks(line: Line, phones: tuple[Phone, Phone]) -> None:
    cut = phones[0].hand_in()[:-400]
    assert line("take-in", line.give("cut.txt", cut), "--fleet", str(line.fleet)) == 0
    assert "cut.txt: it is cut short in the middle of line 4: its end line is missing.\n" in line.err
    assert "cut.txt: 1 photo of it still to come.\n" in line.err


def test_the_first_taking_in_wants_a_fleet(line: Line, phones: tuple[Phone, Phone]) -> None:
    assert line("take-in", line.give("a.txt", phones[0].hand_in())) == 1
    assert line.err == (f"driptray: {line.backlog}: no such backlog; `driptray take-in` with --fleet FLEET makes one\n")


def test_conflicts_are_listed_side_by_side_and_settled_by_name(full: Line) -> None:
    assert full("conflicts", "--json") == 0
    (conflict,) = json.loads(full.out)
    assert full("conflicts") == 0
    assert full.out.count(conflict["id"]) == 2
    words = ["settle", conflict["id"], "--choose", conflict["stands"], "--reason", "looked together", "--by", "AB"]
    assert full(*words) == 0
    assert full.out.startswith(f"{conflict['id']}: settled by AB")
    assert full("conflicts", "--json") == 0
    assert json.loads(full.out) == []
    assert full(*words) == 1
    assert "there is no open conflict" in full.err


def test_the_backlog_is_a_table_with_tabs_where_a_program_reads_it(full: Line) -> None:
    assert full("backlog", "--as-of", "2026-10-18") == 0
    head, row = (text.split("\t") for text in full.out.splitlines())
    assert dict(zip(head, row, strict=True))["fault"] == "Slack"
    assert full("backlog", "--search", "adjuster", "--severity", "major", "--vehicle", "otter", "--json") == 0
    assert [entry["note"] for entry in json.loads(full.out)] == ["adjuster at its stop"]
    assert full("backlog", "--search", "zebra") == 0
    assert full.err == "Nothing open is found by that.\n"


@pytest.mark.parametrize("words", [["--as-of", "yesterday"], ["--severity", "huge"], ["--colour", "red"]])
def test_wrong_usage_is_exit_2(full: Line, words: list[str]) -> None:
    assert full("backlog", *words) == 2


def test_verify_tells_a_changed_line_a_changed_photo_and_a_changed_row(full: Line) -> None:
    assert full("verify") == 0
    assert full.out == "5 entries, 1 photo: all as the log says.\n"
    with Store(full.backlog) as store:
        store.connection.execute(
            "UPDATE entries SET body = replace(body, 'adjuster', 'adjusted') WHERE kind = 'finding'"
        )
        store.connection.execute("UPDATE defects SET severity = 'minor'")
        photo = store.photo_path(store.photos()[0].sha256)
    photo.write_bytes(b"another")
    assert full("verify") == 1
    told = full.err.splitlines()
    assert any(text.startswith("entry ") and "not what its hash says" in text for text in told)
    assert any(text.startswith("photo ") and "was changed" in text for text in told)
    assert any(text.startswith("defects: ") and "severity minor should be " in text for text in told)


def test_rebuild_mends_what_is_derived_and_only_that(full: Line) -> None:
    with Store(full.backlog) as store:
        store.connection.execute("DELETE FROM defects")
        store.connection.execute("UPDATE standings SET standing = 'fit'")
    assert full("verify") == 1
    assert full("verify", "--rebuild") == 0
    assert full("backlog", "--json") == 0
    assert len(json.loads(full.out)) == 1


def test_a_carry_holds_the_known_defects_as_the_app_reads_them(full: Line) -> None:
    out = full.folder / "carry.json"
    assert full("carry", "--out", str(out), "--as-of", "2026-10-18") == 0
    carry = msgspec.json.decode(out.read_bytes())
    assert (carry["driptray"], carry["carry"], carry["fleet"]) == (1, True, "trial-shed")
    assert carry["knows"]["d-aaaa"] == 2
    (defect,) = carry["defects"]
    assert (defect["check"], defect["fault"], defect["severity"], defect["note"]) == (
        "left-side/sag", "slack", "major", "adjuster at its stop")  # fmt: skip
    assert carry["standing"]["otter"]["standing"] == "limited"


def test_a_backup_is_a_backlog_with_its_photos(full: Line) -> None:
    out = full.folder / "elsewhere" / "copy.db"
    assert full("backup", "--out", str(out)) == 0
    with Store(out) as copy, Store(full.backlog) as store:
        assert copy.state() == store.state()
        assert [copy.photo_path(row.sha256).read_bytes() for row in copy.photos()]
        assert store.backed_up() == tuple(row.sha256 for row in store.photos())
    assert full("backup", "--out", str(full.backlog)) == 1
    assert "this is the backlog itself" in full.err


def test_a_defect_of_our_own_is_one_line_with_the_place_of_its_details(
    full: Line, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("a slip")

    monkeypatch.setattr(Store, "conflicts", broken)
    assert full("conflicts") == 1
    assert full.err.count("\n") == 1
    assert "this should not happen (ZeroDivisionError: a slip)" in full.err
    path = Path(full.err.strip().rsplit(" ", 1)[1])
    assert "broken" in path.read_text()
    path.unlink()


@pytest.mark.parametrize("command", sorted(cli.COMMANDS))
def test_every_command_tells_how_it_is_used(command: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert cli.ended([command, "--help"]) == 0
    assert f"Usage: driptray {command}" in capsys.readouterr().out


def test_a_reader_that_stops_reading_is_no_error(full: Line) -> None:
    """`driptray backlog | head -1`"""
    command = f"{sys.executable} -m sync backlog --backlog {full.backlog} | true"
    environment = {**os.environ, "PYTHONUNBUFFERED": "1"}
    done = subprocess.run(["sh", "-c", command], capture_output=True, text=True, env=environment, check=False)
    assert done.stderr == ""
