"""Places on the interference scale."""

import numpy
import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import CalculationError
from app.calc.interference_scale import InterferenceScale, Stretch, interference_scale
from app.calc.units import Length

CHECKS = {
    "interference_scale": "numpy.interp between (least, 1/4) and (most, 3/4); a drawn scale by hand"
}


def scale_of(value: str | None, u: str = ".00036") -> InterferenceScale:
    return interference_scale(
        least=Length.of(".0030"),
        most=Length.of(".0050"),
        uncertainty=Length.of(u),
        value=None if value is None else Length.of(value),
    )


def test_it_works():
    scale = scale_of(".00395")
    assert scale.window == Stretch(0.25, 0.75)
    assert scale.guarded == Stretch(0.34, 0.66)
    assert scale.value == pytest.approx(0.4875)
    assert scale.whisker == Stretch(pytest.approx(0.3975), pytest.approx(0.5775))
    assert scale.beyond == 0


def test_before_measuring_there_is_a_window_and_no_value():
    scale = scale_of(None)
    assert scale.window == Stretch(0.25, 0.75)
    assert (scale.value, scale.whisker, scale.beyond) == (None, None, 0)


def test_an_error_as_wide_as_the_window_leaves_no_guarded_part():
    assert scale_of(".0040", u=".0011").guarded is None


def test_a_guarded_part_of_one_point_is_still_there():
    assert scale_of(".0040", u=".0010").guarded == Stretch(0.5, 0.5)


@pytest.mark.parametrize(("value", "place", "beyond"), [("-.0010", 0.0, -1), (".0090", 1.0, 1)])
def test_a_value_off_the_scale_is_held_at_its_end_and_says_so(value, place, beyond):
    scale = scale_of(value)
    assert scale.value == place
    assert scale.beyond == beyond


@pytest.mark.parametrize(("value", "place"), [(".0020", 0.0), (".0060", 1.0)])
def test_the_very_ends_are_still_on_the_scale(value, place):
    scale = scale_of(value)
    assert scale.value == place
    assert scale.beyond == 0


def test_a_window_of_one_point_stands_in_the_middle():
    asked = {
        "least": Length.of(".004"),
        "most": Length.of(".004"),
        "uncertainty": Length(0),
    }
    on = interference_scale(**asked, value=Length.of(".004"))
    assert (on.window, on.value, on.beyond) == (Stretch(0.5, 0.5), 0.5, 0)
    off = interference_scale(**asked, value=Length.of(".0041"))
    assert (off.value, off.beyond) == (1.0, 1)


def test_a_window_upside_down_is_refused():
    with pytest.raises(CalculationError) as refused:
        interference_scale(least=Length(2), most=Length(1), uncertainty=Length(0), value=None)
    assert refused.value.field == "interference.min"


def test_a_negative_error_is_refused():
    with pytest.raises(CalculationError) as refused:
        interference_scale(least=Length(1), most=Length(2), uncertainty=Length(-1), value=None)
    assert refused.value.field == "uncertainty"


@given(
    least=st.integers(0, 500_000),
    width=st.integers(1, 500_000),
    value=st.integers(-1_000_000, 2_000_000),
    u=st.integers(0, 200_000),
)
def test_places_are_a_straight_line_held_at_both_ends(least, width, value, u):
    scale = interference_scale(
        least=Length(least),
        most=Length(least + width),
        uncertainty=Length(u),
        value=Length(value),
    )
    ends = [least - width / 2, least + width * 1.5]
    expected = numpy.interp([value, value - u, value + u], ends, [0.0, 1.0])
    assert scale.value == pytest.approx(expected[0], abs=1e-9)
    assert scale.whisker == Stretch(
        pytest.approx(expected[1], abs=1e-9), pytest.approx(expected[2], abs=1e-9)
    )
