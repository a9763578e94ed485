"""Repeatability of an instrument against the standard library's standard deviation."""

from fractions import Fraction
from statistics import stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import CalculationError
from app.calc.repeatability import repeatability_of
from app.calc.units import Length

CHECKS = {"repeatability_of": "Python's statistics.stdev"}

SIZES = st.lists(st.integers(41_000_000, 41_010_000), min_size=2, max_size=20)


@given(SIZES)
def test_it_is_twice_the_standard_deviation(sizes: list[int]):
    found = repeatability_of(readings=[Length(nm) for nm in sizes])
    assert found.repeatability.nm == pytest.approx(2 * stdev(sizes), abs=0.51)


def test_by_hand():
    """Deviations −1, 0, 1, 0, 0 tenths: s² = 2/4 square tenths, R = 2·√.5 = 1.414 tenths."""
    tenth = Length.of(".0001").nm
    sizes = [Length.of("1.6220") + Length(n * tenth) for n in (0, 1, 2, 1, 1)]
    found = repeatability_of(readings=sizes)
    assert found.squared_nm2 == Fraction(4 * 2, 4) * tenth**2
    assert [step.symbol for step in found.working] == ["x̄", "s", "R"]


def test_one_reading_says_nothing_of_how_well_it_repeats():
    with pytest.raises(CalculationError) as refused:
        repeatability_of(readings=[Length.of("1.6220")])
    assert refused.value.field == "readings"
