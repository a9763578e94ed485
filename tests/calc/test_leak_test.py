"""Vacuum tests: mercury by pint, the line by plain fractions."""

from fractions import Fraction

import numpy
import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import CalculationError
from app.calc.leak_test import in_mercury, leak_test

CHECKS = {
    "in_mercury": "`pint`: inch of mercury and kPa",
    "leak_test": "straight line through two readings by `numpy`",
}
LINE = {
    "least_end_inhg": Fraction(20),
    "most_lost_inhg": Fraction(1),
    "over_seconds": Fraction(10),
}


def test_kilopascals_are_read_as_mercury():
    theirs = pint.UnitRegistry()
    for kpa in (1, 20, 75, 85, 101):
        mine = float(in_mercury(figure=Fraction(kpa), unit="kPa"))
        assert mine == pytest.approx(theirs.Quantity(kpa, "kPa").to("inch_Hg").magnitude, rel=1e-6)
    assert in_mercury(figure=Fraction(22), unit="inHg") == 22


@given(st.integers(1, 300), st.integers(0, 300), st.integers(1, 120))
def test_the_loss_is_that_of_a_straight_line_over_the_time(start, end, seconds):
    end = min(start, end)
    found = leak_test(
        start_inhg=Fraction(start, 10),
        end_inhg=Fraction(end, 10),
        seconds=Fraction(seconds),
        **LINE,
    )
    slope, _ = numpy.polyfit([0, seconds], [start / 10, end / 10], 1)
    assert float(found.lost_inhg) == pytest.approx(-slope * 10, abs=1e-9)


@pytest.mark.parametrize(
    ("end", "seconds", "passes"),
    [
        ("22", 10, True),  # exactly at the line
        ("21.9", 10, False),
        ("22", 5, False),  # not watched for long enough
        ("22", 30, True),
        ("19.9", 10, False),
    ],
)
def test_a_position_passes_when_every_half_of_the_line_holds(end, seconds, passes):
    found = leak_test(
        start_inhg=Fraction(23), end_inhg=Fraction(end), seconds=Fraction(seconds), **LINE
    )
    assert found.passes is passes


def test_which_half_fails_is_said():
    low = leak_test(
        start_inhg=Fraction(20), end_inhg=Fraction("19.5"), seconds=Fraction(10), **LINE
    )
    assert (low.holds_enough, low.loses_little, low.is_watched) == (False, True, True)
    short = leak_test(start_inhg=Fraction(23), end_inhg=Fraction(23), seconds=Fraction(9), **LINE)
    assert (short.holds_enough, short.loses_little, short.is_watched) == (True, True, False)


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"start_inhg": Fraction(0)}, "start_inhg"),
        ({"seconds": Fraction(0)}, "seconds"),
        ({"over_seconds": Fraction(0)}, "over_seconds"),
        ({"end_inhg": Fraction(-1)}, "end_inhg"),
        ({"end_inhg": Fraction(24)}, "end_inhg"),
    ],
)
def test_what_no_gauge_reads_is_refused(change, field):
    asked = {
        "start_inhg": Fraction(23),
        "end_inhg": Fraction(22),
        "seconds": Fraction(10),
        **LINE,
        **change,
    }
    with pytest.raises(CalculationError) as refused:
        leak_test(**asked)
    assert refused.value.field == field


def test_a_unit_of_another_gauge_is_refused():
    with pytest.raises(CalculationError, match="inHg or kPa"):
        in_mercury(figure=Fraction(1), unit="bar")
