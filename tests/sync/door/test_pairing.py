"""Pairing codes: short, used once, soon over, and not to be guessed."""

import random
from datetime import UTC, datetime, timedelta

import pytest

from sync.errors import DoorError
from sync.pairing import CODE_LENGTH, LETTERS, WRONG_MOST, Pairing, shown


class Clock:
    def __init__(self) -> None:
        self.at = datetime(2026, 10, 18, 9, 0, tzinfo=UTC)

    def __call__(self) -> datetime:
        return self.at


@pytest.fixture
def clock() -> Clock:
    return Clock()


@pytest.fixture
def pairing(clock: Clock) -> Pairing:
    return Pairing(clock, random.Random(7).randbytes)


def test_a_code_typed_as_it_is_shown_gives_a_token(pairing: Pairing) -> None:
    token, _ = pairing.redeem(shown(pairing.new_code().text).lower())
    assert len(token) == 64


def test_a_code_works_once(pairing: Pairing) -> None:
    code = pairing.new_code().text
    pairing.redeem(code)
    with pytest.raises(DoorError, match="used"):
        pairing.redeem(code)


def test_a_code_is_over_after_ten_minutes(pairing: Pairing, clock: Clock) -> None:
    code = pairing.new_code().text
    clock.at += timedelta(minutes=10)
    with pytest.raises(DoorError, match="older than 10 minutes"):
        pairing.redeem(code)


def test_guessing_is_stopped_even_for_the_right_code(pairing: Pairing) -> None:
    code = pairing.new_code().text
    for _ in range(WRONG_MOST):
        with pytest.raises(DoorError):
            pairing.redeem("22222222")
    with pytest.raises(DoorError, match="wait a minute"):
        pairing.redeem(code)


def test_a_minute_after_the_guesses_the_right_code_works(pairing: Pairing, clock: Clock) -> None:
    code = pairing.new_code().text
    for _ in range(WRONG_MOST):
        with pytest.raises(DoorError):
            pairing.redeem("22222222")
    clock.at += timedelta(minutes=1, seconds=1)
    assert pairing.redeem(code)


def test_codes_hold_only_letters_that_cannot_be_misheard(pairing: Pairing) -> None:
    codes = [pairing.new_code().text for _ in range(200)]
    assert {len(code) for code in codes} == {CODE_LENGTH}
    assert set("".join(codes)) == set(LETTERS)


def test_a_desk_code_says_that_it_pairs_a_desk(pairing: Pairing) -> None:
    assert pairing.redeem(pairing.new_code(desk=True).text)[1].desk
