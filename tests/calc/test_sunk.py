"""How far a valve sank and where its stem should stand: whole numbers by sympy."""

import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import CalculationError
from app.calc.sunk import stem_should, sunk_since
from app.calc.units import Length

CHECKS = {
    "sunk_since": "integer arithmetic by `sympy`",
    "stem_should": "the valve as points on one line, moved with `sympy` geometry",
}
DEPTHS = st.integers(-15_000_000, 40_000_000)
SIZES = st.integers(0, 5_000_000)


@given(DEPTHS, DEPTHS)
def test_a_valve_sank_by_what_it_lies_deeper(before, after):
    theirs = sympy.Integer(after) - sympy.Integer(before)
    assert sunk_since(before=Length(before), after=Length(after)).sunk.nm == theirs


@given(st.integers(20_000_000, 80_000_000), DEPTHS, SIZES)
def test_a_valve_that_moves_into_the_head_carries_its_tip_along(came_in, sunk, ground):
    spring_seat, tip = sympy.Point(0, 0), sympy.Point(0, came_in)
    moved = tip.translate(0, sunk).translate(0, -ground)
    found = stem_should(
        came_in=Length(came_in), sunk=Length(sunk), ground=Length(ground), read=Length(came_in)
    )
    assert found.should.nm == (moved - spring_seat).y
    assert found.off.nm == (tip - moved).y


def test_the_printed_lines_add_up():
    found = stem_should(
        came_in=Length.of("1.850"),
        sunk=Length.of("-.002"),
        ground=Length.of(".001"),
        read=Length.of("1.847"),
    )
    values = [step.value for step in found.working]
    assert values == [
        "1.8470",
        "1.8500",
        "-.0020",
        ".0010",
        ".0000",
    ]


def test_nothing_below_nought_is_ground():
    with pytest.raises(CalculationError, match="below 0") as refused:
        stem_should(came_in=Length(1), sunk=Length(0), ground=Length(-1), read=Length(1))
    assert refused.value.field == "ground"
