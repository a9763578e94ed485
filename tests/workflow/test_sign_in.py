"""What a PIN is, how waits grow, when a sign-in is over."""

from datetime import UTC, datetime, timedelta

import pytest

from app.workflow.sign_in import (
    FREE_BY_PERSON,
    LONGEST_WAIT,
    has_ended,
    pin_fault,
    wait_after,
    wait_words,
)


@pytest.mark.parametrize("pin", ["4711", "2580", "739462", "135791357913"])
def test_four_to_twelve_digits_are_a_pin(pin: str) -> None:
    assert pin_fault(pin) == ""


@pytest.mark.parametrize("pin", ["", "471", "1357913579135", "47a1", "4 711", "٤٧١١", "-4711"])
def test_anything_else_is_none(pin: str) -> None:
    assert pin_fault(pin)


@pytest.mark.parametrize("pin", ["0000", "777777", "1234", "4321", "456789", "9876"])
def test_what_anyone_would_try_first_is_refused(pin: str) -> None:
    assert "first that anyone would try" in pin_fault(pin)


def test_a_slip_costs_nothing_and_then_waits_double() -> None:
    waits = [wait_after(wrong, FREE_BY_PERSON).total_seconds() for wrong in range(8)]
    assert waits == [0, 0, 0, 5, 10, 20, 40, 80]


def test_no_number_of_wrong_pins_locks_anyone_out_for_good() -> None:
    assert wait_after(10_000, FREE_BY_PERSON) == LONGEST_WAIT == timedelta(minutes=15)


def test_guessing_a_four_digit_pin_takes_months() -> None:
    tries_a_day = timedelta(days=1) / LONGEST_WAIT
    assert 10_000 / 2 / tries_a_day > 30


def test_a_wait_is_told_in_words() -> None:
    assert "Wait 5 s," in wait_words(timedelta(seconds=4.2))
    assert "Wait 15 min," in wait_words(timedelta(seconds=899))


def test_a_sign_in_is_over_when_unused_or_old() -> None:
    start = datetime(2026, 3, 2, 7, tzinfo=UTC)
    seen = start + timedelta(hours=9)
    assert not has_ended(start, seen, seen + timedelta(hours=12), 12, 7)
    assert has_ended(start, seen, seen + timedelta(hours=12, seconds=1), 12, 7)
    late = start + timedelta(days=7, seconds=1)
    assert has_ended(start, late, late, 12, 7)
