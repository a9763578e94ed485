"""Seat and valve together: widths by sympy, volumes by shapely's areas and Pappus."""

from fractions import Fraction
from math import pi

import pytest
import sympy
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, box

from app.calc.errors import CalculationError
from app.calc.seat_valve import (
    FirstTouch,
    ValveContact,
    chamber_growth,
    spring_shim,
    stem_height,
    valve_contact,
)
from app.calc.units import Length

CHECKS = {
    "valve_contact": "`shapely`: overlap of two lines in the half section",
    "stem_height": "integer arithmetic by `sympy`; common practice of head shops",
    "spring_shim": "integer arithmetic by `sympy`; common practice of head shops",
    "chamber_growth": "`shapely` area turned about the axis (Pappus); trade figure .66 cm³",
}


def mm(size: float) -> Length:
    return Length.of(str(size), "mm")


def contact(outer: float, inner: float, **change) -> ValveContact:
    asked = {
        "seat_angle_deg": 45,
        "face_outer": mm(36),
        "face_inner": mm(31.6),
        "face_angle_deg": 45,
        **change,
    }
    return valve_contact(outer=mm(outer), inner=mm(inner), **asked)


@given(
    st.integers(20_000, 60_000),
    st.integers(100, 5_000),
    st.integers(20_000, 60_000),
    st.integers(100, 5_000),
)
def test_the_contact_is_where_land_and_face_cover_each_other(outer, across, face, face_across):
    """shapely: intersection of the two lines on the same cone, in mm."""
    seat_line, face_line = (
        LineString([((one - by) / 2000, 0), (one / 2000, 0)])
        for one, by in ((outer, across), (face, face_across))
    )
    theirs = seat_line.intersection(face_line)
    asked = {
        "face_outer": mm(face / 1000),
        "face_inner": mm((face - face_across) / 1000),
    }
    if theirs.length < 1e-9:
        with pytest.raises(CalculationError) as refused:
            contact(outer / 1000, (outer - across) / 1000, **asked)
        assert refused.value.field == "face_outer"
        return
    found = contact(outer / 1000, (outer - across) / 1000, **asked)
    assert found.width.nm * 1e-6 == pytest.approx(theirs.length * 2**0.5, abs=2e-6)
    low, _, high, _ = theirs.bounds
    assert found.contact_outer.nm * 1e-6 == pytest.approx(2 * high)
    place = (low + high - (face - face_across) / 1000) / (face_across / 1000)
    assert found.place == pytest.approx(place, abs=1e-9)


def test_what_is_left_of_the_face_is_measured_along_it():
    found = contact(34.8, 32.4)
    along = sympy.Rational(1, 2) / sympy.cos(sympy.pi / 4)
    assert found.clear_outside.nm == round(sympy.Rational(12, 10) * along * 10**6)
    assert found.clear_inside.nm == round(sympy.Rational(8, 10) * along * 10**6)


def test_without_the_faces_inner_edge_the_rest_is_worked_alike():
    whole, part = contact(34.8, 32.4), contact(34.8, 32.4, face_inner=None)
    assert (part.width, part.clear_outside) == (whole.width, whole.clear_outside)
    assert part.clear_inside is None
    assert part.place is None
    assert not {"face left toward the stem"} & {step.text for step in part.working}


def test_a_land_past_the_margin_overhangs():
    found = contact(36.4, 33)
    assert found.clear_outside.nm < 0
    assert found.contact_outer == mm(36)


@pytest.mark.parametrize(
    ("face", "touch"),
    [
        (44.5, FirstTouch.OUTER_EDGE),
        (45, FirstTouch.WHOLE),
        (46, FirstTouch.INNER_EDGE),
    ],
)
def test_an_interference_angle_says_which_edge_touches_first(face: float, touch: FirstTouch):
    """shapely: the face, brought down the axis, first meets the land's edge that is higher."""
    found = contact(34.8, 32.4, face_angle_deg=face)
    assert found.first_touch is touch
    slopes = [sympy.tan(sympy.pi * sympy.Rational(str(one)) / 180) for one in (45, face)]
    above_outer, above_inner = (
        float((slopes[0] - slopes[1]) * sympy.Rational(str(r)) / 2) for r in (34.8, 32.4)
    )
    highest = {True: FirstTouch.OUTER_EDGE, False: FirstTouch.INNER_EDGE}[above_outer > above_inner]
    assert touch is FirstTouch.WHOLE or touch is highest


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"face_inner": mm(36)}, "face_inner"),
        ({"face_angle_deg": 90}, "face_angle_deg"),
        ({"seat_angle_deg": 0}, "seat_angle_deg"),
        ({"face_outer": mm(32.3)}, "face_outer"),
    ],
)
def test_a_face_that_cannot_be_is_refused(change: dict, field: str):
    with pytest.raises(CalculationError) as refused:
        contact(34.8, 32.4, **change)
    assert refused.value.field == field


NM = st.integers(-60_000_000, 60_000_000)


@given(NM, NM, NM, st.sampled_from(["in", "mm"]))
def test_grind_and_shim_are_measured_and_sunk_less_the_book(measured, book, sink, unit):
    expected = sympy.Integer(measured) + sink - book
    asked = {
        "measured": Length(measured),
        "book": Length(book),
        "sink": Length(sink),
        "unit": unit,
    }
    stem, spring = stem_height(**asked), spring_shim(**asked)
    assert stem.tip_grind.nm == spring.shim.nm == expected
    assert stem.stands.nm == spring.installed.nm == measured + sink
    for found in (stem, spring):
        first, second, third, total = (Fraction(step.value) for step in found.working)
        assert first + second - third == total


@given(st.integers(10_000, 80_000), st.integers(1, 5_000))
def test_the_chamber_grows_by_the_turned_area(diameter: int, sink: int):
    """Pappus: area of the half section times the way of its centre."""
    section = box(0, 0, diameter / 2000, sink / 1000)
    turned = section.area * 2 * pi * section.centroid.x
    found = chamber_growth(valve_head=mm(diameter / 1000), sink=mm(sink / 1000))
    assert found.volume_mm3 == pytest.approx(turned, rel=1e-9)
    assert found.volume_in3 == pytest.approx(turned / 25.4**3, rel=1e-9)


def test_a_160_valve_sunk_by_20_thou_adds_two_thirds_of_a_cubic_centimetre():
    """Computed trade figure: .66 cm³ (consistency)."""
    found = chamber_growth(valve_head=Length.of("1.60"), sink=Length.of(".020"))
    assert [step.value for step in found.working[-2:]] == ["0.66", "0.040"]


def test_a_valve_without_a_head_has_no_volume():
    with pytest.raises(CalculationError) as refused:
        chamber_growth(valve_head=Length(0), sink=mm(1))
    assert refused.value.field == "valve_head"
