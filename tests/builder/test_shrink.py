"""What goes over the air is smaller and says the same."""

import json
from pathlib import Path

import pytest

from builder.commands import WEB_TEMPLATES
from builder.edition import compile_edition, read_edition
from builder.fleet import ROUNDS
from builder.load import load_fleet
from builder.shrink import phone_edition, shrink, without_comments

SAMPLE = Path(__file__).resolve().parent.parent.parent / "sample_fleet"


def test_comments_and_indents_go_and_code_stays() -> None:
    source = (
        "/** What for. */\n\nconst a = 1; // behind\n  // a line\n  /* two\n     lines */\n  const b = `x // ${a}`;\n"
    )
    assert without_comments(source) == "const a = 1; // behind\nconst b = `x // ${a}`;\n"


@pytest.mark.parametrize(
    "line",
    ["/** @type {A} */ (x).y = 1; /* b */", 'const url = "https://host/";', "const r = /\\/\\*/;", "a = b / c; // d"],
)
def test_a_line_with_code_in_it_is_not_touched(line: str) -> None:
    assert without_comments(line) == f"{line}\n"


def test_a_file_with_a_string_over_several_lines_is_left_as_it_is() -> None:
    source = "// why\nconst a = `one\n  // two`;\n"
    assert without_comments(source) == source


def test_every_script_of_the_app_is_made_smaller() -> None:
    scripts = {str(path): path.read_bytes() for path in (WEB_TEMPLATES / "app/js").rglob("*.js")}
    small = shrink(scripts)
    assert [path for path in scripts if len(small[path]) >= len(scripts[path])] == []


def test_the_phones_edition_asks_every_vehicle_the_same_in_every_round() -> None:
    whole = compile_edition(load_fleet(SAMPLE))
    full, cut = read_edition(whole), read_edition(phone_edition(whole))
    assert cut.fingerprint == full.fingerprint
    for vehicle in full.vehicles:
        before, after = full.by_vehicle[vehicle.id].checks, cut.by_vehicle[vehicle.id].checks
        for name in ROUNDS:
            asked = [[c.id for c in view.values() if name in c.rounds] for view in (before, after)]
            assert asked[0] == asked[1]
        for check_id, check in before.items():
            told = [(f.id, f.name, f.severity, f.bars) for f in check.faults]
            assert told == [(f.id, f.name, f.severity, f.bars) for f in after[check_id].faults]
            assert (check.reading, check.leak, check.how) == (
                after[check_id].reading, after[check_id].leak, after[check_id].how,
            )  # fmt: skip


def test_nothing_that_only_the_workshop_reads_goes_to_the_phones() -> None:
    cut = json.loads(phone_edition(compile_edition(load_fleet(SAMPLE))))
    assert not {"access", "while_open", "workshop"} & set(cut)
    assert not any("hours" in fault for check in cut["checks"] for fault in check["faults"])


def test_the_page_asks_for_its_styles_as_one_file_in_their_order() -> None:
    link = '<link rel="stylesheet" href="css/{}.css">\n'
    page = "<head>\n" + "".join(link.format(name) for name in ("tokens", "second", "first")) + "</head>"
    sheets = {"css/tokens.css": b"a{}\n", "css/first.css": b"b{}\n", "css/second.css": b"c{}\n"}
    small = shrink({"index.html": page.encode(), **sheets})
    assert small["index.html"].decode() == f"<head>\n{link.format('tokens')}{link.format('app')}</head>"
    assert small["css/app.css"] == b"c{}\nb{}\n"
    assert sorted(small) == ["css/app.css", "css/tokens.css", "index.html"]
