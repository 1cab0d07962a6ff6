"""The Markdown, read as text and by a CommonMark reader."""

from collections.abc import Callable

import pytest
from markdown_it import MarkdownIt

from sync.exports import as_md
from sync.exports.as_md import said
from sync.exports.snapshot import Snapshot
from sync.rows import BacklogRow

Export = Callable[..., bytes]


def text(snapshot: Snapshot, export: Export) -> str:
    return export(as_md.write, snapshot).decode()


def rendered(markdown: str) -> str:
    return MarkdownIt("commonmark").enable("table").render(markdown)


def test_every_vehicle_is_a_row_of_the_fleet_table(snapshot: Snapshot, export: Export) -> None:
    page = rendered(text(snapshot, export))
    assert page.count("<tr>") == 1 + len(tuple(snapshot.standing))
    assert "<td>not walked</td>" in page


def test_the_fleet_table_lines_up_as_raw_text(snapshot: Snapshot, export: Export) -> None:
    lines = [line for line in text(snapshot, export).splitlines() if line.startswith("|")]
    assert len({tuple(n for n, char in enumerate(line) if char == "|")[:-1] for line in lines}) == 1


def test_each_defect_is_a_heading_in_rank_order(snapshot: Snapshot, export: Export) -> None:
    headings = [line for line in text(snapshot, export).splitlines() if line.startswith(("### 1", "### 2"))]
    assert headings == [
        "### 1. badger-7k3qd: Badger, Line weeping at the union",
        "### 2. badger-9m2xa: Badger, Slack",
    ]


def test_each_column_that_says_something_is_told(snapshot: Snapshot, export: Export) -> None:
    told = text(snapshot, export)
    for row in snapshot.backlog:
        assert all(str(getattr(row, name)) in told for name in BacklogRow.__struct_fields__)


def test_a_conflict_shows_both_sides_and_what_stands(snapshot: Snapshot, export: Export) -> None:
    told = text(snapshot, export)
    assert "**defect, major, 61 mm, stands meanwhile**" in told
    assert "clock 1 day ahead" in told
    assert "**In conflict**: RM says slack, TA says sound" in told


def test_hostile_text_becomes_neither_markup_nor_heading(hostile: Snapshot, export: Export) -> None:
    page = rendered(text(hostile, export))
    assert page.count("<h3>") == 1 + len(tuple(hostile.backlog))
    assert not [tag for tag in ("<script", "<em>", "<a ", "<code>") if tag in page]


@pytest.mark.parametrize("written", ["2026-10-18 cold", "badger-7k3qd", "61 mm", "adjuster at its stop"])
def test_plain_words_need_no_escape(written: str) -> None:
    assert said(written) == written


@pytest.mark.parametrize("written", ["# one", "- one", "1. one", "> one", "a *b* c", "a | b", "<b>", "&amp;", "a\\b"])
def test_a_reader_sees_what_was_written(written: str) -> None:
    inline = MarkdownIt("commonmark").parse(said(written))[1]
    assert "".join(child.content for child in inline.children or ()) == written


def test_an_empty_backlog_says_none(empty: Snapshot, export: Export) -> None:
    assert text(empty, export).count("None.") == 9


def test_what_the_figures_say_is_told_with_its_defect_alone(snapshot: Snapshot, export: Export) -> None:
    text = export(as_md.write, snapshot).decode()
    slack = text.split("### 2.")[1].split("### 3.")[0]
    assert "- figures_verdict: major" in slack
    assert "- to_do: Slacken fully, take out 1 link, adjust again." in slack
    assert "- cautions: Chock both sides. The maker's manual comes first." in slack
    assert text.count("figures_verdict") == 1
