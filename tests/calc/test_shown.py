"""Figures as they are printed."""

from decimal import ROUND_HALF_EVEN, Decimal, localcontext
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.shown import shown_apart, shown_nm, shown_sum

CHECKS = {
    "shown_nm": "Python's decimal module, ROUND_HALF_EVEN",
    "shown_apart": "exact fractions of the printed texts",
    "shown_sum": "exact fractions of the printed texts",
}


def test_figures_are_printed_in_shop_style():
    assert shown_nm(101_600) == ".00400"
    assert shown_nm(-101_600) == "-.00400"
    assert shown_nm(41_305_480) == "1.62620"
    assert shown_nm(101_600, "mm") == "0.1016"


@given(st.integers(-(10**9), 10**9), st.sampled_from(["in", "mm"]))
def test_figures_are_rounded_half_even(nm: int, unit: str):
    with localcontext() as context:
        context.prec = 60
        exact = Decimal(nm) / (25_400_000 if unit == "in" else 1_000_000)
        places = Decimal("0.00001") if unit == "in" else Decimal("0.0001")
        expected = exact.quantize(places, ROUND_HALF_EVEN)
    assert Decimal(shown_nm(nm, unit)) == expected


@given(st.integers(0, 10**9), st.integers(0, 10**9), st.sampled_from(["in", "mm"]))
def test_a_distance_is_that_of_the_printed_figures(one: int, other: int, unit: str):
    printed = abs(Fraction(shown_nm(one, unit)) - Fraction(shown_nm(other, unit)))
    assert Fraction(shown_apart(one, other, unit)) == printed


def test_halves_get_another_digit_rather_than_a_wrong_sum():
    shown = shown_sum(parts=[(1, 41_303_575), (-1, 41_202_610)])
    assert shown.parts == ("1.626125", "1.622150")
    assert shown.total == ".003975"


def test_a_part_keeps_its_own_sign():
    shown = shown_sum(parts=[(1, 41_202_610), (-1, -7_620)])
    assert shown.parts == ("1.62215", "-.00030")
    assert shown.total == "1.62245"


def test_a_total_just_beyond_a_limit_is_not_printed_as_the_limit():
    limit = 127_000
    shown = shown_sum(parts=[(1, 41_327_064), (-1, 41_200_000)], limits=[limit])
    assert Fraction(shown.total) * 25_400_000 > limit


@given(
    st.lists(
        st.tuples(
            st.sampled_from([1, -1]), st.fractions(max_denominator=30).map(lambda f: f * 999)
        ),
        min_size=1,
        max_size=5,
    ),
    st.sampled_from(["in", "mm"]),
)
def test_the_lines_always_add_up_to_the_printed_total(parts, unit):
    shown = shown_sum(parts=parts, unit=unit)
    lines = sum(sign * Fraction(text) for (sign, _), text in zip(parts, shown.parts, strict=True))
    assert lines == Fraction(shown.total)


@pytest.mark.parametrize("unit", ["in", "mm"])
def test_thirds_stay_within_a_digit_of_the_exact_total(unit: str):
    parts = [(1, Fraction(41_304_211, 3) * 3 + Fraction(2, 3)), (-1, Fraction(123_607_831, 3))]
    shown = shown_sum(parts=parts, unit=unit)
    exact = sum(sign * value for sign, value in parts)
    per_unit = 25_400_000 if unit == "in" else 1_000_000
    assert abs(Fraction(shown.total) * per_unit - exact) <= Fraction(per_unit, 10**shown.places)
