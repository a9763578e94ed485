"""Lengths as typed in a shop, to the nanometre."""

from fractions import Fraction

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.quantities import LENGTH_RANGES, NUMBER_RANGES
from app.calc.units import (
    Length,
    LengthError,
    decimal_text,
    parse_comparator,
    parse_length,
    trimmed,
)

CHECKS = {
    "parse_length": "NIST SP 811, App. B.8: 1 in = 25.4 mm exactly; the pint package, by fractions",
    "parse_comparator": "arithmetic of a comparator zeroed on a master (own, consistency only)",
}
UREG = pint.UnitRegistry(non_int_type=Fraction)


@pytest.mark.parametrize(
    ("unit", "name"), [("in", "inch"), ("thou", "thou"), ("mm", "millimeter"), ("um", "micrometer")]
)
def test_each_unit_is_as_long_as_an_independent_package_says(unit: str, name: str):
    nanometres = UREG.Quantity(Fraction(1), name).to("nanometer").magnitude
    assert parse_length(f"1 {unit}").nm == nanometres


@pytest.mark.parametrize(
    ("text", "nm"),
    [
        ("1.6222", 41_203_880),
        (".004", 101_600),
        ("4 thou", 101_600),
        ("9/16", 14_287_500),
        ("1 1/2", 38_100_000),
        ("1-1/2 in", 38_100_000),
        ("1 5/8in", 41_275_000),
        ("41.20 mm", 41_200_000),
        ("41,20 mm", 41_200_000),
        ("-.002", -50_800),
        (" +1. ", 25_400_000),
        ("41305.48 um", 41_305_480),
        ("1/3", 8_466_667),
    ],
)
def test_shop_text_is_read_exactly(text: str, nm: int):
    assert parse_length(text).nm == nm


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "empty"),
        ("abc", "no digits"),
        ("1.6.2", "separator"),
        ("1,234.5", "separator"),
        ("1e3", "scientific"),
        ("1.5E-2 in", "scientific"),
        ("1_000", "cannot be read"),
        ("١.٥", "no digits"),
        ("1 2", "two numbers"),
        ("1-2", "two numbers"),
        ("5/0", "zero"),
        ("1.6 cm", "unit"),
        ("1.6 IN", "cannot be read"),
        ("NaN", "finite"),
        ("-inf", "finite"),
        ("--1", "cannot be read"),
        ("1" * 41, "40 characters"),
        ("1.6 in in", "cannot be read"),
        (True, "not a length"),
        (float("nan"), "finite"),
        (float("inf"), "finite"),
        (10**60, "too large"),
    ],
)
def test_what_is_not_one_length_is_refused_with_the_reason(text, why: str):
    with pytest.raises(LengthError, match=why):
        parse_length(text)


def test_a_number_is_the_shortest_decimal_that_gives_it():
    assert parse_length(1.6262) == parse_length("1.6262")
    assert parse_length(0.1 + 0.2, "mm").nm == 300_000
    assert parse_length(5e-324) == Length(0)


@given(st.integers(-(10**9), 10**9).map(Length))
def test_shown_and_read_again_it_is_the_same_length(length: Length):
    inches = trimmed(decimal_text(Fraction(length.nm, 25_400_000), 8))
    millimetres = trimmed(decimal_text(Fraction(length.nm, 1_000_000), 6))
    assert parse_length(inches, "in") == parse_length(millimetres, "mm") == length


@pytest.mark.parametrize(
    ("text", "size"), [("+3", "1.6223"), ("-2", "1.6218"), ("+0", "1.6220"), ("-1,5", "1.62185")]
)
def test_a_comparator_counts_divisions_from_its_master(text: str, size: str):
    found = parse_comparator(text, Length.of("1.6220"), Length.of(".0001"))
    assert found == Length.of(size)


@pytest.mark.parametrize("text", ["3", "", "+", "1.6223", "+3 in", "+12345"])
def test_a_comparator_reading_carries_its_sign(text: str):
    with pytest.raises(LengthError):
        parse_comparator(text, Length.of("1.6220"), Length.of(".0001"))


@pytest.mark.parametrize("field", LENGTH_RANGES)
def test_a_plausible_range_includes_its_ends_and_nothing_beyond(field: str):
    plausible = LENGTH_RANGES[field]
    assert plausible.admits(plausible.low)
    assert plausible.admits(plausible.high)
    for outside in (plausible.low - Length(1), plausible.high + Length(1)):
        assert plausible.refusal(outside) == f"is outside {plausible.words}"


def test_millimetres_typed_as_inches_cannot_pass_as_a_ring():
    assert LENGTH_RANGES["ring_od"].refusal(Length.of("41.3 in"))
    assert LENGTH_RANGES["ring_od"].words == ".3938 to 5.9055 in (10 to 150 mm)"


@pytest.mark.parametrize("field", NUMBER_RANGES)
def test_no_number_range_admits_what_is_not_finite(field: str):
    assert not any(NUMBER_RANGES[field].admits(float(odd)) for odd in ("nan", "inf", "-inf"))
    assert not NUMBER_RANGES[field].admits(10**400)


def test_open_ends_stay_open():
    assert not NUMBER_RANGES["nu"].admits(0.5)
    assert NUMBER_RANGES["nu"].admits(0)
    assert not NUMBER_RANGES["surface_speed"].admits(0)
    assert not NUMBER_RANGES["seat_angle_deg"].admits(90)
    assert NUMBER_RANGES["temperature_c"].admits(-273.15)
