"""Roots, means and decimals without floats."""

from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from fractions import Fraction
from statistics import fmean

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.units import (
    Length,
    decimal_text,
    digits_text,
    exact,
    mean_nm,
    nearest_whole,
    root_nm,
    spread,
    trimmed,
)

CHECKS = {
    "root_nm": "Python's decimal module at 60 digits",
    "exact": "Python's float.as_integer_ratio and repr round trip",
    "mean_nm": "Python's statistics module",
    "spread": "range, by sorting",
    "decimal_text": "Python's decimal module, ROUND_HALF_EVEN",
    "digits_text": "Python's decimal module, scaleb",
    "nearest_whole": "Python's fractions module, round half to even",
    "trimmed": "Python's decimal module, equal values",
}


@given(st.integers(0, 10**20), st.integers(1, 1000))
def test_a_root_is_the_nearest_whole_nanometre(top: int, bottom: int):
    with localcontext() as context:
        context.prec = 60
        expected = (Decimal(top) / bottom).sqrt().to_integral_value(ROUND_HALF_EVEN)
    assert root_nm(Fraction(top, bottom)).nm == int(expected)


@given(st.integers(0, 10**9))
def test_a_root_halfway_goes_to_the_even_nanometre(whole: int):
    found = root_nm(Fraction(2 * whole + 1, 2) ** 2).nm
    assert found == whole + whole % 2


def test_a_negative_square_is_refused():
    with pytest.raises(ValueError, match="negative"):
        root_nm(-1)


@given(st.floats(allow_nan=False, allow_infinity=False))
def test_an_exact_number_is_the_shortest_decimal_of_its_float(number: float):
    assert float(exact(number)) == number
    assert exact(number) == Fraction(Decimal(repr(number)))


@given(st.lists(st.integers(-(10**9), 10**9), min_size=1))
def test_means_and_spreads_are_those_of_the_sorted_readings(values: list[int]):
    lengths = [Length(nm) for nm in values]
    assert float(mean_nm(lengths)) == pytest.approx(fmean(values), abs=1e-3)
    assert spread(lengths).nm == sorted(values)[-1] - sorted(values)[0]


def test_no_readings_have_neither_mean_nor_spread():
    with pytest.raises(ValueError, match="at least one"):
        mean_nm([])
    with pytest.raises(ValueError, match="at least one"):
        spread([])


@given(st.fractions(max_denominator=10**6), st.integers(0, 8))
def test_decimals_are_rounded_half_even(value: Fraction, places: int):
    with localcontext() as context:
        context.prec = 400
        scaled = Decimal(value.numerator) / value.denominator
        expected = scaled.quantize(Decimal(1).scaleb(-places), ROUND_HALF_EVEN)
    assert Decimal(decimal_text(value, places)) == expected
    assert Decimal(trimmed(decimal_text(value, places))) == expected


@given(st.integers(-(10**20), 10**20), st.integers(0, 12))
def test_digits_are_a_decimal_shifted(count: int, places: int):
    with localcontext() as context:
        context.prec = 60
        assert Decimal(digits_text(count, places)) == Decimal(count).scaleb(-places)


@given(st.integers(-(10**20), 10**20), st.integers(1, 10**6))
def test_the_nearest_whole_number_is_that_of_the_fraction(top: int, bottom: int):
    assert nearest_whole(top, bottom) == round(Fraction(top, bottom))
    assert nearest_whole(2 * top + 1, 2) == round(Fraction(2 * top + 1, 2))
