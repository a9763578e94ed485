"""What a pilot's clearance allows at the cut."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.calc.errors import CalculationError
from app.calc.pilot import pilot_run_out, tapered_pilot_run_out
from app.calc.units import Length

CHECKS = {
    "pilot_run_out": "a line through two points, by coordinates; .0005/.001/.002 in of clearance "
    "over 2 in, 1 in above, give .001/.002/.004 in TIR (own derivation, consistency only)",
    "tapered_pilot_run_out": "common practice: a tapered pilot centres in the guide's mouth",
}


def run_out(clearance: str) -> Length:
    pilot = Length.of(".3432")
    return pilot_run_out(
        guide_bore=pilot + Length.of(clearance),
        pilot=pilot,
        guide_length=Length.of("2"),
        overhang=Length.of("1"),
    ).run_out


@pytest.mark.parametrize(
    ("clearance", "expected"), [(".0005", ".0010"), (".0010", ".0020"), (".0020", ".0040")]
)
def test_clearance_over_a_two_inch_guide_doubles_at_the_seat(clearance: str, expected: str):
    assert run_out(clearance) == Length.of(expected)


def test_a_pilot_without_clearance_stands_true():
    found = pilot_run_out(
        guide_bore=Length.of("7 mm"),
        pilot=Length.of("7 mm"),
        guide_length=Length.of("50 mm"),
        overhang=Length.of("30 mm"),
    )
    assert found.clearance == found.offset == found.run_out == Length(0)


def test_a_pilot_larger_than_the_guide_is_refused():
    with pytest.raises(CalculationError) as refused:
        run_out("-.0001")
    assert refused.value.field == "pilot"


@given(
    clearance=st.integers(0, 200_000),
    length=st.integers(1_000_000, 300_000_000),
    overhang=st.integers(0, 300_000_000),
)
def test_the_offset_is_where_a_line_through_both_guide_corners_arrives(
    clearance: int, length: int, overhang: int
):
    """The pilot leans from one wall at the guide's far end to the other wall at its near end."""
    half = clearance / 2
    slope = (half - -half) / length
    line_at_cut = half + slope * overhang
    found = pilot_run_out(
        guide_bore=Length(7_000_000 + clearance),
        pilot=Length(7_000_000),
        guide_length=Length(length),
        overhang=Length(overhang),
    )
    assert found.offset.nm == pytest.approx(line_at_cut, abs=0.51)
    assert found.run_out.nm == pytest.approx(2 * line_at_cut, abs=0.51)


def test_run_out_is_rounded_once_and_not_from_the_rounded_offset():
    found = pilot_run_out(
        guide_bore=Length(7_000_001),
        pilot=Length(7_000_000),
        guide_length=Length(3_000_000),
        overhang=Length(1_000_000),
    )
    assert found.offset == Length(1)
    assert found.run_out == Length(2)


@pytest.mark.parametrize("field", ["guide_length", "overhang"])
def test_lengths_that_cannot_be_are_refused(field: str):
    arguments = {"guide_length": Length.of("2"), "overhang": Length.of("1"), field: Length(-1)}
    with pytest.raises(CalculationError) as refused:
        pilot_run_out(guide_bore=Length.of(".3437"), pilot=Length.of(".3432"), **arguments)
    assert refused.value.field == field


def test_a_tapered_pilot_has_no_clearance_and_says_what_is_not_known():
    found = tapered_pilot_run_out()
    assert found.clearance == found.run_out == Length(0)
    assert any("not known" in step.text for step in found.working)
