"""What people wrote, made harmless to the files that carry it."""

import sys

import html5lib
import pytest

from sync.exports.guard import UNPRINTABLE, printable


def test_the_quick_way_past_lets_nothing_through_that_the_careful_one_stops() -> None:
    every = map(chr, range(sys.maxunicode + 1))
    assert not [char for char in every if char.isprintable() and UNPRINTABLE.search(char)]


@pytest.mark.parametrize("char", ["\x00", "\x07", "\x0b", "\x7f", "\x9b", "\ufdd0", "\ufffe", "\U0010ffff", "\ud800"])
def test_what_no_page_may_hold_becomes_a_replacement_character(char: str) -> None:
    assert printable(f"a{char}b") == "a\ufffdb"


@pytest.mark.parametrize("text", ["", "two\nlines\tand a tab", "½ °C", "日本語", "🛞", "عربي", "a\u00a0b"])
def test_what_a_page_may_hold_stays(text: str) -> None:
    assert printable(text) == text


def test_whatever_is_left_is_valid_in_a_page() -> None:
    every = "".join(printable(chr(n)) for n in range(sys.maxunicode + 1) if chr(n) not in "<&\r")
    page = f"<!doctype html><html lang=en><head><title>t</title></head><body><p>{every}</p></body></html>"
    html5lib.HTMLParser(strict=True).parse(page)
