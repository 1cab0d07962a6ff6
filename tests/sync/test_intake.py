"""Hand-ins read: what is taken, what is set aside and why, what is said to be missing."""

import base64
import gzip
import hashlib
import json
from collections.abc import Iterator
from pathlib import Path

import pytest

from sync.entries import Bare
from sync.errors import IntakeError
from sync.intake import Aside as Line
from sync.intake import HandIn, Summary, Taken, Terms
from tests.sync.phones import Phone, edition_of, hand_in_of, picture


@pytest.fixture
def phone(tmp_path: Path) -> Phone:
    phone = Phone("d-4k7m", edition_of(tmp_path))
    phone.walk()
    phone.find(note="adjuster at its stop", reading={"value": 61, "unit": "mm"})
    phone.find("left-side/wheels", "sound", spot="2")
    return phone


def pieces(data: bytes, size: int = 1000) -> Iterator[bytes]:
    return (data[at : at + size] for at in range(0, len(data), size))


def read(data: bytes, terms: Terms | None = None, size: int = 1000) -> tuple[list[Taken], list[Line], Summary]:
    hand_in = HandIn(pieces(data, size), terms or Terms("trial-shed"))
    batches = list(hand_in.batches())
    return [e for b in batches for e in b.entries], [a for b in batches for a in b.aside], hand_in.summary()


def changed(phone: Phone, old: bytes, new: bytes) -> tuple[list[Taken], list[Line], Summary]:
    """The hand-in with something else in its second entry, whose end is right for it all the same."""
    assert old in phone.lines[1]
    return read(hand_in_of([phone.lines[0], phone.lines[1].replace(old, new, 1), phone.lines[2]], phone))


def test_a_whole_hand_in_gives_every_entry_with_its_own_bytes_and_their_hash(phone: Phone) -> None:
    entries, aside, summary = read(phone.hand_in())
    assert [e.raw for e in entries] == phone.lines
    assert [e.hash for e in entries] == [hashlib.sha256(line).hexdigest() for line in phone.lines]
    assert not aside
    assert summary.complete


@pytest.mark.parametrize("size", [1, 7, 64, 4096, 1 << 20])
def test_how_the_bytes_are_cut_into_pieces_makes_no_difference(phone: Phone, size: int) -> None:
    entries, _, summary = read(phone.hand_in(), size=size)
    assert len(entries) == 3
    assert summary.complete


def test_a_gzipped_hand_in_reads_the_same(phone: Phone) -> None:
    assert read(gzip.compress(phone.hand_in()))[0] == read(phone.hand_in())[0]


def test_line_ends_and_a_mark_that_a_mail_program_added_are_taken_off(phone: Phone) -> None:
    mailed = b"\xef\xbb\xbf" + phone.hand_in().replace(b"\n", b"\r\n")
    entries, _, summary = read(mailed)
    assert [e.raw for e in entries] == phone.lines
    assert summary.complete


def test_what_is_cut_short_gives_its_whole_lines_and_says_so(phone: Phone) -> None:
    data = phone.hand_in()
    cut = data[: data.index(phone.lines[2]) + 40]
    entries, aside, summary = read(cut)
    assert [e.raw for e in entries] == phone.lines[:2]
    assert not aside
    assert "cut short in the middle of line 4" in summary.trouble[0]
    assert "1 of the 3 entries" in summary.trouble[1]


def test_a_byte_changed_on_the_way_is_noticed_by_the_end_line(phone: Phone) -> None:
    _, _, summary = read(phone.hand_in().replace(b"at its stop", b"at its step"))
    assert summary.trouble == ("its end line does not match its bytes: something in it was changed on the way",)


def test_gaps_in_the_seqs_are_named(phone: Phone) -> None:
    _, _, summary = read(hand_in_of([phone.lines[0], phone.lines[2]], phone))
    assert summary.missing == ((2, 2),)


@pytest.mark.parametrize(
    ("old", "new", "why"),
    [
        (b'"seq":2', b'"seq":2,"seq":9', 'the key "seq" stands twice'),
        (b'"seq":2', b'"seq":2,"\\u0073eq":9', 'the key "seq" stands twice'),
        (b'"seq":2', b'"seq":0', "seq: expected int >= 1, found 0"),
        (b'"seq":2', b'"seq":123456789012345678901234567890', "seq"),
        (b'"major"', b'"huge"', "severity: invalid enum value 'huge', found \"huge\""),
        (b'"severity":"major",', b"", "a defect has no severity"),
        (b'"vehicle":"otter",', b"", "lacks vehicle"),
        (b'"value":61', b'"value":NaN', "JSON is malformed"),
        (b'"value":61', b'"value":1e999', "number out of range"),
        (b'"value":61', b'"value":"61"', "reading.value: expected float, got str"),
        (b"adjuster", b"\\ud800", "JSON is malformed"),
        (b"adjuster", b"\\u0000", "it holds a NUL character"),
        (b"adjuster", b"\x00", "JSON is malformed"),
        (b"adjuster", b"\xff", "is not UTF-8"),
        (b"adjuster", b"y" * 10_001, "note: expected str of length <= 10000"),
        (b'"photos":[]', b'"later":' + b"[" * 16 + b"]" * 16, "it is nested deeper than 16"),
        (b'"photos":[]', b'"later":' + b"[" * 9000 + b"]" * 9000, "it is nested deeper than 16"),
        (b'"photos":[]', b'"later":"' + b"y" * 66_000 + b'"', "longer than 64 KiB"),
        (b"d-4k7m", b"d-9x2p", "its head says d-4k7m, this line d-9x2p"),
    ],
)
def test_a_faulty_line_is_set_aside_with_its_reason_and_the_others_are_taken(
    phone: Phone, old: bytes, new: bytes, why: str
) -> None:
    entries, aside, summary = changed(phone, old, new)
    assert [e.raw for e in entries] == [phone.lines[0], phone.lines[2]]
    assert [a.line for a in aside] == [3]
    assert why in aside[0].why
    assert summary.complete


