"""What a tip may still lose and how a shimmed spring stands: whole numbers by sympy."""

import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import CalculationError
from app.calc.units import Length
from app.calc.valve_gear import spring_off, tip_left

CHECKS = {
    "tip_left": "integer arithmetic by `sympy`",
    "spring_off": "integer arithmetic by `sympy`; published shims .015, .030, .060 in",
}
SIZES = st.integers(0, 60_000_000)


@given(SIZES, SIZES)
def test_what_is_left_of_a_tip_is_what_may_come_off_less_what_did(most, ground):
    theirs = sympy.Integer(most) - sympy.Integer(ground)
    assert tip_left(most=Length(most), ground=Length(ground)).left.nm == theirs


@given(SIZES, SIZES, SIZES)
def test_a_spring_stands_lower_by_its_shims(measured, shims, book):
    found = spring_off(measured=Length(measured), shims=Length(shims), book=Length(book))
    stands = sympy.Integer(measured) - sympy.Integer(shims)
    assert (found.stands.nm, found.off.nm) == (stands, stands - sympy.Integer(book))


@pytest.mark.parametrize(
    ("shims", "off"), [(".015", ".0150"), (".030", ".0000"), (".060", "-.0300")]
)
def test_shims_as_they_are_sold_bring_a_spring_to_its_book(shims, off):
    found = spring_off(measured=Length.of("1.830"), shims=Length.of(shims), book=Length.of("1.800"))
    assert found.off.inches(4) == off
    assert found.working[-1].value == off


def test_a_working_says_when_too_much_is_off():
    found = tip_left(most=Length.of(".010"), ground=Length.of(".012"))
    assert [step.value for step in found.working] == [".0100", ".0120", "-.0020"]


def test_nothing_below_nought_is_ground_or_put_under():
    with pytest.raises(CalculationError, match="below 0") as refused:
        tip_left(most=Length(1), ground=Length(-1))
    assert refused.value.field == "ground"
    with pytest.raises(CalculationError, match="below 0") as refused:
        spring_off(measured=Length(1), shims=Length(-1), book=Length(1))
    assert refused.value.field == "shims"


@given(SIZES, SIZES, SIZES, SIZES)
def test_a_tip_may_lose_no_more_than_the_valves_least_length_leaves(most, ground, length, least):
    found = tip_left(
        most=Length(most), ground=Length(ground), length=Length(length), least=Length(least)
    )
    by_grinding = sympy.Integer(most) - sympy.Integer(ground)
    assert found.left.nm == sympy.Min(by_grinding, sympy.Integer(length) - sympy.Integer(least))


def test_a_published_least_length_leaves_a_new_valve_its_difference():
    found = tip_left(
        most=Length.of("1", "mm"),
        ground=Length(0),
        length=Length.of("125.385", "mm"),
        least=Length.of("124.892", "mm"),
        unit="mm",
    )
    assert found.left.mm(3) == "0.493"
    assert found.working[-1].value == "0.493"
