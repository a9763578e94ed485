"""Seat geometry: symbols by sympy, a half section cut by cones in shapely."""

import math
from contextlib import suppress
from fractions import Fraction

import pytest
import sympy
from hypothesis import assume, given
from hypothesis import strategies as st

from app.calc.errors import CalculationError, ImpossibleError
from app.calc.seat import (
    check_angle,
    check_land,
    inner_of_width,
    moved_by_nm,
    seat_land,
    sloping_nm,
    tangent,
)
from app.calc.units import Length
from tests.calc.half_section import cones_of, land_of

CHECKS = {
    "seat_land": "half section cut by cones in `shapely`; `sympy`",
    "moved_by_nm": "`sympy`: 4.73205 and 2.73205 for 30° and 60° cutters on a 45° land",
    "sloping_nm": "`sympy`: 1.69705627 mm for 34.8 and 32.4 mm at 45°",
    "inner_of_width": "`sympy`; and back through `seat_land`",
    "tangent": "`sympy`",
    "check_land": "geometry: a land between two circles, on a cone",
    "check_angle": "geometry: neither a plane nor a cylinder",
}

MM = 1_000_000


def mm(size: float) -> Length:
    return Length.of(str(size), "mm")


def test_it_works_by_symbols():
    """sympy: (34.8 − 32.4)/(2·cos 45°) = 1.69705627."""
    found = seat_land(outer=mm(34.8), inner=mm(32.4), seat_angle_deg=45)
    expected = sympy.Rational(24, 10) / (2 * sympy.cos(sympy.pi / 4))
    assert float(expected) == pytest.approx(1.69705627, abs=5e-9)
    assert found.width.nm == round(expected * MM)
    assert found.width_projected == found.axial_height == mm(1.2)
    assert (found.new_diameter, found.new_width) == (None, None)


@pytest.mark.parametrize("seat", [30, 31, 44.5, 45, 46, 60])
@pytest.mark.parametrize("cutter", [15, 25, 32, 50, 72, 75])
def test_moving_an_edge_is_what_two_lines_do(seat: float, cutter: float):
    found = moved_by_nm(sink_nm=1, seat_angle_deg=seat, cutter_angle_deg=cutter)
    assert found == pytest.approx(moved_by_symbols(seat, cutter), rel=1e-12)


def moved_by_symbols(seat: float, cutter: float) -> float:
    """sympy: where the seat's line meets the cutter's, sunk by 1, on diameter."""
    of_seat, of_cutter = (
        sympy.tan(sympy.pi * sympy.Rational(str(angle)) / 180).evalf(30) for angle in (seat, cutter)
    )
    return abs(float(2 * MEETS.subs({SEAT_SLOPE: of_seat, CUTTER_SLOPE: of_cutter})))


SEAT_SLOPE, CUTTER_SLOPE, ACROSS = sympy.symbols("seat cutter across", real=True)
MEETS = sympy.solve(sympy.Eq(SEAT_SLOPE * ACROSS, CUTTER_SLOPE * ACROSS - 1), ACROSS)[0]


@pytest.mark.parametrize(("cutter", "moves"), [(30, 4.73205), (60, 2.73205)])
def test_the_usual_cutters_move_a_45_land_as_derived(cutter: float, moves: float):
    assert moved_by_nm(sink_nm=1, seat_angle_deg=45, cutter_angle_deg=cutter) == pytest.approx(
        moves, abs=5e-6
    )


LANDS = st.tuples(st.integers(15_000, 60_000), st.integers(200, 4_000))
SEATS = st.sampled_from([20, 30, 31, 44.5, 45, 46, 60])


@given(LANDS, SEATS, st.integers(8, 82), st.integers(1, 2_000))
def test_a_half_section_cut_by_cones_gives_the_same(land, seat, cutter, sink):
    """shapely, in mm."""
    assume(abs(seat - cutter) >= 2)
    outer = land[0] / 1000
    inner = outer - land[1] / 1000
    is_flatter = cutter < seat
    seat_cone, top, throat = cones_of(
        outer, inner, seat, cutter if is_flatter else seat / 2, 89 if is_flatter else cutter
    )
    cones = [seat_cone, top, throat]
    at = 1 if is_flatter else 2
    cones[at] = cones[at].sunk(sink / 1000)
    theirs = land_of(cones, seat)
    asked = {
        "outer": mm(outer),
        "inner": Length(mm(outer).nm - land[1] * 1000),
        "seat_angle_deg": seat,
        "cutter_angle_deg": cutter,
        "sink": Length(sink * 1000),
    }
    moved = moved_by_nm(sink_nm=sink * 1000, seat_angle_deg=seat, cutter_angle_deg=cutter)
    assume(abs(moved - land[1] * 1000) > 100)
    if moved > land[1] * 1000:
        assert theirs is None
        with pytest.raises(CalculationError) as refused:
            seat_land(**asked)
        assert refused.value.field == "sink"
        return
    found = seat_land(**asked)
    assert theirs is not None
    new = theirs.outer if is_flatter else theirs.inner
    assert found.new_diameter.nm / MM == pytest.approx(new, abs=2e-6)
    assert found.new_width.nm / MM == pytest.approx(theirs.width, abs=2e-6)


