"""Oversizes of a base size and blanks over a range: nominal sizes, by rising OD."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import CalculationError
from app.calc.size_series import (
    BLANK_STEPS,
    INCH_STEPS,
    MM_STEPS,
    MOST_SIZES,
    blanks,
    oversizes,
)
from app.calc.units import Length

CHECKS = {
    "oversizes": "addition in fractions; the series as workshop manuals print them",
    "blanks": "the fractions of an inch, counted in fractions",
}
IN = Length.of


def test_a_base_size_comes_first_and_each_step_over_it_once() -> None:
    found = oversizes(base=IN("1.625"), steps=[*INCH_STEPS, IN(".010")])
    assert [(one.od.inches(3), one.over.inches(3)) for one in found] == [
        ("1.625", ".000"),
        ("1.630", ".005"),
        ("1.635", ".010"),
        ("1.645", ".020"),
        ("1.655", ".030"),
    ]


def test_steps_in_millimetre_stand_over_a_base_in_millimetre() -> None:
    found = oversizes(base=IN("34.30", "mm"), steps=MM_STEPS)
    assert [one.od.mm(2) for one in found] == ["34.30", "34.55", "34.60", "34.80", "34.90"]


def test_steps_in_inch_and_millimetre_are_ordered_by_size() -> None:
    found = oversizes(base=IN("1.5"), steps=[*MM_STEPS, *INCH_STEPS])
    ods = [one.od for one in found]
    assert ods == sorted(ods)
    assert len(ods) == 9


def test_an_oversize_of_nothing_is_refused() -> None:
    with pytest.raises(CalculationError) as no:
        oversizes(base=IN("1.625"), steps=[IN("0")])
    assert no.value.field == "steps"


@pytest.mark.parametrize("step", BLANK_STEPS)
def test_blanks_are_whole_fractions_and_never_pass_the_largest(step: Length) -> None:
    found = blanks(least=IN("1 1/4"), most=IN("1.999"), step=step)
    each = Fraction(1, 64) if step == IN("1/64") else Fraction(1, 32)
    inch = 25_400_000
    assert [Fraction(one.od.nm, inch) for one in found] == [
        Fraction(5, 4) + n * each for n in range(len(found))
    ]
    assert found[-1].od <= IN("1.999") < found[-1].od + step


@pytest.mark.parametrize(
    ("least", "most", "step", "field"),
    [
        ("2", "1", "1/64", "most"),
        ("1", "2", "0", "step"),
        ("1", "9", "1/64", "step"),
    ],
)
def test_a_series_that_cannot_be_is_refused(least: str, most: str, step: str, field: str) -> None:
    with pytest.raises(CalculationError) as no:
        blanks(least=IN(least), most=IN(most), step=IN(step))
    assert no.value.field == field


@given(least=st.integers(20, 60), width=st.integers(0, 3 * MOST_SIZES))
def test_no_series_has_more_sizes_than_one_may_have(least: int, width: int) -> None:
    step = BLANK_STEPS[0]
    low = step * least
    try:
        found = blanks(least=low, most=low + step * width, step=step)
    except CalculationError:
        assert width + 1 > MOST_SIZES
    else:
        assert len(found) == width + 1 <= MOST_SIZES
