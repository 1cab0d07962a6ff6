"""Hand-ins that are cut, damaged or meant to harm: bounded memory and time, clear words, whole valid lines kept."""

import gzip
import json
import time
import tracemalloc
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from builder.errors import DriptrayError
from sync.errors import IntakeError
from sync.intake import HandIn, Terms
from sync.intake_bytes import HAND_IN_MOST
from tests.sync.phones import Phone, edition_of, hand_in_of, service_at

CORPUS = sorted((Path(__file__).resolve().parent / "corpus").iterdir())
MiB = 1024 * 1024


@cache
def edition() -> bytes:
    with TemporaryDirectory() as folder:
        return edition_of(Path(folder))


@cache
def phone() -> Phone:
    phone = Phone("d-4k7m", edition())
    phone.walk()
    phone.find(note="adjuster at its stop", reading={"value": 61, "unit": "mm"}, photos=[phone.picture()])
    phone.find("left-side/wheels", "sound", spot="2")
    phone.write("report", vehicle="otter", source="driver", symptom="zieht nach links, \u00fcber 20 km/h", photos=[])
    return phone


def one_line(error: DriptrayError) -> None:
    assert "\n" not in str(error)


def terms() -> Terms:
    return Terms("trial-shed", editions=frozenset({phone().edition}))


def taken(data: Iterable[bytes]) -> list[bytes]:
    """The lines taken of a hand-in; none where it is refused."""
    try:
        hand_in = HandIn(data, terms())
        lines = [entry.raw for batch in hand_in.batches() for entry in batch.entries]
        hand_in.summary()
    except IntakeError as error:
        one_line(error)
        return []
    return lines


def pieces(data: bytes, size: int = 512) -> Iterator[bytes]:
    return (data[at : at + size] for at in range(0, len(data), size))


def test_cut_at_every_byte_it_gives_every_line_that_is_whole() -> None:
    data = phone().hand_in()
    ends = {line: data.index(line) + len(line) for line in phone().lines}
    for cut in range(len(data)):
        assert taken([data[:cut]]) == [line for line in phone().lines if ends[line] <= cut], cut


def test_with_any_byte_changed_the_other_lines_are_taken() -> None:
    """A flipped bit may spoil its own line; a spoilt head is made up for by the lines' own edition."""
    data = phone().hand_in()
    for at in range(len(data)):
        for bit in (0, 5, 7):
            changed = bytearray(data)
            changed[at] ^= 1 << bit
            kept = set(taken([bytes(changed)]))
            spoilt = data.count(b"\n", 0, at)
            expected = {
                line for number, line in enumerate(phone().lines, start=1) if number not in {spoilt, spoilt + 1}
            }
            foreign = spoilt == 0
            assert expected <= kept or foreign, (at, bit)


def test_with_the_head_spoilt_only_another_fleets_or_devices_name_loses_the_lines() -> None:
    data = phone().hand_in()
    head = data[: data.index(b"\n")]
    named = [head.index(b"trial-shed"), head.index(b"d-4k7m")]
    for at in range(len(head)):
        changed = bytearray(data)
        changed[at] ^= 1
        inside = any(start <= at < start + 10 for start in named) or head.index(b'"driptray"') <= at < 14
        assert taken([bytes(changed)]) == phone().lines or inside, at


def peak(data: Iterable[bytes]) -> tuple[float, float, list[bytes]]:
    """(MiB at the most, seconds, lines taken) of a hand-in."""
    tracemalloc.start()
    start = time.process_time()
    try:
        lines = taken(data)
        return tracemalloc.get_traced_memory()[1] / MiB, time.process_time() - start, lines
    finally:
        tracemalloc.stop()