@pytest.mark.parametrize("new", [b"\\\\u0000", b"\\u00e9", b"\xc3\xa9", b'later" : [1, 2.50, {"a": 1}], "note":"'])
def test_other_ways_of_writing_the_same_json_are_taken(phone: Phone, new: bytes) -> None:
    entries, aside, _ = changed(phone, b"adjuster", new) if new[:5] != b"later" else changed(phone, b'note":"', new)
    assert len(entries) == 3
    assert not aside


def test_unknown_fields_stay_in_the_bytes(phone: Phone) -> None:
    entries, _, _ = changed(phone, b'"photos":[]', b'"photos":[],"torch":true')
    assert b'"torch":true' in entries[1].raw


def test_an_entry_of_an_unknown_kind_is_kept_for_a_later_version(phone: Phone) -> None:
    entries, aside, _ = changed(phone, b'"kind":"finding"', b'"kind":"smell"')
    assert isinstance(entries[1].entry, Bare)
    assert not aside


def test_desk_kinds_from_a_phone_are_set_aside_and_taken_from_a_paired_desk(phone: Phone) -> None:
    phone.write("tag", vehicle="otter", tag="t1", on=True, knows={})
    _, aside, _ = read(phone.hand_in())
    assert aside[0].why == "a tag counts only from the desk or a paired desk"
    assert len(read(phone.hand_in(), Terms("trial-shed", desk=True))[0]) == 4


def test_a_foreign_fleet_is_refused_whole_with_the_way_out(phone: Phone) -> None:
    with pytest.raises(IntakeError, match=r"of the fleet 'trial-shed', this backlog of 'kestrel-lane'.*other fleet's"):
        read(phone.hand_in(), Terms("kestrel-lane"))


def test_a_newer_format_is_set_aside_line_by_line(phone: Phone) -> None:
    entries, aside, _ = read(phone.hand_in(driptray=2))
    assert not entries
    assert {a.why for a in aside} == {"the hand-in is of format 2, this version reads 1: update Driptray"}
    assert [a.raw for a in aside] == phone.lines


def test_where_the_head_is_lost_lines_of_a_known_edition_are_taken(phone: Phone) -> None:
    headless = phone.hand_in()[10:]
    entries, aside, _ = read(headless, Terms("trial-shed", editions=frozenset({phone.edition})))
    assert [e.raw for e in entries] == phone.lines
    assert [a.code for a in aside] == ["head"]


def test_where_the_head_is_lost_lines_of_an_unknown_edition_make_no_hand_in(phone: Phone) -> None:
    with pytest.raises(IntakeError, match="no line of it is an entry"):
        read(phone.hand_in()[10:])


@pytest.mark.parametrize("data", [b"", b"\n", b"hello\n", b"PK\x03\x04" + bytes(5000), b"{}\n[]\n1\n", b"\x1f\x8b"])
def test_what_is_no_hand_in_is_told_in_a_line(data: bytes) -> None:
    with pytest.raises(IntakeError, match=r"^not a hand-in") as caught:
        read(data)
    assert "\n" not in str(caught.value)


def test_ten_million_declared_entries_cost_nothing(phone: Phone) -> None:
    entries, _, summary = read(phone.hand_in(entries=10_000_000))
    assert len(entries) == 3
    assert summary.trouble == ("9999997 of the 10000000 entries that it declares did not come",)


def photo_line(name: str, data: bytes, kind: str = "image/jpeg") -> bytes:
    return json.dumps({"photo": name, "type": kind, "data": base64.b64encode(data).decode()}).encode()


def photos_of(phone: Phone, line: bytes) -> tuple[list[str], list[Line]]:
    hand_in = HandIn(pieces(hand_in_of([*phone.lines, line], phone)), Terms("trial-shed"))
    batches = list(hand_in.batches())
    return [p.type for b in batches for p in b.photos], [a for b in batches for a in b.aside]


def test_a_photo_is_known_by_its_hash_and_by_what_its_bytes_are(phone: Phone) -> None:
    data = picture()
    line = photo_line(hashlib.sha256(data).hexdigest(), data, "image/png")
    assert photos_of(phone, line) == (["image/jpeg"], [])


@pytest.mark.parametrize(
    ("data", "name", "why"),
    [
        (picture(), "0" * 64, "its bytes are not those of"),
        (b"<svg/>", None, "it is no picture that is taken here"),
        (b"\xff\xd8\xff\xe0 and then nothing", None, "it is no picture that is taken here"),
        (bytes(8 * 1024 * 1024 + 1), None, "a photo has at most 8 MiB"),
    ],
)
def test_a_photo_that_is_none_is_set_aside_with_its_reason(
    phone: Phone, data: bytes, name: str | None, why: str
) -> None:
    photos, aside = photos_of(phone, photo_line(name or hashlib.sha256(data).hexdigest(), data))
    assert not photos
    assert why in aside[0].why
