"""The HTML page, read by strict parsers and looked at for what a reader needs."""

import re
import subprocess
from collections.abc import Callable
from dataclasses import replace
from os import environ
from pathlib import Path

import html5lib
import pytest

from sync.exports import as_html
from sync.exports.snapshot import Snapshot

Export = Callable[..., bytes]
Tree = html5lib.treebuilders.getTreeBuilder("etree")


def parsed(data: bytes):
    """The page's tree; raises where the page has any parse error."""
    return html5lib.HTMLParser(tree=Tree, strict=True, namespaceHTMLElements=False).parse(data.decode())


def faults_by_nu(page: Path) -> str:
    """What the Nu HTML Checker says, where DRIPTRAY_NODE_MODULES has one; nothing is good."""
    modules = environ.get("DRIPTRAY_NODE_MODULES")
    if modules is None:
        return ""
    jar = Path(modules) / "vnu-jar/build/dist/vnu.jar"
    done = subprocess.run(["java", "-jar", jar, page], capture_output=True, text=True, timeout=120, check=False)
    return done.stderr


@pytest.mark.parametrize("which", ["snapshot", "hostile", "empty"])
def test_the_page_is_valid_html(which: str, export: Export, tmp_path: Path, request: pytest.FixtureRequest) -> None:
    page = tmp_path / "page.html"
    page.write_bytes(export(as_html.write, request.getfixturevalue(which)))
    parsed(page.read_bytes())
    assert faults_by_nu(page) == ""


def test_the_page_needs_nothing_from_anywhere(snapshot: Snapshot, export: Export) -> None:
    page = export(as_html.write, snapshot).decode()
    links = re.findall(r'(?:src|href)="([^"]*)"', page)
    assert not [link for link in links if not link.startswith(("#", "data:image/jpeg;base64,"))]
    assert not re.findall(r"@import|url\(|<script|<link", page)


def test_the_photo_is_in_it_scaled_down(snapshot: Snapshot, export: Export, photo: Path) -> None:
    page = export(as_html.write, snapshot).decode()
    assert page.count('src="data:image/jpeg') == 2  # beside the defect, and in the conflict
    assert len(page) < photo.stat().st_size * 3


def test_every_defect_and_vehicle_is_on_it(snapshot: Snapshot, export: Export) -> None:
    tree = parsed(export(as_html.write, snapshot))
    assert [card.get("id") for card in tree.iter("article") if card.get("id")] == [
        row.defect for row in snapshot.backlog
    ]
    table = next(tree.iter("table"))
    assert ["".join(th.itertext()).split("\n")[0] for th in table.iter("th") if th.get("scope") == "row"] == [
        row.name + " · ".join((row.vehicle, row.kind, row.location, row.state)) for row in snapshot.standing
    ]


def test_not_walked_never_looks_like_nothing_found(snapshot: Snapshot, export: Export) -> None:
    page = export(as_html.write, snapshot).decode()
    assert '<span class="dashed">not walked</span>' in page


def test_the_safer_claim_is_marked_in_words(snapshot: Snapshot, export: Export) -> None:
    page = export(as_html.write, snapshot).decode()
    assert page.count('<p class="stands">stands meanwhile</p>') == 1
    assert "<strong>In conflict:</strong> RM says slack, TA says sound" in page


def test_photos_past_what_a_mail_carries_are_left_out_and_said(
    snapshot: Snapshot, export: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(as_html, "PHOTO_BYTES_MOST", 10)
    page = export(as_html.write, snapshot).decode()
    assert "data:image/jpeg" not in page
    assert "2 photos were left out" in page


def test_a_photo_that_is_not_here_leaves_no_broken_picture(snapshot: Snapshot, export: Export) -> None:
    page = export(as_html.write, replace(snapshot, photo=lambda _: None)).decode()
    assert "<img" not in page


def test_a_photo_that_is_no_picture_leaves_no_broken_picture(snapshot: Snapshot, export: Export, photo: Path) -> None:
    photo.write_bytes(b"no picture")
    assert "<img" not in export(as_html.write, snapshot).decode()


def test_what_the_figures_say_stands_in_the_defects_card_with_the_caution(snapshot: Snapshot, export: Export) -> None:
    page = export(as_html.write, snapshot).decode()
    card = page.split('id="badger-9m2xa"')[1].split("</article>")[0]
    for told in ("7.8 mm to take up.", "take out 1 link", "Only the first span was measured.", "manual comes first"):
        assert told in card
    assert page.count('class="reckoned"') == 1