@given(LANDS, SEATS)
def test_uncut_the_land_is_the_sections(land, seat):
    outer, inner = land[0] / 1000, (land[0] - land[1]) / 1000
    theirs = land_of(list(cones_of(outer, inner, seat, seat / 2, 89)), seat)
    found = seat_land(outer=mm(outer), inner=mm(inner), seat_angle_deg=seat)
    assert theirs is not None
    assert found.width.nm / MM == pytest.approx(theirs.width, abs=2e-6)
    square = found.width_projected.nm**2 + found.axial_height.nm**2
    assert math.sqrt(square) == pytest.approx(found.width.nm, abs=2)


def test_a_cutter_that_only_touches_changes_nothing():
    found = seat_land(
        outer=mm(34.8), inner=mm(32.4), seat_angle_deg=45, cutter_angle_deg=30, sink=Length(0)
    )
    assert (found.new_diameter, found.new_width) == (mm(34.8), found.width)


@pytest.mark.parametrize(("angle", "unit"), [(45, "in"), (30, "mm"), (46, "in")])
def test_the_shown_lines_add_up(angle: float, unit: str):
    found = seat_land(
        outer=mm(34.8),
        inner=mm(32.4),
        seat_angle_deg=angle,
        cutter_angle_deg=60,
        sink=mm(0.1234),
        unit=unit,
    )
    shown = {step.symbol: Fraction(step.value) for step in found.working}
    first = [Fraction(step.value) for step in found.working[:3]]
    assert first[0] - first[1] == first[2]
    assert shown["D"] + shown["ΔD"] == shown["D′"]


LAND = {"outer": mm(34.8), "inner": mm(32.4), "seat_angle_deg": 45}


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"inner": mm(34.8)}, "inner"),
        ({"inner": Length(0)}, "inner"),
        ({"seat_angle_deg": 90}, "seat_angle_deg"),
        ({"seat_angle_deg": 0}, "seat_angle_deg"),
        ({"cutter_angle_deg": 30}, "sink"),
        ({"sink": mm(0.1)}, "cutter_angle_deg"),
        ({"cutter_angle_deg": 45, "sink": mm(0.1)}, "cutter_angle_deg"),
        ({"cutter_angle_deg": 90, "sink": mm(0.1)}, "cutter_angle_deg"),
        ({"cutter_angle_deg": 30, "sink": Length(-1)}, "sink"),
        ({"cutter_angle_deg": 30, "sink": mm(0.6)}, "sink"),
        ({"cutter_angle_deg": 60, "sink": mm(0.9)}, "sink"),
        ({"cutter_angle_deg": 45.00000000000001, "sink": mm(0.1)}, "sink"),
    ],
)
def test_what_is_no_land_or_no_cut_is_refused(change: dict, field: str):
    with pytest.raises(CalculationError) as refused:
        seat_land(**{**LAND, **change})
    assert refused.value.field == field


def test_a_land_that_would_round_away_is_no_land():
    """34.8 and 34.7999999 mm: a nanometre is left, then none."""
    asked = {"outer": mm(34.8), "inner": Length(34_799_998), "seat_angle_deg": 45}
    with pytest.raises(CalculationError) as refused:
        seat_land(**asked, cutter_angle_deg=10, sink=Length(1))
    assert refused.value.field == "sink"


@given(st.floats(0, 90, exclude_min=True, exclude_max=True))
def test_every_angle_has_a_tangent_and_a_width(angle: float):
    check_angle("seat_angle_deg", angle)
    check_land(mm(40), mm(30), angle)
    assert tangent(angle_deg=angle) == pytest.approx(float(sympy.tan(math.radians(angle))))
    assert sloping_nm(across_nm=10 * MM, angle_deg=angle) >= 5 * MM
    seat_land(outer=mm(40), inner=mm(30), seat_angle_deg=angle)


@pytest.mark.parametrize("seat", [5e-324, 1e-300, 1e-8, 45, 89.99999999999999])
@pytest.mark.parametrize("cutter", [5e-324, 1e-323, 1e-300, 1e-8, 45.00000000000001, 89.9999999])
def test_angles_at_the_end_of_what_numbers_hold_are_no_fault(seat: float, cutter: float):
    for sink in (Length(0), mm(5)):
        with suppress(ImpossibleError):
            cut = seat_land(
                outer=mm(40), inner=mm(30), seat_angle_deg=seat, cutter_angle_deg=cutter, sink=sink
            )
            assert mm(30) <= cut.new_diameter <= mm(40)


@given(st.integers(20_000, 80_000), st.integers(100, 5_000), st.sampled_from([30, 44.5, 45, 46]))
def test_a_width_gives_the_inner_diameter_that_has_this_width(outer, width, angle):
    """sympy: 34.5 − 2·1.2·cos 45° = 32.8029437."""
    by_symbols = sympy.Rational(345, 10) - sympy.Rational(24, 10) * sympy.cos(sympy.pi / 4)
    asked = {"outer": mm(34.5), "width": mm(1.2), "angle_deg": 45}
    assert inner_of_width(**asked).nm == round(by_symbols * MM)
    outer_length, wanted = mm(outer / 1000), Length(width * 1000)
    inner = inner_of_width(outer=outer_length, width=wanted, angle_deg=angle)
    land = seat_land(outer=outer_length, inner=inner, seat_angle_deg=angle)
    assert abs((land.width - wanted).nm) <= 1


@pytest.mark.parametrize("width", [0, -1, 30])
def test_a_width_that_no_land_can_have_is_refused(width: float):
    with pytest.raises(CalculationError) as refused:
        inner_of_width(outer=mm(34.5), width=mm(width), angle_deg=45)
    assert refused.value.field == "width"