def zeros(size: int) -> Iterator[bytes]:
    return (bytes(MiB) for _ in range(size // MiB))


def test_two_hundred_megabytes_of_zeros_are_refused_in_bounded_memory() -> None:
    memory, _, lines = peak(zeros(200 * MiB))
    assert not lines
    assert memory < 64


def test_two_hundred_megabytes_of_zeros_after_good_lines_lose_none_of_them() -> None:
    data = phone().hand_in()
    body = data[: data.rindex(b'{"end"')]
    memory, _, lines = peak([body, *zeros(200 * MiB), b"\n" + phone().lines[0] + b"\n"])
    assert lines[:4] == phone().lines
    assert memory < 300  # of which 200 are the test's own list


def test_a_line_that_never_ends_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sync.intake_bytes.LONGEST", 2 * MiB)
    body = phone().hand_in()
    hand_in = HandIn([body[: body.rindex(b'{"end"')], *zeros(5 * MiB)], terms())
    assert [entry.raw for batch in hand_in.batches() for entry in batch.entries] == phone().lines
    assert "a line of it is longer than 2048 KiB: the rest of that line was let go" in hand_in.summary().trouble


def test_a_gzip_bomb_is_unpacked_in_bounded_memory_and_only_so_far() -> None:
    bomb = gzip.compress(phone().hand_in() + bytes(64 * MiB), 9) + b""
    memory, _, lines = peak(pieces(bomb))
    assert lines == phone().lines
    assert memory < 64


def test_what_unpacks_to_more_than_a_hand_in_may_be_is_read_no_further(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("sync.intake_bytes.HAND_IN_MOST", 8 * MiB)
    read = 0

    def endless() -> Iterator[bytes]:
        nonlocal read
        yield phone().hand_in()
        while True:
            read += 1
            yield b"\n" * MiB

    assert taken(endless()) == phone().lines
    assert read < 12
    assert 200 * MiB < HAND_IN_MOST


def test_a_hundred_thousand_damaged_lines_are_counted_and_only_so_many_kept() -> None:
    def damaged() -> Iterator[bytes]:
        yield phone().hand_in()
        for number in range(10):
            yield b"".join(b'{"id":%d}\n' % (number * 10_000 + n) for n in range(10_000))

    hand_in = HandIn(damaged(), terms())
    kept = sum(len(batch.aside) for batch in hand_in.batches())
    assert kept == 20_000
    assert "80000 more damaged lines were not kept" in " ".join(hand_in.summary().trouble)


def nested(depth: int) -> bytes:
    return phone().lines[1].replace(b'"photos":', b'"later":' + b"[" * depth + b"]" * depth + b',"photos":', 1)


@pytest.mark.parametrize("depth", [17, 500, 5_000, 30_000])
def test_nesting_of_any_depth_spoils_only_its_own_line(depth: int) -> None:
    lines = [phone().lines[0], nested(depth), phone().lines[2]]
    assert taken([hand_in_of(lines, phone())]) == [phone().lines[0], phone().lines[2]]


JSON = st.recursive(
    st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=20),
    lambda inner: st.lists(inner, max_size=4) | st.dictionaries(st.text(max_size=8), inner, max_size=4),
    max_leaves=12,
)


@settings(max_examples=300, deadline=None)
@given(st.sampled_from(sorted(json.loads(phone().lines[1]))), JSON, st.integers(0, 3))
def test_any_value_in_any_field_is_taken_or_set_aside(name: str, value: object, line: int) -> None:
    body = json.loads(phone().lines[line])
    body[name] = value
    lines = [*phone().lines]
    lines[line] = json.dumps(body).encode()
    others = [raw for number, raw in enumerate(phone().lines) if number != line]
    assert [raw for raw in taken([hand_in_of(lines, phone())]) if raw in others] == others


def splices() -> st.SearchStrategy[bytes]:
    """A real hand-in with stretches of it taken out, doubled, or put in place by any bytes."""
    data = phone().hand_in()
    cut = st.tuples(st.integers(0, len(data)), st.integers(0, 60), st.binary(max_size=40))

    def spliced(cuts: list[tuple[int, int, bytes]]) -> bytes:
        changed = data
        for at, length, new in cuts:
            changed = changed[:at] + new + changed[at + length :]
        return changed

    return st.lists(cut, min_size=1, max_size=4).map(spliced)


@settings(max_examples=300, deadline=None)
@given(st.binary(max_size=2000) | splices() | splices().map(gzip.compress), st.integers(1, 3000))
@example(b"\x1f\x8b\x08\x00", 1)
def test_any_bytes_in_any_pieces_are_taken_alike_or_refused_in_a_line(data: bytes, size: int) -> None:
    assert taken(pieces(data, size)) == taken([data])


@pytest.mark.parametrize("path", CORPUS, ids=lambda path: path.name)
def test_what_once_went_wrong_stays_right(path: Path) -> None:
    """Kept inputs: each taken in by a backlog, which stays whole."""
    with TemporaryDirectory() as folder:
        service = service_at(Path(folder) / "backlog.db", edition())
        try:
            receipt = service.take_in(path.name, pieces(path.read_bytes()))
            assert receipt.taken or receipt.refused or receipt.aside or receipt.trouble
        except DriptrayError as error:
            one_line(error)
        assert service.store.check() == []
        service.store.close()
